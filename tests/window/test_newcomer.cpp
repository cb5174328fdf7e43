// window: a newcomer's first evening, by keys and mouse alone, on the demo recording: loop a hard
// bar at half speed, measure a bend, ink four bars, hand out MIDI, leave, come back.
#include <cmath>
#include <filesystem>
#include <fstream>

#include <doctest/doctest.h>

#include "evening.h"
#include "headless.h"
#include "ui/window/desk.h"
#include "ui/window/layout.h"
#include "ui/window/page.h"

using namespace bentline;
using namespace bentline::window;

namespace {

// A desk and a screen: what the view asks for is carried out, as in the shell.
struct Player {
    Desk desk;
    Headless screen;
    int presses = 0;
    explicit Player(const fs::path& remember)
        : desk({.sound = Sound::off, .remember = remember, .journal = true}) {
        desk.set_bench_width(bench_width(1280, 720, 1));
    }
    const State& s() const { return desk.state(); }
    void carry_out(const std::vector<Intent>& asked) {
        for (const Intent& intent : asked)
            desk.apply(intent);
        desk.tick();
    }
    void key(const char* stroke, int times = 1) {
        for (int i = 0; i < times; ++i) {
            carry_out(screen.stroke(s(), stroke));
            ++presses;
        }
    }
    void wait() {
        desk.wait_for_work();
        screen.frame(s());
    }
    Axes axes() const {
        return {lay_out(1280, 720, 1, shows_manuscript(s())).grid, s().look, s().rows};
    }
};

}  // namespace

TEST_CASE("newcomer: the first screen offers the demo, by a word and by a key") {
    Headless h;
    const State nothing;
    h.frame(nothing);
    CHECK(h.stroke(nothing, "f3") == std::vector<Intent>{intents::OpenDemo{}});
    CHECK(fs::exists(demo_recording()));
    const Box grid = lay_out(1280, 720, 1).grid;
    // The word stands in the middle of the grid, under two lines of help.
    const auto asked = h.press(nothing, grid.mid_x(), grid.mid_y() - 40 + 88);
    CHECK(those<intents::OpenDemo>(asked).size() == 1);
}

