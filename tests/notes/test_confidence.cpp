// notes: what is told of an inflection before its confidence is said. Expected values by hand.
#include <cmath>
#include <cstddef>
#include <vector>

#include <doctest/doctest.h>

#include "engine/notes/confidence_model.h"

using namespace bentline;
using namespace bentline::notes;

namespace {

Note note_at(double from, double to, int key) {
    Note n;
    n.onset = Seconds(from);
    n.offset = Seconds(to);
    n.key = MidiKey(key);
    n.confidence = 0.9;
    return n;
}

const double ln_9 = std::log(9.0);  // the log-odds of 0.9

}  // namespace

TEST_CASE("notes: what tells of an inflection is its own, its note's and the next note's") {
    std::vector<Note> line = {note_at(1.0, 1.4, 60), note_at(1.6, 2.0, 64)};
    line[0].inflections.push_back({SlideIn{MidiKey(57), std::nullopt}, 0.5, ""});
    line[0].inflections.push_back({SlideToNext{}, 0.1, ""});
    line[0].inflections.push_back({Accent{}, std::nullopt, ""});
    std::vector<TellingVector> telling(2);
    telling[0][crowd] = 0.25;
    telling[1][was_slid_to] = 1.0;
    telling[1][pluck_odds] = -0.5;

    const auto slid_in = telling_of_inflection(line, telling, 0, line[0].inflections[0]);
    CHECK(slid_in[as_read] == doctest::Approx(0.0));
    CHECK(slid_in[of_note] == doctest::Approx(ln_9));
    CHECK(slid_in[silence] == doctest::Approx(1.0 / 3.0));  // 0.2 s, an octave over 0.1
    CHECK(slid_in[how_far] == doctest::Approx(1.5));        // three semitones
    CHECK(slid_in[beside] == doctest::Approx(1.0));
    CHECK(slid_in[next_struck] == doctest::Approx(-0.5));
    CHECK(slid_in[next_slid_to] == doctest::Approx(1.0));
    CHECK(slid_in[telling_of_note + std::size_t{crowd}] == doctest::Approx(0.25));

    const auto slid_on = telling_of_inflection(line, telling, 0, line[0].inflections[1]);
    CHECK(slid_on[as_read] == doctest::Approx(-ln_9));
    CHECK(slid_on[how_far] == doctest::Approx(2.0));  // to the next note, four semitones away
    CHECK(telling_of_inflection(line, telling, 0, line[0].inflections[2])[how_far] == 0.0);
}

TEST_CASE("notes: sizes of bends, vibrato and trills are told in whole tones") {
    std::vector<Note> line = {note_at(0.0, 1.0, 60)};
    const std::vector<TellingVector> telling(1);
    const auto far = [&](const InflectionKind& kind) {
        return telling_of_inflection(line, telling, 0, {kind, 0.5, ""})[how_far];
    };
    Bend bend;
    bend.size = Cents(100.0);
    CHECK(far(bend) == doctest::Approx(0.5));
    Vibrato vibrato;
    vibrato.depth = Cents(50.0);
    CHECK(far(vibrato) == doctest::Approx(0.25));
    CHECK(far(Trill{-3}) == doctest::Approx(1.5));
    CHECK(far(SlideOut{MidiKey(55), std::nullopt}) == doctest::Approx(2.5));
    CHECK(far(SlideOut{}) == 0.0);
    CHECK(far(SlideToNext{}) == 0.0);  // no note follows
}

TEST_CASE("notes: silence is told between 10 ms and a second") {
    const auto told = [](double gap) {
        const std::vector<Note> line = {note_at(0.0, 1.0, 60), note_at(1.0 + gap, 9.0, 60)};
        return telling_of_inflection(line, std::vector<TellingVector>(2), 0,
                                     {Staccato{}, 0.5, ""})[silence];
    };
    CHECK(told(0.1) == doctest::Approx(0.0));
    CHECK(told(0.0) == doctest::Approx(-std::log2(10.0) / 3.0));
    CHECK(told(3.0) == doctest::Approx(std::log2(10.0) / 3.0));
}
