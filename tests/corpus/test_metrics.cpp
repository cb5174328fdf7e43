// corpus: our scores are mir_eval's scores (the library itself, and cases worked by hand).
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "tests/corpus/metrics.h"
#include "tests/corpus/scoreboard.h"
#include "tests/support/dice.h"

using namespace bentline;
using namespace bentline::corpus;
using nlohmann::json;
using testing::Dice;

namespace {

PitchRows random_rows(Dice& dice, std::size_t count) {
    PitchRows rows;
    while (rows.size() < count) {
        const bool voiced = dice.chance(0.7);
        const double f = 80.0 * std::exp2(dice.between(0.0, 3.5));
        for (int i = dice.whole(1, 15); i > 0; --i) {
            rows.push_back(voiced ? std::optional(Hertz(f * std::exp2(dice.normal() * 0.002)))
                                  : std::nullopt);
        }
    }
    rows.resize(count);
    return rows;
}

// The same line with mistakes of every sort.
PitchRows misheard(Dice& dice, const PitchRows& truth) {
    PitchRows out = truth;
    for (auto& r : out) {
        const double what = dice.unit();
        if (what < 0.05)
            r.reset();
        else if (what < 0.10 && r)
            r = *r * 2.0;
        else if (what < 0.14)
            r = Hertz(dice.between(90.0, 900.0));
        else if (r)
            r = *r * std::exp2(dice.normal() * 20.0 / 1200.0);
    }
    return out;
}

std::vector<ScoredNote> random_notes(Dice& dice, int count) {
    std::vector<ScoredNote> notes;
    double t = 0.2;
    for (int i = 0; i < count; ++i) {
        const double d = dice.between(0.04, 0.5);
        notes.push_back({Seconds(t), Seconds(t + d), frequency(Pitch(dice.whole(45, 80)))});
        t += d + (dice.chance(0.3) ? dice.between(0.0, 0.3) : 0.0);
    }
    return notes;
}

std::vector<ScoredNote> misheard(Dice& dice, const std::vector<ScoredNote>& truth) {
    std::vector<ScoredNote> out;
    for (const ScoredNote& n : truth) {
        const double what = dice.unit();
        if (what < 0.1) continue;
        ScoredNote e{n.onset + Seconds(0.03 * dice.normal()),
                     n.offset + Seconds(0.05 * dice.normal()),
                     n.pitch * std::exp2(dice.normal() * 30.0 / 1200.0)};
        e.onset = std::max(Seconds(0), e.onset);
        e.offset = std::max(e.offset, e.onset + Seconds(0.01));
        out.push_back(e);
        if (what > 0.9) out.push_back({e.onset + Seconds(0.02), e.offset + Seconds(0.02), e.pitch});
    }
    return out;
}

json as_json(const PitchRows& rows) {
    json j = json::array();
    for (const auto& r : rows)
        j.push_back(r ? r->value() : 0.0);
    return j;
}
json as_json(const std::vector<ScoredNote>& notes) {
    json j = json::array();
    for (const ScoredNote& n : notes)
        j.push_back({n.onset.value(), n.offset.value(), n.pitch.value()});
    return j;
}

std::vector<double> values(const MelodyScore& m) {
    return {m.raw_pitch_50,   m.raw_pitch_25, m.raw_pitch_10, m.raw_chroma,
            m.voicing_recall, m.false_alarm,  m.overall};
}

}  // namespace

TEST_CASE("corpus: random lines and notes score as mir_eval scores them") {
    Dice dice(11);
    json cases{{"melody", json::array()}, {"notes", json::array()}};
    std::vector<std::vector<double>> ours_melody;
    std::vector<std::vector<double>> ours_notes;
    for (int i = 0; i < 40; ++i) {
        const PitchRows truth = random_rows(dice, static_cast<std::size_t>(dice.whole(50, 400)));
        const PitchRows estimate = misheard(dice, truth);
        cases["melody"].push_back({{"truth", as_json(truth)}, {"estimate", as_json(estimate)}});
        ours_melody.push_back(values(score_melody(truth, estimate)));

        const auto notes = random_notes(dice, dice.whole(5, 60));
        const auto heard = misheard(dice, notes);
        if (heard.empty()) continue;
        cases["notes"].push_back({{"truth", as_json(notes)}, {"estimate", as_json(heard)}});
        NoteTolerance ends;
        ends.offsets = true;
        const Hits a = score_notes(notes, heard, {});
        const Hits b = score_notes(notes, heard, ends);
        ours_notes.push_back({a.precision, a.recall, a.f1, b.precision, b.recall, b.f1});
    }

    namespace fs = std::filesystem;
    const fs::path folder =
        fs::temp_directory_path() / ("bentline_metrics_" + std::to_string(getpid()));
    fs::create_directories(folder);
    std::ofstream(folder / "cases.json") << cases;
    const std::string command =
        "/usr/bin/python3 '" BENTLINE_SOURCE_DIR "/tests/corpus/mir_eval_scores.py' '" +
        (folder / "cases.json").string() + "' '" + (folder / "scores.json").string() + "'";
    const int status = std::system(command.c_str());  // NOLINT(cert-env33-c,concurrency-mt-unsafe)
    if (status == 3 << 8) {
        fs::remove_all(folder);
        MESSAGE("skipped: python3-mir-eval is not installed (third_party/install.sh test)");
        return;
    }
    REQUIRE(status == 0);
    json scores;
    std::ifstream(folder / "scores.json") >> scores;
    fs::remove_all(folder);

    // 1e-9: both count whole rows and notes; only the divisions round.
    REQUIRE(scores["melody"].size() == ours_melody.size());
    for (std::size_t i = 0; i < ours_melody.size(); ++i) {
        for (std::size_t k = 0; k < ours_melody[i].size(); ++k) {
            CHECK_MESSAGE(std::abs(scores["melody"][i][k].get<double>() - ours_melody[i][k]) < 1e-9,
                          "case ", i, " measure ", k);
        }
    }
    REQUIRE(scores["notes"].size() == ours_notes.size());
    for (std::size_t i = 0; i < ours_notes.size(); ++i) {
        for (std::size_t k = 0; k < ours_notes[i].size(); ++k) {
            CHECK_MESSAGE(std::abs(scores["notes"][i][k].get<double>() - ours_notes[i][k]) < 1e-9,
                          "case ", i, " measure ", k);
        }
    }
}

