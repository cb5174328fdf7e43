// clips: a clip a line and a speed, named by bars, counted in.
#include <algorithm>
#include <cmath>
#include <filesystem>

#include <doctest/doctest.h>
#include <unistd.h>

#include "engine/export/clips.h"
#include "engine/export/handout.h"
#include "engine/recording/wav_file.h"
#include "tests/export/small_drafts.h"
#include "tests/support/folder.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::testing;
namespace fs = std::filesystem;

namespace {

std::vector<std::string> names(const std::vector<ClipPlan>& plans) {
    std::vector<std::string> found;
    for (const ClipPlan& p : plans)
        found.push_back(p.name);
    return found;
}

double peak(const Audio& audio, Seconds from, Seconds to) {
    double most = 0.0;
    const auto a = to_frames(from, audio.rate).value();
    const auto b = std::min(to_frames(to, audio.rate).value(), audio.length().value());
    for (auto i = a; i < b; ++i)
        most = std::max(
            most, std::abs(static_cast<double>(audio.channels[0][static_cast<std::size_t>(i)])));
    return most;
}

}  // namespace

TEST_CASE("clips: lines of four bars that begin with the sections, a pickup with its line") {
    Draft draft = in_four_four();
    draft.form = parse_form("A6B4").value();
    CHECK(names(plan_clips(draft, WhichNotes::inked)) ==
          std::vector<std::string>{"bars-01-04", "bars-05-06", "bars-07-10"});
    draft = inked(draft, {on_beat(-1, 0, 60), on_beat(42, 43, 62)});
    CHECK(names(plan_clips(draft, WhichNotes::inked)) ==
          std::vector<std::string>{"bars-00-04", "bars-05-06", "bars-07-10", "bars-11-11"});
    CHECK(plan_clips(in_four_four(), WhichNotes::inked).empty());
}

TEST_CASE("clips: without bars, phrases between pauses, named by the second") {
    Draft draft = inked(in_four_four(), {on_beat(0, 1, 60), on_beat(1, 2, 62), on_beat(6, 7, 64)});
    draft.bars.reset();
    const auto plans = plan_clips(draft, WhichNotes::inked);
    CHECK(names(plans) == std::vector<std::string>{"second-0001.00", "second-0004.00"});
    CHECK(plans[0].clicks.empty());
}

TEST_CASE("clips: four clicks at the clip's speed, then the bar line") {
    const Folder folder("clips");
    // Silence up to bar 1 (1 s), then a tone; 120 a minute: a beat is half a second.
    constexpr SampleRate rate{22050};
    std::vector<float> sound(22050, 0.0F);
    const auto tone = sine(Hertz(440.0), Seconds(9.0), rate, 0.5);
    sound.insert(sound.end(), tone.begin(), tone.end());
    REQUIRE(write_wav(folder / "take.wav", audio_of(std::move(sound), rate)).ok());
    Draft draft = inked(in_four_four(), {on_beat(0, 1, 69), on_beat(15, 16, 69)});
    draft.recording.path = (folder / "take.wav").string();
    Handout handout;
    handout.clips = folder / "clips";
    const auto made = hand_out(draft, handout);
    REQUIRE_MESSAGE(made.ok(), (made.ok() ? "" : made.failure().sentence));
    CHECK(made->at(0).what == "3 clips");
    for (const int percent : {50, 75, 100}) {
        CAPTURE(percent);
        const auto clip =
            Recording::open(folder / "clips" / ("bars-01-04-" + std::to_string(percent) + ".wav"));
        REQUIRE(clip.ok());
        const double speed = percent / 100.0;
        // Two seconds of counting, four bars of two seconds, a quarter beat of ring.
        CHECK(std::abs(clip->info().duration().value() - (2.0 + 8.0 + 0.125) / speed) < 0.001);
        const auto audio = clip->read_all();
        REQUIRE(audio.ok());
        for (int beat = 0; beat < 4; ++beat) {
            const Seconds at((0.5 * beat) / speed);
            const double click = peak(*audio, at, at + Seconds(0.02));
            CHECK(click > 0.05);
            CHECK(click <= amplitude(click_level) + 1e-6);
            CHECK(peak(*audio, at + Seconds(0.05), at + Seconds(0.4 / speed)) < 0.01);
        }
        // The tone begins on the bar line, within the stretcher's softening of a silent start.
        CHECK(peak(*audio, Seconds(2.0 / speed + 0.05), Seconds(2.2 / speed)) > 0.4);
    }
}

TEST_CASE("clips: a recording that is gone fails in a sentence, and nothing is left") {
    const Folder folder("clips");
    Draft draft = inked(in_four_four(), {on_beat(0, 1, 69)});
    draft.recording.path = (folder / "gone.wav").string();
    Handout handout;
    handout.midi = folder / "solo.mid";
    handout.clips = folder / "clips";
    const auto made = hand_out(draft, handout);
    REQUIRE_FALSE(made.ok());
    CHECK(made.failure().sentence.find("gone.wav") != std::string::npos);
    CHECK(fs::is_empty(folder.path()));
}
