// write_score: whole drafts to whole scores.
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "engine/score/write_score.h"
#include "tests/score/on_beat.h"
#include "tests/score/performance.h"
#include "tests/score/score_text.h"
#include "tests/score/small_scores.h"
#include "tests/score/true_notes.h"

using namespace bentline;
using bentline::testing::empty_draft;
using bentline::testing::fault_of;
using bentline::testing::full_text;
using bentline::testing::on_beat;
using bentline::testing::perform;
using bentline::testing::Performance;
using bentline::testing::score_of;
using bentline::testing::spread_of_performances;
using bentline::testing::true_notes;

namespace {

template <class S>
const S* sign(const Head& head) {
    for (const Sign& s : head.signs) {
        if (const S* found = std::get_if<S>(&s)) return found;
    }
    return nullptr;
}

const Head& head(const Score& score, std::size_t measure, std::size_t event) {
    return *score.measures.at(measure).events.at(event).head;
}

}  // namespace

TEST_CASE("score: 72 generated choruses: every bar adds up, every note is written once") {
    int bars = 0;
    for (const std::uint64_t seed : {7101U, 7102U, 7103U}) {
        for (const auto& settings : spread_of_performances(seed, 24)) {
            const Performance p = perform(settings);
            Draft draft = empty_draft(settings.metre);
            draft.bars = p.bars;
            const Score score = score_of(draft, p.played);
            CHECK_MESSAGE(fault_of(score).empty(), fault_of(score));
            std::vector<int> times(p.played.size() + 1, 0);  // ids count from 1
            for (const Measure& m : score.measures) {
                ++bars;
                for (const Event& e : m.events) {
                    if (!e.head || e.head->tied_from_before) continue;
                    ++times[e.head->note.value];
                    for (const GraceNote& g : e.head->graces)
                        ++times[g.note->value];
                }
            }
            CHECK(std::count(times.begin() + 1, times.end(), 1) ==
                  static_cast<long>(p.played.size()));
        }
    }
    CHECK(bars >= 72 * 16);
}

TEST_CASE("score: a draft without bars says so") {
    const Draft in_seconds;
    const auto none = write_score(in_seconds, WhichNotes::inked);
    REQUIRE_FALSE(none.ok());
    CHECK(none.failure().kind == FailureKind::bad_draft);
}

TEST_CASE("score: only inked notes, unless pencilled ones are asked for") {
    Draft draft = pencil(empty_draft(), {on_beat(0, 1, 63), on_beat(1, 2, 65)}).value();
    const Score score = write_score(draft, WhichNotes::inked).value();
    REQUIRE(score.measures.size() == 1);
    CHECK(full_text(score.measures[0]) == "rbar");
}

TEST_CASE("score: accidentals last a bar, on their own octave; ties need none") {
    const Score score =
        score_of(empty_draft(), {on_beat(0, 1, 66), on_beat(1, 2, 66), on_beat(2, 3, 67),
                                 on_beat(3, 4, 78), on_beat(4, 5, 66), on_beat(5, 6, 67)});
    CHECK(full_text(score.measures[0]) == "F#4*/4 F#4/4 G4/4 Gb5*/4");
    CHECK(full_text(score.measures[1]).substr(0, 6) == "F#4*/4");
}

// In Eb the chart's B7 makes its third a D sharp; after the chart's last bar it is the key's Eb.
TEST_CASE("score: a chord names its tones as far as the chart goes, and no farther") {
    Draft draft = empty_draft();
    draft.chords = {"B7"};
    const Score s = score_of(draft, {on_beat(0, 2, 59), on_beat(2, 4, 63), on_beat(4, 6, 60),
                                     on_beat(6, 8, 63), on_beat(8, 10, 62), on_beat(10, 12, 63)});
    CHECK(to_text(head(s, 0, 1).pitch) == "D#4");
    CHECK(to_text(head(s, 1, 1).pitch) == "Eb4");
    CHECK(to_text(head(s, 2, 1).pitch) == "Eb4");
}

