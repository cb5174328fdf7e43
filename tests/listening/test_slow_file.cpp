// slowing files: length, content, progress, stopping, clips at several speeds, NaN in the file.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <stop_token>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <sndfile.h>
#include <unistd.h>

#include "engine/listening/practice_clips.h"
#include "engine/listening/slow_file.h"
#include "engine/listening/stretcher.h"
#include "tests/listening/signals.h"
#include "tests/support/folder.h"

using namespace bentline;
using namespace bentline::test;
namespace fs = std::filesystem;

namespace {

constexpr SampleRate cd{44100};

// Written by libsndfile itself, not by our own writer.
fs::path write_float(const fs::path& path, const std::vector<float>& mono) {
    SF_INFO info{};
    info.samplerate = 44100;
    info.channels = 1;
    info.format = SF_FORMAT_WAV | SF_FORMAT_FLOAT;
    SNDFILE* f = sf_open(path.c_str(), SFM_WRITE, &info);
    REQUIRE(f != nullptr);
    sf_write_float(f, mono.data(), static_cast<sf_count_t>(mono.size()));
    sf_close(f);
    return path;
}

std::vector<float> tone(std::size_t frames) {
    std::vector<float> x(frames);
    add_tone(x, cd, 440.0, 0.3);
    return x;
}

}  // namespace

TEST_CASE(
    "slow file: the same as slowing it in memory, to the step of 24 bit, progress never falling") {
    const testing::Folder folder("slow");
    const auto in = tone(100000);
    const auto recording = Recording::open(write_float(folder / "in.wav", in));
    REQUIRE(recording.ok());
    std::vector<double> shares;
    Work work;
    work.progress = [&](double s) { shares.push_back(s); };
    const FramesRange range{Frames(20000), Frames(70001)};
    REQUIRE(slow_file(*recording, range, 0.5, Cents(30), folder / "out.wav", work).ok());
    Audio part{cd, Frames(0), {std::vector<float>(in.begin() + 20000, in.begin() + 70001)}};
    const auto wanted = slow_down(part, 0.5, Cents(30));
    REQUIRE(wanted.ok());
    const auto out = Recording::open(folder / "out.wav");
    REQUIRE(out.ok());
    const auto got = out->read_all();
    REQUIRE(got.ok());
    REQUIRE(got->length().value() == 100002);  // 50001 / 0.5
    double worst = 0.0;
    constexpr std::size_t fade = 221;  // 5 ms: an excerpt's ends fade
    for (std::size_t i = fade; i < 100002 - fade; ++i) {
        worst = std::max(
            worst, std::abs(static_cast<double>(got->channels[0][i] - wanted->channels[0][i])));
    }
    CHECK(worst <= std::exp2(-23) * 1.01);
    REQUIRE(shares.size() > 5);
    for (std::size_t i = 1; i < shares.size(); ++i)
        CHECK(shares[i] >= shares[i - 1]);
    CHECK(shares.back() == 1.0);
}

TEST_CASE(
    "slow file: an excerpt fades where it was cut, not at the recording's ends, not at speed 1") {
    const testing::Folder folder("slow");
    const std::vector<float> in(44100, 0.5F);  // a constant: any cut is a step of 0.5
    const auto recording = Recording::open(write_float(folder / "in.wav", in));
    REQUIRE(recording.ok());
    const auto slowed = [&](FramesRange range, double speed) {
        const fs::path out = folder / "out.wav";
        REQUIRE(slow_file(*recording, range, speed, Cents(0), out).ok());
        return Recording::open(out)->read_all()->channels[0];
    };
    const auto steepest = [](const std::vector<float>& x, std::size_t from, std::size_t to) {
        float most = std::abs(from == 0 ? x[0] : x[from] - x[from - 1]);
        for (std::size_t i = from + 1; i < to; ++i)
            most = std::max(most, std::abs(x[i] - x[i - 1]));
        return most;
    };
    // The steepest step of a raised cosine of 5 ms (220.5 frames) to 0.5: 0.5 pi / 2 / 220.
    const float gentle = 0.5F * 1.5708F / 220.0F * 1.01F;
    const auto middle = slowed({Frames(10000), Frames(20000)}, 0.5);
    REQUIRE(middle.size() == 20000);
    CHECK(steepest(middle, 0, 400) < gentle);
    CHECK(steepest(middle, 19600, 20000) < gentle);
    CHECK(std::abs(middle.back()) < gentle);
    CHECK(std::abs(middle[10000] - 0.5F) < 0.005F);
    CHECK(slowed({Frames(0), Frames(44100)}, 0.5)[0] > 0.45F);
    const auto exact = slowed({Frames(10000), Frames(20000)}, 1.0);
    CHECK(exact == std::vector<float>(10000, 0.5F));
}

TEST_CASE("slow file: a sample that is no number is named and leaves no file behind") {
    const testing::Folder folder("slow");
    auto in = tone(50000);
    in[31234] = std::nanf("");
    const auto recording = Recording::open(write_float(folder / "in.wav", in));
    REQUIRE(recording.ok());
    const auto done =
        slow_file(*recording, recording->info().whole(), 0.5, Cents(0), folder / "out.wav");
    REQUIRE_FALSE(done.ok());
    CHECK(done.failure().kind == FailureKind::bad_samples);
    CHECK_FALSE(fs::exists(folder / "out.wav"));
}

TEST_CASE("slow file: stopped, it leaves no file behind") {
    const testing::Folder folder("slow");
    const auto recording = Recording::open(write_float(folder / "in.wav", tone(50000)));
    REQUIRE(recording.ok());
    std::stop_source stop;
    stop.request_stop();
    const auto done = slow_file(*recording, recording->info().whole(), 0.5, Cents(0),
                                folder / "out.wav", Work{{}, stop.get_token()});
    REQUIRE_FALSE(done.ok());
    CHECK(done.failure().kind == FailureKind::stopped);
    CHECK_FALSE(fs::exists(folder / "out.wav"));
}

TEST_CASE("practice clips: one bar at three speeds, each of its own length") {
    const testing::Folder folder("slow");
    const auto recording = Recording::open(write_float(folder / "in.wav", tone(120000)));
    REQUIRE(recording.ok());
    const auto clips =
        write_clips(*recording, {Frames(10000), Frames(54100)}, {}, folder / "clips", "bar-9");
    REQUIRE(clips.ok());
    REQUIRE(clips->size() == 3);
    const std::vector<std::string> names = {"bar-9-50.wav", "bar-9-75.wav", "bar-9-100.wav"};
    const std::vector<std::int64_t> lengths = {88200, 58800, 44100};
    for (std::size_t i = 0; i < 3; ++i) {
        CHECK((*clips)[i].filename() == names[i]);
        const auto clip = Recording::open((*clips)[i]);
        REQUIRE(clip.ok());
        CHECK(clip->info().frames.value() == lengths[i]);
    }
    CHECK_FALSE(
        write_clips(*recording, {Frames(0), Frames(100)}, {{0.01}, Cents(0)}, folder.path(), "x")
            .ok());
}
