// window: actions on strings, beats and the spectrum, driven by session lines.
#include <cmath>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "evening.h"
#include "made_draft.h"
#include "tones.h"
#include "ui/window/desk.h"

using namespace bentline;
using namespace bentline::window;

TEST_CASE("desk: the manuscript is written anew after edits, and a pin moves a note's fret") {
    Evening e("desk_strings");
    e.play("loop-bars 1 2\nwait");
    REQUIRE(e.s().written.score);
    REQUIRE(e.s().written.fingering);
    REQUIRE_FALSE(e.s().manuscript == nullptr);
    CHECK(e.s().manuscript->covers.from <= e.s().look.from);
    CHECK(e.s().look.to <= e.s().manuscript->covers.to);
    // Each head begins just right of its time, 0.35 staff spaces: note 2 (bar 1, beat 2 at 120) is
    // at 1.5 s.
    double head_x = -1;
    for (const engraving::Mark& mark : e.s().manuscript->staff) {
        if (mark.part == engraving::Part::head && mark.note == NoteId{2} && head_x < 0)
            head_x = mark.box.left;
    }
    REQUIRE(head_x > 0);
    const double time =
        e.s().manuscript->from.value() + (head_x - 0.35) / e.s().manuscript->spaces_a_second;
    CHECK(std::abs(time - 1.5) < 0.01);

    // G4 (note 3) lies on strings 1 to 5 of a standard guitar with 22 frets: 3, 8, 12, 17, 22.
    e.play("pick 3\nstring 4\nwait");
    REQUIRE(e.s().draft.notes[2].pin);
    const int key = e.note(2).key.value();
    const FingeredNote* placed = e.s().written.fingering->of(NoteId{3});
    REQUIRE(placed != nullptr);
    REQUIRE(placed->spot);
    CHECK(placed->spot->string == 4);
    CHECK(placed->spot->fret == key - 50);  // string 4 is D3, MIDI 50
    e.play("step-string 1\nwait");
    CHECK(e.s().written.fingering->of(NoteId{3})->spot->string == 3);
    e.play("step-string -1\nwait");
    CHECK(e.s().written.fingering->of(NoteId{3})->spot->string == 4);
    CHECK(e.s().done.size() == 3);
    e.play("any-string");
    CHECK_FALSE(e.s().draft.notes[2].pin);
    e.play("string 6");  // the low E string would need fret 27
    CHECK(e.refused());
    while (!e.s().done.empty())
        e.play("undo");
    CHECK(e.s().draft == made_draft());
}

TEST_CASE("desk: grace notes are left out where the time that they stand in has no room for them") {
    Evening e("desk_graces");
    // Sixteenths over bar 1 at 120, each slid into from two frets below.
    for (int i = 0; i < 12; ++i) {
        const double from = 1.0 + 0.125 * i;
        e.play("add " + std::to_string(from) + " " + std::to_string(from + 0.1) + " " +
               std::to_string(64 + i % 5) + "\nslide-in -2");
    }
    struct Seen {
        std::size_t graces = 0, on_heads = 0;
    };
    const auto seen = [&] {
        Seen found;
        for (const engraving::Mark& grace : e.s().manuscript->staff) {
            if (grace.part != engraving::Part::grace) continue;
            ++found.graces;
            for (const engraving::Mark& head : e.s().manuscript->staff)
                found.on_heads +=
                    head.part == engraving::Part::head && head.box.overlaps(grace.box) ? 1 : 0;
        }
        return found;
    };
    e.play("loop-bars 1 1\nwait");
    REQUIRE(e.s().manuscript);
    CHECK(seen().graces >= 12);
    CHECK(seen().on_heads == 0);
    CHECK_FALSE(e.s().manuscript->thinned);
    e.play("loop-bars 1 4\nwait");
    REQUIRE(e.s().manuscript);
    CHECK(e.s().manuscript->thinned);
    CHECK(seen().on_heads == 0);
    // The score that is handed out has them all.
    std::size_t written = 0;
    for (const Measure& measure : e.s().written.score->measures)
        for (const Event& event : measure.events)
            written += event.head ? event.head->graces.size() : 0;
    CHECK(written >= 12);
}