TEST_CASE("score: a section in another key has its signature, its names and its accidentals") {
    Draft draft = empty_draft();
    draft.form = parse_form("A1B1A1").value();
    draft.form[1].key = Key{2, false};
    // In E flat: Eb and its sixth C. In D: D and F sharp, which needs no sign; Eb is D sharp.
    const Score score = score_of(
        draft, {on_beat(-1, 0, 63), on_beat(0, 2, 63), on_beat(2, 4, 67), on_beat(4, 6, 62),
                on_beat(6, 7, 66), on_beat(7, 8, 65), on_beat(8, 10, 63), on_beat(10, 12, 60)});
    REQUIRE(score.measures.size() == 4);
    CHECK(score.key == Key{-3, false});
    CHECK_FALSE(score.measures[0].key.has_value());  // the pickup and bar 1 are in one key
    CHECK_FALSE(score.measures[1].key.has_value());
    CHECK(score.measures[2].key == Key{2, false});
    CHECK(score.measures[3].key == Key{-3, false});
    CHECK(key_at(score, 2) == Key{2, false});
    CHECK(key_at(score, 3) == Key{-3, false});
    CHECK(full_text(score.measures[1]) == "Eb4/2 G4/2");
    CHECK(full_text(score.measures[2]) == "D4/2 F#4/4 F4*/4");
    CHECK(full_text(score.measures[3]) == "Eb4/2 C4/2");
}

TEST_CASE("score: a section of another feel says so where it begins and ends") {
    Draft draft = empty_draft();
    draft.form = parse_form("A4B4A4").value();
    std::vector<Note> notes;
    for (int beat = 0; beat < 48; ++beat) {
        const double off = beat / 16 == 1 ? 2.0 / 3.0 : 0.5;
        notes.push_back(on_beat(beat, beat + off, 63 + beat % 5));
        notes.push_back(on_beat(beat + off, beat + 1, 70 - beat % 3));
    }
    const Score score = score_of(draft, notes);
    REQUIRE(score.measures.size() == 12);
    CHECK_FALSE(score.swing.has_value());
    for (std::size_t m = 0; m < 12; ++m)
        CHECK(score.measures[m].swing.has_value() == (m == 4 || m == 8));
    CHECK(*score.measures[4].swing == doctest::Approx(2.0).epsilon(0.05));
    CHECK(*score.measures[8].swing == 1.0);
}

TEST_CASE("score: a pickup is written from its own beat") {
    const Score score =
        score_of(empty_draft(), {on_beat(-1, -0.5, 65), on_beat(-0.5, 0, 67), on_beat(0, 4, 70)});
    REQUIRE(score.measures.size() == 2);
    CHECK(score.measures[0].number == 0);
    CHECK(score.measures[0].length == quarter);
    CHECK(score.measures[0].skipped == quarter * 3);
    CHECK(full_text(score.measures[0]) == "F4/8[ G4/8]");
    CHECK(full_text(score.measures[1]) == "Bb4/1");
}

TEST_CASE("score: inflections get their signs") {
    const SecondsRange span{Seconds(1.0), Seconds(1.08)};
    const std::vector<Note> notes = {
        on_beat(0, 1, 70, {SlideIn{MidiKey(68), span}}),
        on_beat(1, 2, 70, {SlideIn{}}),
        on_beat(2, 3, 67, {SlideOut{MidiKey(64), {}}}),
        on_beat(3, 4, 65, {SlideToNext{}}),
        on_beat(4, 6, 67, {Bend{Cents(47), {}, {}, false, false, {}}}),
        on_beat(6, 8, 67, {Bend{Cents(204), {}, {}, true, true, {}}}),
        on_beat(8, 10, 67, {Vibrato{Hertz(5.5), Cents(38), {}}}),
        on_beat(10, 12, 67, {Trill{1}}),
        on_beat(12, 13, 67, {Staccato{}, Accent{}}),
        on_beat(13, 14, 67,
                {Bend{Cents(20), {}, {}, false, false, {}}, Vibrato{Hertz(5.0), Cents(6), {}}}),
    };
    const Score s = score_of(empty_draft(), notes);
    CHECK(fault_of(s).empty());
    REQUIRE(head(s, 0, 0).graces.size() == 1);
    CHECK(to_text(head(s, 0, 0).graces[0].pitch) == "Ab4");
    CHECK_FALSE(head(s, 0, 0).graces[0].note.has_value());
    CHECK(sign<SlideInSign>(head(s, 0, 0)));
    CHECK(sign<ScoopSign>(head(s, 0, 1)));
    REQUIRE(sign<FallSign>(head(s, 0, 2)));
    CHECK(sign<FallSign>(head(s, 0, 2))->semitones == 3);
    CHECK_FALSE(sign<FallSign>(head(s, 0, 2))->upward);
    CHECK(sign<SlideToNextSign>(head(s, 0, 3)));
    REQUIRE(sign<BendSign>(head(s, 1, 0)));
    CHECK(sign<BendSign>(head(s, 1, 0))->semitones == 0.5);
    CHECK(sign<BendSign>(head(s, 1, 0))->measured == Cents(47));
    CHECK(sign<BendSign>(head(s, 1, 1))->semitones == 2.0);
    CHECK(sign<BendSign>(head(s, 1, 1))->release);
    CHECK(sign<BendSign>(head(s, 1, 1))->prebend);
    REQUIRE(sign<WavyLineSign>(head(s, 2, 0)));
    CHECK(sign<WavyLineSign>(head(s, 2, 0))->wide);
    REQUIRE(sign<TrillSign>(head(s, 2, 1)));
    CHECK(to_text(sign<TrillSign>(head(s, 2, 1))->with) == "Ab4");
    CHECK(sign<DotSign>(head(s, 3, 0)));
    CHECK(sign<AccentSign>(head(s, 3, 0)));
    CHECK(head(s, 3, 1).signs.empty());
}

