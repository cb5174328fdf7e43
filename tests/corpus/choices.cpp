// Judges the alternatives that doubtful notes offer.
#include <algorithm>
#include <cmath>

#include "tests/corpus/scoreboard.h"

namespace bentline::corpus {

namespace {

// The true note that begins with an estimated one, whatever its pitch.
const Note* begins_with(const Take& take, const Note& heard) {
    const Note* nearest = nullptr;
    for (const Note& t : take.truth.notes) {
        const double off = std::abs((t.onset - heard.onset).value());
        if (off > 0.05) continue;
        if (!nearest || off < std::abs((nearest->onset - heard.onset).value())) nearest = &t;
    }
    return nearest;
}

// A note of this pitch is played there, but begins elsewhere.
bool played_there(const Take& take, const Note& heard) {
    return std::any_of(take.truth.notes.begin(), take.truth.notes.end(), [&](const Note& t) {
        return t.key == heard.key && t.onset < heard.offset && heard.onset < t.offset;
    });
}

bool same_kinds(const std::vector<Inflection>& a, const std::vector<Inflection>& b) {
    const auto kinds = [](const std::vector<Inflection>& list) {
        std::array<bool, kind_count> has{};
        for (const Inflection& i : list)
            has[i.what.index()] = true;
        return has;
    };
    return kinds(a) == kinds(b);
}

bool is_truth(const Alternative& a, const Note* truth, const Note& heard) {
    if (!a.key) return truth == nullptr;
    if (!truth || *a.key != truth->key) return false;
    // Another pitch is right by its pitch; the same pitch is another way of playing it.
    return *a.key != heard.key || same_kinds(a.inflections, truth->inflections);
}

}  // namespace

void Choices::add(const Choices& o) {
    wrong += o.wrong;
    with_some += o.with_some;
    first_right += o.first_right;
    any_right += o.any_right;
    beyond += o.beyond;
    right_notes += o.right_notes;
    right_with += o.right_with;
    promised += o.promised;
    kept += o.kept;
}

Choices judge_choices(const Take& take, const Heard& heard,
                      const std::vector<std::size_t>& partner) {
    Choices c;
    for (std::size_t e = 0; e < heard.notes.size(); ++e) {
        const Note& n = heard.notes[e];
        const bool right = partner[e] < take.truth.notes.size();
        const Note* truth = right ? &take.truth.notes[partner[e]] : begins_with(take, n);
        std::size_t place = 0;
        for (std::size_t k = 0; k < n.alternatives.size(); ++k) {
            c.promised += n.alternatives[k].probability;
            if (!is_truth(n.alternatives[k], truth, n)) continue;
            ++c.kept;
            if (place == 0) place = k + 1;
        }
        if (right) {
            ++c.right_notes;
            c.right_with += !n.alternatives.empty();
            continue;
        }
        ++c.wrong;
        c.with_some += !n.alternatives.empty();
        c.first_right += place == 1;
        c.any_right += place > 0;
        if (place == 0 && (played_there(take, n) || (truth && truth->key == n.key))) ++c.beyond;
    }
    return c;
}

}  // namespace bentline::corpus