TEST_CASE("corpus: a line of four rows by hand [Salamon et al. 2014]") {
    const PitchRows truth = {Hertz(440), Hertz(440), Hertz(440), std::nullopt};
    // Right; an octave up; missed; heard where there is none.
    const PitchRows estimate = {Hertz(441), Hertz(880), std::nullopt, Hertz(300)};
    const MelodyScore s = score_melody(truth, estimate);
    CHECK(s.raw_pitch_10 == doctest::Approx(1.0 / 3));  // 441/440 is 3.93 cents
    CHECK(s.raw_pitch_50 == doctest::Approx(1.0 / 3));
    CHECK(s.raw_chroma == doctest::Approx(2.0 / 3));
    CHECK(s.voicing_recall == doctest::Approx(2.0 / 3));
    CHECK(s.false_alarm == doctest::Approx(1.0));
    CHECK(s.overall == doctest::Approx(1.0 / 4));
}

TEST_CASE("corpus: the matching moves a note aside for another") {
    // The first estimate fits both true notes, the second only the first.
    const std::vector<ScoredNote> truth = {{Seconds(1.00), Seconds(1.2), Hertz(440)},
                                           {Seconds(1.06), Seconds(1.3), Hertz(440)}};
    const std::vector<ScoredNote> estimate = {{Seconds(1.03), Seconds(1.2), Hertz(440)},
                                              {Seconds(0.96), Seconds(1.1), Hertz(440)}};
    CHECK(match_notes(truth, estimate, {}).size() == 2);
}

TEST_CASE("corpus: inflections count on matched notes and overall") {
    Take take;
    take.truth.rows = {std::nullopt};
    const auto note = [](double onset, int key, std::vector<InflectionKind> kinds) {
        Note n;
        n.onset = Seconds(onset);
        n.offset = Seconds(onset + 0.2);
        n.key = MidiKey(key);
        for (auto& k : kinds)
            n.inflections.push_back({k, 0.8, ""});
        return n;
    };
    take.truth.notes = {note(1, 60, {Bend{Cents(100), {}, {}, false, false, {}}}),
                        note(2, 62, {Staccato{}}),
                        note(3, 64, {Bend{Cents(200), {}, {}, false, false, {}}})};
    Heard heard;
    heard.rows = {std::nullopt};
    // A hit 4 c off; a staccato missed and an accent made up; a bend on a note that nobody played.
    heard.notes = {note(1, 60, {Bend{Cents(104), {}, {}, false, false, {}}}),
                   note(2, 62, {Accent{}}),
                   note(4, 64, {Bend{Cents(200), {}, {}, false, false, {}}})};
    Scoreboard board;
    board.add(take, heard);
    const std::size_t bend = InflectionKind(Bend{}).index();
    CHECK(board.kinds[bend].on_matched().f1 == doctest::Approx(1.0));
    CHECK(board.kinds[bend].overall().precision == doctest::Approx(0.5));
    CHECK(board.kinds[bend].overall().recall == doctest::Approx(0.5));
    CHECK(board.kinds[InflectionKind(Staccato{}).index()].on_matched().f1 == 0.0);
    CHECK(board.micro_f1_overall() == doctest::Approx(1.0 / 3));
    REQUIRE(board.bend_cents.size() == 1);
    CHECK(board.bend_cents[0] == doctest::Approx(4.0));
    CHECK(board.inflection_confidence.count[8] == 3);
    CHECK(board.inflection_confidence.right[8] == 1);
}

TEST_CASE("corpus: a gain in the same takes and its standard error [by hand]") {
    // Differences 1 and 3: mean 2, variance 2 of two, so an error of sqrt(2 / 2).
    const Gain g = paired_gain(std::vector<double>{5.0, 7.0}, std::vector<double>{6.0, 10.0});
    CHECK(g.mean == doctest::Approx(2.0));
    CHECK(g.error == doctest::Approx(1.0));
    // One difference has no spread to tell an error from.
    CHECK(paired_gain(std::vector<double>{1.0}, std::vector<double>{2.0}).error == 0.0);
}