TEST_CASE(
    "score: signs that begin a note stand on a tie's first head, those that end it on its last") {
    const Score s =
        score_of(empty_draft(), {on_beat(3.5, 6, 70, {Accent{}, SlideOut{MidiKey(67), {}}})});
    CHECK(full_text(s.measures[0]) == "r2 r4 r8 Bb4/8~");
    CHECK(sign<AccentSign>(head(s, 0, 3)));
    CHECK_FALSE(sign<FallSign>(head(s, 0, 3)));
    CHECK_FALSE(sign<AccentSign>(head(s, 1, 0)));
    CHECK(sign<FallSign>(head(s, 1, 0)));
}

TEST_CASE("score: a doubtful inflection is left out") {
    Note n = on_beat(0, 4, 70);
    n.inflections.push_back({Bend{Cents(100), {}, {}, false, false, {}}, 0.2, ""});
    CHECK(head(score_of(empty_draft(), {n}), 0, 0).signs.empty());
}

TEST_CASE(
    "score: short notes before a beat are grace notes of its note, and a lean is no syncopation") {
    // A line 35 ms behind the beat, with two notes of 40 ms into beat 3.
    std::vector<Note> notes;
    for (const double beat : {0.0, 1.0, 1.5, 2.0, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0})
        notes.push_back(on_beat(beat + 0.07, beat + 0.42, 67));
    for (int i = 2; i > 0; --i)
        notes.push_back(on_beat(2.07 - 0.08 * i, 2.089 - 0.08 * (i - 1), 67 - 3 * i));
    std::sort(notes.begin(), notes.end(),
              [](const Note& a, const Note& b) { return a.onset < b.onset; });
    const Score s = score_of(empty_draft(), notes);
    CHECK(fault_of(s).empty());
    CHECK(s.late.value() == doctest::Approx(0.035).epsilon(0.1));
    std::vector<double> starts;
    for (const Measure& m : s.measures) {
        for (const Event& e : m.events) {
            if (!e.head || e.head->tied_from_before) continue;
            starts.push_back(4.0 * (m.number - 1) + e.start / quarter);
            CHECK(e.head->graces.size() == (starts.back() == 2.0 ? 2 : 0));
        }
    }
    CHECK(starts == std::vector<double>{0, 1, 1.5, 2, 3, 3.5, 4, 5, 6, 7});
}

TEST_CASE("score: chords share a bar; nonsense stays text; the form puts letters over bars") {
    Draft draft = empty_draft();
    draft.chords = {"Eb6 C7", "Fm7", "blah Bb7 %%"};
    draft.form = parse_form("A2 B2").value();
    const Score s = score_of(draft, {on_beat(0, 1, 63)});
    REQUIRE(s.measures.size() == 4);
    CHECK(s.measures[0].chords == std::vector<ChordSymbol>{{Ticks(0), "Eb6"}, {Ticks(960), "C7"}});
    CHECK(s.measures[2].chords ==
          std::vector<ChordSymbol>{{Ticks(0), "blah"}, {Ticks(960), "Bb7"}, {Ticks(1440), "%%"}});
    CHECK(s.measures[0].section == "A");
    CHECK(s.measures[2].section == "B");
    CHECK(place_chords("C G7", {3, 4})[1].at == Ticks(960));
}