TEST_CASE(
    "newcomer: loop a bar at half speed, measure a bend, ink four bars, hand out, come back") {
    Folder folder("newcomer");
    for (const char* ending : {".flac", ".beats.json", ".chords.txt"}) {
        fs::path from = demo_recording();
        from.replace_extension(ending);
        fs::copy_file(from, folder.path() / from.filename());
    }
    const fs::path recording = folder.path() / demo_recording().filename();
    const fs::path remember = folder / "window.json";
    const fs::path midi = folder / "solo.mid";
    std::size_t inked = 0;
    {
        Player p(remember);
        p.desk.apply(intents::Open{recording.string()});
        p.wait();
        REQUIRE(p.s().open);
        REQUIRE(p.s().draft.bars);
        REQUIRE(p.s().draft.notes.size() > 100);
        REQUIRE(p.s().draft.chords.size() == 32);

        // Bar 7 in a loop, at half speed.
        p.key("home");
        for (int i = 0; i < 12 && p.s().draft.bars->position_at(p.s().play.at).bar < 7; ++i)
            p.key("pagedown");
        p.key("l");
        const SecondsRange bar7 = p.s().draft.bars->bar_span(7);
        REQUIRE(p.s().play.loop);
        CHECK(std::abs((p.s().play.loop->from - bar7.from).value()) < 0.001);
        CHECK(std::abs((p.s().play.loop->to - bar7.to).value()) < 0.001);
        p.key("-", 6);
        CHECK(p.s().play.speed == doctest::Approx(0.5));

        // The first wide bend, measured along the line.
        const Bend* bend = nullptr;
        p.key("home");
        for (int i = 0; i < 400 && bend == nullptr; ++i) {
            p.key("right");
            const DraftNote* note = p.s().picked();
            REQUIRE(note != nullptr);
            const Bend* found = find<Bend>(note->note);
            if (found != nullptr && found->size.value() > 80 && !found->prebend) bend = found;
            if (note->id == p.s().draft.notes[p.s().draft.notes.size() - 1].id) break;
        }
        REQUIRE(bend != nullptr);
        const double size = bend->size.value();
        const SecondsRange span{p.s().picked()->note.onset, p.s().picked()->note.offset};
        const Axes a = p.axes();
        const float y = a.box.y0 + 3;  // the uppermost row: no note lies there
        p.carry_out(p.screen.drag(p.s(), a.x(span.from), y, a.x(span.to), y));
        REQUIRE(p.s().measured);
        REQUIRE(p.s().measured->spread);
        // The line spans about what the bend rises: within a quarter tone.
        CHECK(std::abs(p.s().measured->spread->value() - size) < 50);
        p.key("escape");

        // Other bends of the demo, dragged over along the line from their note's beginning to just
        // before its end: what the line rises, against the truth that the demo was made with
        // (last_tram_to_oddervik.notes.json; its plain notes hold it to 3 c). To 10 c: the line
        // follows the guitar through a band.
        const auto by_hand = [&](double from, double to) {
            p.desk.apply(intents::ShowSpan{Seconds(from - 0.5), Seconds(to + 0.5)});
            const Axes axes = p.axes();
            const float top = axes.box.y0 + 3;
            p.carry_out(p.screen.drag(p.s(), axes.x(Seconds(from)), top, axes.x(Seconds(to)), top));
            REQUIRE(p.s().measured);
            REQUIRE(p.s().measured->moved);
            return *p.s().measured;
        };
        CHECK(std::abs(by_hand(7.985, 8.485).moved->value() - 100) < 10);
        CHECK(std::abs(by_hand(10.752, 11.131).moved->value() - 50) < 10);
        CHECK(std::abs(by_hand(11.63, 11.999).moved->value() - 50) < 10);
        CHECK(std::abs(by_hand(22.832, 23.471).moved->value() + 200) < 10);  // let down
        CHECK(std::abs(by_hand(52.204, 52.846).moved->value() - 50) < 10);
        // And let down again. A spread goes by the single highest and lowest moment, and a stroke
        // of the band may pull one by ten cents more.
        CHECK(std::abs(by_hand(44.001, 44.817).spread->value() - 200) < 20);
        // A wide vibrato: 4.67 Hz, 45 c once it has grown, over its last two thirds.
        const Measured shaken = by_hand(56.1, 56.77);
        REQUIRE(shaken.vibrato_rate);
        CHECK(std::abs(shaken.vibrato_rate->value() / 4.668 - 1) < 0.05);
        CHECK(std::abs(shaken.vibrato_depth->value() - 45) < 9);
        p.key("escape");

        // Bars 7 to 10 into ink.
        p.desk.apply(intents::GoTo{bar7.from + Seconds(0.1)});
        p.key("l");
        p.key("shift+]", 12);
        p.key("shift+i");
        const SecondsRange four{bar7.from, p.s().draft.bars->bar_span(10).to};
        for (const DraftNote& note : p.s().draft.notes) {
            if (four.contains(note.note.onset)) CHECK(note.inked());
            inked += note.inked() ? 1 : 0;
        }
        REQUIRE(inked > 8);

        // A fret is moved to another string by key, and the rest flows around it.
        p.wait();
        REQUIRE(p.s().written.fingering);
        p.key("right");
        p.key("alt+up");
        REQUIRE(p.s().picked() != nullptr);
        CHECK(p.s().picked()->pin);
        p.wait();
        const FingeredNote* placed = p.s().written.fingering->of(p.s().picked()->id);
        REQUIRE(placed != nullptr);
        REQUIRE(placed->spot);
        CHECK(placed->spot->string == p.s().picked()->pin->string);

        p.key("h");
        p.key("m");
        CHECK(p.s().chooser.purpose == Purpose::midi);
        p.desk.apply(intents::HandOut{midi.string(), false, false});
        p.wait();
        CHECK(fs::exists(midi));
        p.key("ctrl+s");
        p.wait();
        CHECK_FALSE(p.s().unsaved);
        p.key("ctrl+q");
        CHECK(p.s().leaving);
        MESSAGE("key presses of the whole run: ", p.presses);
    }
    std::ifstream in(midi, std::ios::binary);
    std::string head(4, '\0');
    in.read(head.data(), 4);
    CHECK(head == "MThd");  // [SMF 1.0]

    Player again(remember);
    fs::path draft = recording;
    draft.replace_extension(".bentline");
    REQUIRE(again.s().remembered.recent.front() == draft.string());
    again.desk.apply(intents::Open{draft.string()});
    again.wait();
    std::size_t still_inked = 0, pinned = 0;
    for (const DraftNote& note : again.s().draft.notes) {
        still_inked += note.inked() ? 1 : 0;
        pinned += note.pin ? 1 : 0;
    }
    CHECK(still_inked == inked);
    CHECK(pinned == 1);
    CHECK_FALSE(again.s().kept);
    // Where he was: four bars in the loop.
    REQUIRE(again.s().play.loop);
    CHECK(again.s().draft.bars->position_at(again.s().play.loop->from + Seconds(0.01)).bar == 7);
    CHECK(again.s().manuscript);
}
