// fingering: the rules of the instrument hold for every line, pins are kept, the impossible is
// said.
#include <algorithm>
#include <cstdlib>
#include <set>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "engine/tab/fingering.h"
#include "tests/tab/lines.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

Fingering fingered(const FingeringRequest& request) {
    auto made = find_fingering(request);
    const std::string why = made ? "" : made.failure().sentence;
    REQUIRE_MESSAGE(made.ok(), why);
    REQUIRE(made->notes.size() == request.notes.size());
    return std::move(*made);
}

bool must_be_fretted(const Note& note) {
    return find<Bend>(note) || find<Vibrato>(note) || find<SlideIn>(note) || find<SlideOut>(note) ||
           find<SlideToNext>(note);
}

// Every hard rule of fingering.h, written anew from its words.
void check_rules(const FingeringRequest& request, const Fingering& fingering) {
    const Neck& neck = request.neck;
    const auto on_string = [&](const Spot& spot, int key, int lowest) {
        const int fret = key - key_at(neck, {spot.string, 0}).value();
        return lowest <= fret && fret <= neck.last_fret();
    };
    for (std::size_t i = 0; i < request.notes.size(); ++i) {
        CAPTURE(i);
        const Note& note = request.notes[i];
        const FingeredNote& made = fingering.notes[i];
        CHECK(made.spot.has_value() == made.problem.empty());
        if (!made.spot) continue;
        const Spot spot = *made.spot;
        CHECK(1 <= spot.string);
        CHECK(spot.string <= neck.strings());
        CHECK(0 <= spot.fret);
        CHECK(spot.fret <= neck.last_fret());
        CHECK(key_at(neck, spot) == note.key);
        if (must_be_fretted(note)) CHECK(spot.fret > 0);
        if (spot.fret > 0) {
            // The hand spans six frets: four fingers, the outer ones stretched by one.
            CHECK(made.hand - 1 <= spot.fret);
            CHECK(spot.fret <= made.hand + 4);
            CHECK(1 <= made.finger);
            CHECK(made.finger <= 4);
        } else {
            CHECK(made.finger == 0);
        }
        if (const auto* in = find<SlideIn>(note); in && in->from) {
            CHECK(on_string(spot, in->from->value(), 1));
        }
        if (const auto* out = find<SlideOut>(note); out && out->to) {
            CHECK(on_string(spot, out->to->value(), 1));
        }
        if (const auto* trill = find<Trill>(note)) {
            CHECK(on_string(spot, note.key.value() + trill->semitones, 0));
        }
        if (i == 0 || !fingering.notes[i - 1].spot) continue;
        const Spot before = *fingering.notes[i - 1].spot;
        if (find<SlideToNext>(request.notes[i - 1])) {
            CHECK(spot.string == before.string);
            CHECK(spot.fret > 0);
        }
        if (std::count(request.slurred.begin(), request.slurred.end(), i) > 0) {
            CHECK(spot.string == before.string);
        }
    }
    for (const NoteSpan& sweep : request.sweeps) {
        for (std::size_t i = sweep.first + 1; i < sweep.last; ++i) {
            const FingeredNote& a = fingering.notes[i - 1];
            const FingeredNote& b = fingering.notes[i];
            if (!a.spot || !b.spot) continue;
            const bool up = request.notes[i].key > request.notes[i - 1].key;
            CHECK(b.spot->string == a.spot->string + (up ? -1 : 1));
            CHECK(a.hand == b.hand);
        }
    }
    for (const UnisonBend& pair : request.unison_bends) {
        const auto& bent = fingering.notes[pair.bent].spot;
        const auto& held = fingering.notes[pair.held].spot;
        if (!bent || !held) continue;
        CHECK(std::abs(bent->string - held->string) == 1);
        CHECK(key_at(neck, {bent->string, 0}) <= key_at(neck, {held->string, 0}));
    }
    for (std::size_t i = 0; i < request.notes.size(); ++i) {
        for (std::size_t j = i + 1; j < request.notes.size(); ++j) {
            if (request.notes[i].offset <= request.notes[j].onset + Seconds(0.05)) continue;
            const FingeredNote& a = fingering.notes[i];
            const FingeredNote& b = fingering.notes[j];
            if (!a.spot || !b.spot) continue;
            CAPTURE(i);
            CAPTURE(j);
            CHECK(a.spot->string != b.spot->string);
            if (a.spot->fret > 0 && b.spot->fret > 0) {
                CHECK(std::abs(a.spot->fret - b.spot->fret) <= 5);
            }
        }
    }
    for (const StringPin& pin : request.pins) {
        const auto& spot = fingering.notes[pin.note].spot;
        if (spot) CHECK(spot->string == pin.string);
    }
}