TEST_CASE("score: 500 bars, and a metre that changes in the middle") {
    Draft draft = empty_draft();
    BarMap::Parts parts = draft.bars->parts();
    parts.metres.push_back({251, Metre{3, 4}});
    draft.bars = BarMap::make(parts).value();
    std::vector<Note> notes;
    for (int bar = 0; bar < 500; ++bar) {
        const int beat = bar < 250 ? 4 * bar : 1000 + 3 * (bar - 250);
        notes.push_back(on_beat(beat, beat + 1, 63 + bar % 12));
        notes.push_back(on_beat(beat + 1, beat + 1.5, 70));
    }
    const Score s = score_of(draft, notes);
    CHECK(s.measures.size() == 500);
    CHECK(fault_of(s).empty());
    CHECK(s.measures[249].metre == Metre{4, 4});
    CHECK(s.measures[250].metre == Metre{3, 4});
    CHECK(s.measures[499].events.front().head.has_value());
}

// The demo's truth: bars as composed (written.json), against what its true notes and beats come out
// as.
TEST_CASE("score: the demo's chorus comes out as it was composed") {
    const std::string demo = BENTLINE_SOURCE_DIR "/demo_audio/last_tram_to_oddervik.";
    const auto read = [&](const char* what) {
        return nlohmann::json::parse(std::ifstream(demo + what));
    };
    const auto number = [](const std::string& fraction) {
        const auto slash = fraction.find('/');
        const double above = std::stod(fraction.substr(0, slash));
        return slash == std::string::npos ? above : above / std::stod(fraction.substr(slash + 1));
    };
    const auto true_beats = read("beats.json");
    const auto truth = read("notes.json");
    std::vector<Seconds> beats;
    for (const double t : true_beats["beats"])
        beats.emplace_back(t);
    Draft draft = empty_draft();
    draft.bars = BarMap::from_beats(beats, 4).value();
    std::ifstream chart(demo + "chords.txt");
    for (std::string line; std::getline(chart, line);) {
        if (line.empty() || line[0] != '|') continue;
        std::istringstream bars(line.substr(1));
        for (std::string bar; std::getline(bars, bar, '|');)
            draft.chords.push_back(bar);
    }
    REQUIRE(draft.chords.size() == 32);
    const std::vector<Note> notes = true_notes(truth);
    const Score s = score_of(draft, notes);
    CHECK(fault_of(s).empty());

    struct Row {
        double start = 0.0;  // quarters from bar 1
        double length = 0.0;
        std::string name;
    };
    std::vector<Row> rows(notes.size());
    for (const Measure& m : s.measures) {
        for (const Event& e : m.events) {
            if (!e.head) continue;
            Row& row = rows[e.head->note.value - 1];
            if (!e.head->tied_from_before) {
                row = {4.0 * (m.number - 1) + (m.skipped + e.start) / quarter, 0.0,
                       to_text(e.head->pitch)};
                for (const GraceNote& g : e.head->graces)
                    rows[g.note->value - 1] = {row.start, 0.0, to_text(g.pitch)};
            }
            row.length += e.length / quarter;
        }
    }
    const auto written = read("written.json")["notes"];
    REQUIRE(written.size() == rows.size());
    int starts = 0, lengths = 0, names = 0;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const auto& w = written[i];
        starts +=
            std::abs(rows[i].start - 4.0 * (w["bar"].get<int>() - 1) - number(w["beat"])) < 1e-3;
        lengths += std::abs(rows[i].length - number(w["duration"])) < 1e-3;
        names += rows[i].name == w["name"];
    }
    MESSAGE("of ", rows.size(), " notes: start ", starts, ", length ", lengths, ", name ", names);
    CHECK(starts >= 0.97 * static_cast<double>(rows.size()));
    CHECK(lengths >= 0.90 * static_cast<double>(rows.size()));
    CHECK(names >= 0.985 * static_cast<double>(rows.size()));

    // Left to itself it finds the key; the bridge, which wanders from key to key, gets none.
    draft.key.reset();
    draft.form = parse_form("AABA").value();
    const Score guessed = score_of(draft, notes);
    CHECK(guessed.key == Key{-3, false});
    for (const Measure& m : guessed.measures)
        CHECK_FALSE(m.key.has_value());
}
