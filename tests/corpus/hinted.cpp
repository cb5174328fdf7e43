// Chooses hints and takes out what they told.
#include "tests/corpus/hinted.h"

#include <algorithm>
#include <cmath>

#include "tests/support/dice.h"

namespace bentline::corpus {

namespace {

std::vector<std::pair<std::size_t, std::size_t>> pairs_of(const Take& take, const Heard& heard) {
    return match_notes(scored(take.truth.notes, take.truth.tuning),
                       scored(heard.notes, heard.tuning), {});
}

void ink(Given& given, const Take& take, std::size_t i) {
    if (given.given_notes[i]) return;
    given.given_notes[i] = true;
    given.hints.inked.push_back(take.truth.notes[i]);
}

}  // namespace

std::optional<HintKind> hint_kind(std::string_view word) {
    if (word == "inked") return HintKind::inked;
    if (word == "bars") return HintKind::bars;
    if (word == "here") return HintKind::here;
    if (word == "not") return HintKind::not_these;
    if (word == "beats") return HintKind::beats;
    if (word == "all") return HintKind::all;
    return std::nullopt;
}

Given give_hints(HintKind kind, const Take& take, const Heard& plain, std::uint64_t seed) {
    Given given;
    const std::vector<Note>& truth = take.truth.notes;
    given.given_notes.assign(truth.size(), false);
    testing::Dice dice(seed ^ 0x417ULL);
    const bool all = kind == HintKind::all;
    if (kind != HintKind::none) given.hints.tuning = plain.tuning;
    if (kind == HintKind::inked || all) {
        for (std::size_t i = 1; i < truth.size(); i += 4)
            ink(given, take, i);
    }
    if (kind == HintKind::bars && take.truth.beats.size() > 8) {
        for (std::size_t i = 0; i < truth.size(); ++i) {
            if (truth[i].onset < take.truth.beats[8] - Seconds(0.03)) ink(given, take, i);
        }
    }
    if (kind == HintKind::beats || all) given.hints.beats = take.truth.beats;
    std::vector<bool> found(truth.size(), false);
    std::vector<bool> right(plain.notes.size(), false);
    for (const auto& [t, e] : pairs_of(take, plain)) {
        found[t] = true;
        right[e] = true;
    }
    if (kind == HintKind::here || all) {
        std::size_t missed = 0;
        for (std::size_t i = 0; i < truth.size(); ++i) {
            if (found[i] || given.given_notes[i] || missed++ % 2 != 0) continue;
            NoteHere here{truth[i].onset + Seconds(dice.between(-0.04, 0.04)), std::nullopt};
            if (missed % 4 == 1) here.key = truth[i].key;
            given.hints.here.push_back(here);
            // His pitch is told, so only his neighbours are scored.
            if (here.key) given.given_notes[i] = true;
        }
    }
    if (kind == HintKind::not_these || all) {
        std::size_t wrong = 0;
        for (std::size_t e = 0; e < plain.notes.size(); ++e) {
            if (right[e] || wrong++ % 2 != 0) continue;
            const Note& n = plain.notes[e];
            // Nobody says so of a note that is played there, only heard to begin elsewhere.
            const bool played = std::any_of(truth.begin(), truth.end(), [&](const Note& t) {
                return t.key == n.key && t.onset < n.offset && n.onset < t.offset;
            });
            if (!played) given.hints.not_these.push_back({{n.onset, n.offset}, n.key});
        }
    }
    return given;
}

Remainder without_given(const Take& take, const Heard& heard, const std::vector<bool>& given) {
    Remainder rest;
    rest.take.name = take.name;
    rest.take.truth.tuning = take.truth.tuning;
    rest.heard.tuning = heard.tuning;
    const std::vector<Note>& truth = take.truth.notes;
    std::vector<bool> told(heard.notes.size(), false);
    for (const auto& [t, e] : pairs_of(take, heard))
        told[e] = given[t];
    std::vector<std::ptrdiff_t> matched(heard.notes.size(), -1);
    for (const auto& [t, e] : pairs_of(take, heard))
        matched[e] = static_cast<std::ptrdiff_t>(t);
    for (std::size_t i = 0; i < truth.size(); ++i) {
        if (!given[i]) rest.take.truth.notes.push_back(truth[i]);
    }
    for (std::size_t e = 0; e < heard.notes.size(); ++e) {
        const Seconds at = heard.notes[e].onset;
        bool inside = told[e];
        for (std::size_t i = 0; i < truth.size() && matched[e] < 0; ++i) {
            if (given[i] && truth[i].onset <= at && at < truth[i].offset) inside = true;
        }
        if (!inside) rest.heard.notes.push_back(heard.notes[e]);
    }
    const std::size_t rows = std::min(take.truth.rows.size(), heard.rows.size());
    for (std::size_t r = 0; r < rows; ++r) {
        const Seconds at = row_step * static_cast<double>(r);
        bool inside = false;
        for (std::size_t i = 0; i < truth.size(); ++i) {
            inside = inside || (given[i] && truth[i].onset <= at && at < truth[i].offset);
        }
        if (inside) continue;
        rest.take.truth.rows.push_back(take.truth.rows[r]);
        rest.heard.rows.push_back(heard.rows[r]);
    }
    return rest;
}

}  // namespace bentline::corpus