std::vector<Note> line_of(const std::vector<int>& keys, double step = 0.25) {
    std::vector<Note> notes;
    for (std::size_t i = 0; i < keys.size(); ++i) {
        notes.push_back(plain_note(keys[i], step * static_cast<double>(i), 0.9 * step));
    }
    return notes;
}

}  // namespace

TEST_CASE("fingering: the rules hold on 400 random lines, tunings, capos, pins, slurs and sweeps") {
    int placed = 0;
    int all = 0;
    for (std::uint64_t seed = 0; seed < 400; ++seed) {
        CAPTURE(seed);
        Dice dice(seed);
        FingeringRequest request;
        request.neck = random_neck(dice);
        LineOptions options;
        options.rings = dice.chance(0.3);
        request.notes = random_line(dice, static_cast<std::size_t>(dice.whole(1, 40)), options);
        request.sweeps = find_sweeps(request.notes, request.neck);
        request.unison_bends = find_unison_bends(request.notes);
        for (std::size_t i = 0; i < request.notes.size(); ++i) {
            if (dice.chance(0.1))
                request.pins.push_back({i, dice.whole(1, request.neck.strings())});
            if (i > 0 && dice.chance(0.1)) request.slurred.push_back(i);
        }
        const Fingering fingering = fingered(request);
        check_rules(request, fingering);
        for (const FingeredNote& note : fingering.notes)
            placed += note.spot ? 1 : 0;
        all += static_cast<int>(request.notes.size());
        CHECK(find_fingering(request)->notes == fingering.notes);
    }
    // Random pins and slurs contradict each other at times; still nearly all is placed.
    CHECK(placed > 0.85 * all);
}

TEST_CASE("fingering: without pins and rings a plain line in range is placed whole") {
    for (std::uint64_t seed = 1000; seed < 1100; ++seed) {
        CAPTURE(seed);
        Dice dice(seed);
        FingeringRequest request;
        LineOptions options;
        options.inflected = 0.0;
        request.notes = random_line(dice, 60, options);
        const Fingering fingering = fingered(request);
        check_rules(request, fingering);
        for (const FingeredNote& note : fingering.notes)
            CHECK(note.spot.has_value());
    }
}

TEST_CASE("fingering: every pin that its string can play is kept, and the rest flows around it") {
    const std::vector<Note> notes = line_of({64, 67, 69, 71, 72, 71, 69, 67});
    for (std::size_t i = 0; i < notes.size(); ++i) {
        for (const Spot& spot : spots_of(standard_neck(), notes[i].key)) {
            FingeringRequest request{notes, standard_neck(), {{i, spot.string}}, {}, {}, {}};
            const Fingering fingering = fingered(request);
            check_rules(request, fingering);
            REQUIRE(fingering.notes[i].spot.has_value());
            CHECK(*fingering.notes[i].spot == spot);
            for (const FingeredNote& note : fingering.notes)
                CHECK(note.spot.has_value());
        }
    }
    // Pinned high on the third string, the neighbours follow the hand up the neck.
    FingeringRequest request{notes, standard_neck(), {{3, 3}, {4, 3}}, {}, {}, {}};
    const Fingering fingering = fingered(request);
    CHECK(fingering.notes[3].spot == Spot{3, 16});
    CHECK(fingering.notes[2].spot->fret >= 12);
    CHECK(fingering.notes[5].spot->fret >= 12);
}

