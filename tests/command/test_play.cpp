// command: a draft played into a file, and explained.
#include <cmath>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "engine/draft/draft_file.h"
#include "engine/recording/recording.h"
#include "tests/command/program.h"
#include "tests/draft/drafts.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::testing;
using nlohmann::json;

namespace {

constexpr SampleRate rate{48000};

// Two seconds of a quiet stereo tone at 48 kHz, and a draft of three inked notes over it, at 120 a
// minute from 0 s.
void make_draft(const Workplace& folder, bool inked = true) {
    const auto tone = sine(Hertz(220.0), Seconds(2.0), rate, 0.1);
    folder.write_wav("solo.wav", stereo_of(tone, tone, rate));
    Draft d;
    d.title = "Low & <slow>";
    d.recording = refer_to(folder.path("solo.wav")).value();
    d.bars = BarMap::constant(Tempo(120.0), Seconds(0.0)).value();
    d = pencil(std::move(d), {note(0.5, 0.9, 60), note(1.0, 1.4, 64), note(1.5, 2.4, 67)}).value();
    if (inked) {
        std::vector<DraftNote> notes(d.notes.begin(), d.notes.end());
        for (DraftNote& n : notes)
            n.state = NoteState::inked;
        d.notes = NoteList::make(std::move(notes)).value();
    }
    REQUIRE(save_draft(d, folder.path("solo.bentline")).ok());
}

double rms(const Audio& a, std::size_t channel, double from, double to) {
    double sum = 0.0;
    const auto first = static_cast<std::size_t>(from * a.rate.value());
    const auto last = static_cast<std::size_t>(to * a.rate.value());
    for (std::size_t i = first; i < last; ++i)
        sum += static_cast<double>(a.channels[channel][i]) * a.channels[channel][i];
    return std::sqrt(sum / static_cast<double>(last - first));
}

Audio read(const Workplace& folder, const std::string& name) {
    return Recording::open(folder.path(name))->read_all().value();
}

}  // namespace

TEST_CASE("command: play writes the draft at the recording's rate, its times the recording's") {
    Workplace folder;
    make_draft(folder);
    REQUIRE(folder.run("play solo.bentline --as-wav d.wav").code == 0);
    const Audio d = read(folder, "d.wav");
    CHECK(d.rate == rate);
    CHECK(d.channels.size() == 1);
    CHECK(d.duration() >= Seconds(2.4));  // the draft's end
    CHECK(rms(d, 0, 0.0, 0.49) < 1e-5);
    CHECK(rms(d, 0, 0.5, 0.6) > 0.01);
    // Bar 1, beat 3 is at 1 s; half speed doubles the length.
    REQUIRE(folder.run("play solo.bentline --as-wav h.wav --speed 0.5 --from 1:3 --to 1.5 --plain")
                .code == 0);
    const Audio h = read(folder, "h.wav");
    CHECK(h.length() == Frames(48000));
    CHECK(rms(h, 0, 0.0, 0.1) > 0.01);
}

TEST_CASE("command: play beside the recording: together, apart, and past its end") {
    Workplace folder;
    make_draft(folder);
    REQUIRE(folder.run("play solo.bentline --as-wav b.wav --with-recording --apart").code == 0);
    const Audio b = read(folder, "b.wav");
    CHECK(b.channels.size() == 2);
    // Left: a sine of peak 0.1, 0.0707 RMS. Right: silent before the first note.
    CHECK(std::abs(rms(b, 0, 0.1, 1.9) - 0.0707) < 0.0005);
    CHECK(rms(b, 1, 0.0, 0.49) < 1e-5);
    CHECK(rms(b, 1, 0.5, 0.7) > 0.01);
    CHECK(rms(b, 0, 2.05, 2.3) < 1e-5);  // the recording is over, the draft is not
    CHECK(rms(b, 1, 2.05, 2.3) > 1e-4);
    REQUIRE(folder.run("play solo.bentline --as-wav r.wav --with-recording --balance 0").code == 0);
    const Audio r = read(folder, "r.wav");
    CHECK(std::abs(rms(r, 0, 0.1, 1.9) - 0.0707) < 0.0005);
}