TEST_CASE("desk: heads and frets that would touch make room for each other, near their time") {
    Evening e("desk_crowd");
    // Two beats of sextuplets over bar 1 at 120, a semitone up and down: an accidental at every
    // other.
    for (int i = 0; i < 12; ++i) {
        const double from = 1.0 + i / 12.0;
        e.play("add " + std::to_string(from) + " " + std::to_string(from + 0.06) + " " +
               std::to_string(64 + i % 2));
    }
    e.play("loop-bars 1 3\nwait");
    REQUIRE(e.s().manuscript);
    const ManuscriptLine& line = *e.s().manuscript;
    std::vector<const engraving::Mark*> heads;
    std::size_t touching = 0;
    for (const engraving::Mark& mark : line.staff) {
        if (mark.part != engraving::Part::head || !mark.note) continue;
        for (const engraving::Mark* other : heads)
            touching += mark.box.overlaps(other->box) ? 1 : 0;
        heads.push_back(&mark);
    }
    CHECK(heads.size() >= 12);
    CHECK(touching == 0);
    // As engraved they would stand a third of a space closer than their own width: none is farther
    // than a head and a half from its time.
    for (const engraving::Mark* head : heads) {
        const DraftNote* note = e.s().draft.notes.find(*head->note);
        REQUIRE(note);
        const double time = (note->note.onset - line.from).value() * line.spaces_a_second;
        CHECK(std::abs(head->box.left - 0.35 - time) < 2.0);
    }
}

TEST_CASE("desk: a dragged beat moves alone, and bar 1 is set over beats that stay") {
    Evening e("desk_beats");
    e.play("drag-beat 4 3.1");
    REQUIRE(e.s().draft.bars);
    CHECK(e.s().draft.bars->time_of(Beats(4)).value() == doctest::Approx(3.1));
    CHECK(e.s().draft.bars->time_of(Beats(3)).value() == doctest::Approx(2.5));
    CHECK(e.s().draft.bars->time_of(Beats(5)).value() == doctest::Approx(3.5));
    e.play("drag-beat 4 3.9");  // beyond its neighbour
    CHECK(e.refused());
    e.play("bar-one 3.05");  // the beat at 3.1 is nearest
    CHECK(e.s().draft.bars->time_of(Beats(0)).value() == doctest::Approx(3.1));
    CHECK(e.s().draft.bars->time_of(Beats(1)).value() == doctest::Approx(3.5));
    CHECK(e.s().done.size() == 2);
}

TEST_CASE("desk: taps are one step of the history, and many of them follow a tempo that breathes") {
    Evening e("desk_taps");
    std::string script;
    std::vector<double> taps;
    // Beats of 0.5 s that grow by 4 ms each; out of reach of the notes' onsets after a while.
    double t = 101.013;
    for (int i = 0; i < 24; ++i) {
        taps.push_back(t);
        script += "tap " + std::to_string(t) + "\n";
        t += 0.6 + 0.004 * i;
    }
    e.play("bar-one 101.0\n" + script);
    CHECK(e.s().done.size() == 2);
    REQUIRE(e.s().draft.bars);
    const BarMap& bars = *e.s().draft.bars;
    for (int i = 0; i < 24; ++i)
        CHECK(std::abs(bars.time_of(Beats(i)).value() - taps[static_cast<std::size_t>(i)]) < 1e-5);
    e.play("undo\nundo");
    CHECK(e.s().draft == made_draft());
}

TEST_CASE("desk: the spectrum of a tone is strongest in the row of its pitch") {
    Folder folder("desk_spectrum");
    REQUIRE(write_tones(folder / "tones.wav"));
    Desk desk({.sound = Sound::off, .remember = {}});
    desk.apply(intents::Open{(folder / "tones.wav").string()});
    desk.apply(intents::Wait{});
    desk.wait_for_work();
    desk.apply(intents::ShowSpectrum{true});
    desk.wait_for_work();
    REQUIRE(desk.state().heard.spectrum);
    const Spectrum& spectrum = *desk.state().heard.spectrum;
    // C4, E4, G4 from 0.5 s, a second apart.
    const int keys[] = {60, 64, 67};
    for (int n = 0; n < 3; ++n) {
        const auto column = static_cast<std::size_t>((0.8 + n) / spectrum.hop.value());
        int strongest = 0;
        for (int row = 0; row < spectrum_rows; ++row) {
            if (spectrum.level(column, row) > spectrum.level(column, strongest)) strongest = row;
        }
        const double key = spectrum_lowest_key + (strongest - 0.5) / spectrum_rows_a_key;
        CHECK(std::abs(key - keys[n]) < 0.6);
    }
}

TEST_CASE(
    "spectrum: the strongest of many columns is the same with blocks and without [brute force]") {
    Spectrum plain;
    plain.levels.resize(spectrum_rows * 203);
    for (std::size_t i = 0; i < plain.levels.size(); ++i)
        plain.levels[i] = static_cast<std::uint8_t>((i * 2654435761U) >> 26);
    const Spectrum blocks = with_blocks(plain);
    for (const auto& [from, to] : {std::pair<std::size_t, std::size_t>{0, 203},
                                   {31, 97},
                                   {64, 96},
                                   {5, 6},
                                   {100, 100},
                                   {190, 203}}) {
        for (const int row : {0, 17, spectrum_rows - 1}) {
            std::uint8_t most = 0;
            for (std::size_t c = from; c < to; ++c)
                most = std::max(most, plain.level(c, row));
            CHECK(blocks.strongest(from, to, row) == most);
            CHECK(plain.strongest(from, to, row) == most);
        }
    }
}