TEST_CASE("fingering: a pin that its string cannot play is reported, not moved") {
    FingeringRequest request{line_of({52, 54, 56}), standard_neck(), {{1, 1}}, {}, {}, {}};
    const Fingering fingering = fingered(request);
    CHECK_FALSE(fingering.notes[1].spot.has_value());
    CHECK(fingering.notes[1].problem.find("string 1") != std::string::npos);
    CHECK(fingering.notes[0].spot.has_value());
    CHECK(fingering.notes[2].spot.has_value());
}

TEST_CASE("fingering: notes that the neck does not have are left out and named; the others stay") {
    const FingeringRequest request{line_of({64, 30, 67, 100, 69}), standard_neck(), {}, {}, {}, {}};
    const Fingering fingering = fingered(request);
    CHECK_FALSE(fingering.notes[1].spot.has_value());
    CHECK_FALSE(fingering.notes[3].spot.has_value());
    CHECK(fingering.notes[1].problem.find("F#1") != std::string::npos);
    CHECK(fingering.notes[1].problem.find("E2 to D6") != std::string::npos);
    for (const std::size_t i : {0U, 2U, 4U})
        CHECK(fingering.notes[i].spot.has_value());
}

TEST_CASE("fingering: as few notes as can be are left out") {
    // A slide across a whole octave and a half fits no string of twelve frets: one end must go.
    Neck neck = standard_neck();
    neck.frets = 12;
    FingeringRequest request{line_of({60, 42, 60, 62}), neck, {}, {}, {}, {}};
    inflect(request.notes[0], SlideToNext{});
    const Fingering fingering = fingered(request);
    const auto out = std::count_if(fingering.notes.begin(), fingering.notes.end(),
                                   [](const FingeredNote& n) { return !n.spot; });
    CHECK(out == 1);
    check_rules(request, fingering);
}

TEST_CASE("fingering: bends take the first three strings and frets 5 to 17 where they can") {
    for (int key = 64; key <= 81; ++key) {
        CAPTURE(key);
        FingeringRequest request{line_of({key}), standard_neck(), {}, {}, {}, {}};
        inflect(request.notes[0], Bend{Cents(200), {}, {}, false, false, {}});
        const Fingering fingering = fingered(request);
        REQUIRE(fingering.notes[0].spot.has_value());
        CHECK(fingering.notes[0].spot->string <= 3);
        CHECK(fingering.notes[0].spot->fret >= 5);
        CHECK(fingering.notes[0].spot->fret <= 17);
        CHECK(fingering.notes[0].finger >= 2);
        CHECK(fingering.notes[0].finger <= 3);
    }
}

TEST_CASE("fingering: a scale in one position stays in it [method books, from memory]") {
    // G major over two octaves in second position: frets as every method prints them.
    const std::vector<int> keys = {43, 45, 47, 48, 50, 52, 54, 55, 57, 59, 60, 62, 64, 66, 67};
    const std::vector<Spot> want = {{6, 3}, {6, 5}, {5, 2}, {5, 3}, {5, 5}, {4, 2}, {4, 4}, {4, 5},
                                    {3, 2}, {3, 4}, {2, 1}, {2, 3}, {2, 5}, {1, 2}, {1, 3}};
    const FingeringRequest request{line_of(keys, 0.15), standard_neck(), {}, {}, {}, {}};
    const Fingering fingering = fingered(request);
    int same = 0;
    for (std::size_t i = 0; i < keys.size(); ++i) {
        if (fingering.notes[i].spot == want[i]) ++same;
        CHECK(std::abs(fingering.notes[i].hand - 2) <= 1);
    }
    // The top of it has two usual ways (open or stretched first finger); all else is one.
    CHECK(same >= 12);
}