TEST_CASE("command: play and lesson say what is wrong, and leave nothing behind") {
    Workplace folder;
    make_draft(folder);
    folder.write("words.bentline", "these are words");
    const std::size_t files = folder.files();
    struct Case {
        std::string line;
        int code;
        std::string named;
    };
    for (const Case& c : std::vector<Case>{
             {"play none.bentline --as-wav d.wav", 1, "none.bentline"},
             {"play words.bentline --as-wav d.wav", 1, "words.bentline"},
             {"play solo.bentline --as-wav nowhere/d.wav", 1, "nowhere"},
             {"play solo.bentline --as-wav d.wav --from 2 --to 1", 1, "--from"},
             {"play solo.bentline --as-wav d.wav --from 99", 1, "--from"},
             {"play solo.bentline --as-wav d.wav --from x", 1, "x"},
             {"play solo.bentline --as-wav d.wav --to 1e9", 1, "--to 1e9"},
             {"play solo.bentline --as-wav d.wav --to 1e300", 1, "--to 1e300"},
             {"play solo.bentline --as-wav d.wav --to 9999:1", 1, "--to 9999:1"},
             {"play solo.bentline --as-wav d.wav --speed 3", 2, "--help"},
             {"play solo.bentline --as-wav d.wav --balance 0.5", 2, "--help"},
             {"play --as-wav d.wav", 2, "--help"},
             {"lesson none.bentline --out l.html", 1, "none.bentline"},
             {"lesson words.bentline --out l.json", 1, "words.bentline"},
             {"lesson solo.bentline --out nowhere/l.html", 1, "nowhere"},
             {"lesson solo.bentline --out l.docx", 1, "l.docx"},
             {"lesson solo.bentline --from 9:1 --to 11:1", 1, "no note begins from 9:1 to 11:1"},
             {"export solo.bentline --midi m.mid --from 9:1", 1, "no note begins from 9:1"},
             {"bars solo.bentline --bar-one 99999", 1, "an hour away"},
             {"bars solo.bentline --insert-bar 100000", 1, "past the end"},
             {"bars solo.bentline --drop-bar 0", 1, "before bar 1"},
         }) {
        CAPTURE(c.line);
        const Outcome o = folder.run(c.line);
        CHECK(o.code == c.code);
        CHECK(o.error_lines() == 1);
        CHECK_MESSAGE(o.err.find(c.named) != std::string::npos, o.err);
        CHECK(folder.files() == files);
    }
    std::filesystem::remove(folder.path("solo.wav"));
    const Outcome gone = folder.run("play solo.bentline --as-wav d.wav --with-recording");
    CHECK(gone.code == 1);
    CHECK(gone.err.find("solo.wav") != std::string::npos);
    CHECK(folder.run("play solo.bentline --as-wav d.wav").code == 0);  // alone it can
}

TEST_CASE("command: without a sound device, one line says so") {
    Workplace folder;
    make_draft(folder);
    const Outcome o = folder.run("play solo.bentline --from 0 --to 0.1 --quiet");
    if (o.code == 0) {
        MESSAGE("skipped: there is a sound device");
        return;
    }
    CHECK(o.code == 1);
    CHECK(o.error_lines() == 1);
    CHECK(o.err.find("--as-wav") != std::string::npos);
}

TEST_CASE("command: what is only pencilled is played and explained, and said so") {
    Workplace folder;
    make_draft(folder, false);
    const Outcome p = folder.run("play solo.bentline --as-wav d.wav");
    CHECK(p.code == 0);
    CHECK(p.err.find("pencilled") != std::string::npos);
    const Outcome l = folder.run("lesson solo.bentline --out l.json");
    CHECK(l.code == 0);
    const json j = json::parse(folder.text_of("l.json"));
    CHECK(j.at("notes") == 3);
    CHECK(j.at("which") == "inked and pencilled");
}

TEST_CASE("command: lesson writes a sheet and its figures") {
    Workplace folder;
    make_draft(folder);
    REQUIRE(folder.run("lesson solo.bentline --out l.html").code == 0);
    const std::string html = folder.text_of("l.html");
    CHECK(html.find("Low &amp; &lt;slow&gt;") != std::string::npos);
    CHECK(html.find("bar 1") != std::string::npos);
    REQUIRE(folder.run("lesson solo.bentline --out l.json --quiet").code == 0);
    const json j = json::parse(folder.text_of("l.json"));
    CHECK(j.at("lowest_midi") == 60);
    CHECK(j.at("highest_midi") == 67);
    CHECK(j.at("phrases").size() == 1);
}