TEST_CASE("fingering: a sweep is one note a string in one position") {
    // A minor arpeggio, A3 C4 E4 A4 C5 in fifth position: 4th string 7th fret and up.
    FingeringRequest request{line_of({57, 60, 64, 69, 72}, 0.035), standard_neck(), {}, {}, {}, {}};
    CHECK(find_sweeps(request.notes, request.neck).size() == 1);
    request.sweeps = find_sweeps(request.notes, request.neck);
    check_rules(request, fingered(request));
    // Five strings for E3 to C5 in order.
    FingeringRequest whole{line_of({52, 57, 60, 64, 69}, 0.035), standard_neck(), {}, {}, {}, {}};
    whole.sweeps = {{0, 5}};
    const Fingering fingering = fingered(whole);
    check_rules(whole, fingering);
    CHECK(fingering.notes[0].spot.has_value());
    CHECK(fingering.notes[4].spot.has_value());
    // Slower, or by step, it is no sweep.
    CHECK(find_sweeps(line_of({57, 60, 64, 69, 72}, 0.2), standard_neck()).empty());
    CHECK(find_sweeps(line_of({60, 62, 64, 65, 67}, 0.035), standard_neck()).empty());
    CHECK(find_sweeps(line_of({57, 60, 57, 60, 57}, 0.035), standard_neck()).empty());
}

TEST_CASE("fingering: a unison bend lies on two neighbouring strings") {
    std::vector<Note> notes = line_of({62, 64}, 0.02);
    for (Note& note : notes)
        note.offset = Seconds(1.5);
    inflect(notes[0], Bend{Cents(200), {}, {}, false, false, {}});
    FingeringRequest request{notes, standard_neck(), {}, {}, find_unison_bends(notes), {}};
    REQUIRE(request.unison_bends == std::vector<UnisonBend>{{0, 1}});
    const Fingering fingering = fingered(request);
    check_rules(request, fingering);
    REQUIRE(fingering.notes[0].spot.has_value());
    REQUIRE(fingering.notes[1].spot.has_value());
    CHECK(fingering.notes[0].spot->string == fingering.notes[1].spot->string + 1);
    notes[1].key = MidiKey(65);
    CHECK(find_unison_bends(notes).empty());
}

TEST_CASE("fingering: a slide keeps its finger and its string") {
    FingeringRequest request{line_of({60, 67}), standard_neck(), {}, {}, {}, {}};
    inflect(request.notes[0], SlideToNext{});
    const Fingering fingering = fingered(request);
    REQUIRE(fingering.notes[0].spot.has_value());
    REQUIRE(fingering.notes[1].spot.has_value());
    CHECK(fingering.notes[0].spot->string == fingering.notes[1].spot->string);
    CHECK(fingering.notes[0].finger == fingering.notes[1].finger);
}

TEST_CASE("fingering: an empty line, one note, and requests that name what is not there") {
    CHECK(fingered({}).notes.empty());
    CHECK(fingered({line_of({60}), standard_neck(), {}, {}, {}, {}}).notes[0].spot.has_value());
    const std::vector<Note> notes = line_of({60, 62});
    const std::vector<FingeringRequest> wrong = {
        {notes, standard_neck(), {{2, 1}}, {}, {}, {}},
        {notes, standard_neck(), {{0, 7}}, {}, {}, {}},
        {notes, standard_neck(), {{0, 0}}, {}, {}, {}},
        {notes, standard_neck(), {{0, 2}, {0, 3}}, {}, {}, {}},
        {notes, standard_neck(), {}, {{0, 3}}, {}, {}},
        {notes, standard_neck(), {}, {{1, 0}}, {}, {}},
        {line_of({40, 45, 50, 55, 59, 64, 69}), standard_neck(), {}, {{0, 7}}, {}, {}},
        {notes, standard_neck(), {}, {}, {{0, 2}}, {}},
        {notes, standard_neck(), {}, {}, {{1, 1}}, {}},
        {notes, standard_neck(), {}, {}, {}, {0}},
        {{notes[1], notes[0]}, standard_neck(), {}, {}, {}, {}},
    };
    for (std::size_t i = 0; i < wrong.size(); ++i) {
        CAPTURE(i);
        const auto made = find_fingering(wrong[i]);
        REQUIRE_FALSE(made.ok());
        CHECK(made.failure().kind == FailureKind::out_of_range);
        CHECK(made.failure().sentence.find("; ") != std::string::npos);
    }
    std::stop_source stop;
    stop.request_stop();
    const auto stopped =
        find_fingering({notes, standard_neck(), {}, {}, {}, {}}, {}, Work{{}, stop.get_token()});
    REQUIRE_FALSE(stopped.ok());
    CHECK(stopped.failure().kind == FailureKind::stopped);
}
