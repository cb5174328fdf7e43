// overview: every bin is the lowest, highest and root mean square of exactly its frames.
#include <algorithm>
#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include "engine/recording/overview.h"
#include "tests/recording/sound_files.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

// The bin of frames [from, to), by the definition.
OverviewBin by_hand(const std::vector<float>& x, std::size_t from, std::size_t to) {
    OverviewBin bin{x[from], x[from], 0.0F};
    double squares = 0.0;
    for (std::size_t i = from; i < to; ++i) {
        bin.lowest = std::min(bin.lowest, x[i]);
        bin.highest = std::max(bin.highest, x[i]);
        squares += static_cast<double>(x[i]) * x[i];
    }
    bin.rms = static_cast<float>(std::sqrt(squares / static_cast<double>(to - from)));
    return bin;
}

void check_level(const OverviewLevel& level, const Audio& audio, std::size_t first,
                 std::size_t last) {
    const auto size = static_cast<std::size_t>(level.frames_a_bin.value());
    REQUIRE(level.channels.size() == audio.channels.size());
    REQUIRE(level.bins() == (last - first + size - 1) / size);
    for (std::size_t c = 0; c < level.channels.size(); ++c) {
        for (std::size_t b = 0; b < level.bins(); ++b) {
            const std::size_t from = first + b * size;
            const OverviewBin want = by_hand(audio.channels[c], from, std::min(from + size, last));
            const OverviewBin& have = level.channels[c][b];
            CHECK(have.lowest == want.lowest);
            CHECK(have.highest == want.highest);
            // Coarser levels add mean squares that were rounded to float, once a level.
            CHECK(have.rms == doctest::Approx(want.rms).epsilon(1e-5));
        }
    }
}

}  // namespace

TEST_CASE("overview: every bin of every level is what its frames give by the definition") {
    for (const std::size_t frames : {1U, 255U, 256U, 257U, 10000U, 65536U}) {
        CAPTURE(frames);
        const Audio audio = lively(44100, 2, frames);
        const Overview overview = make_overview(audio);
        CHECK(overview.frames == Frames(static_cast<std::int64_t>(frames)));
        CHECK(overview.levels.back().bins() == 1);
        for (std::size_t l = 0; l < overview.levels.size(); ++l) {
            CHECK(overview.levels[l].frames_a_bin == Frames(overview_finest_frames << l));
            check_level(overview.levels[l], audio, 0, frames);
        }
    }
}

TEST_CASE("overview: a file gives the same as its sound in memory") {
    const Folder folder;
    const Audio audio = lively(44100, 2, 300001);
    write_sound(folder / "a.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, audio);
    const auto recording = Recording::open(folder / "a.wav");
    REQUIRE(recording.ok());
    const auto from_file = make_overview(*recording);
    REQUIRE(from_file.ok());
    const Overview from_memory = make_overview(audio);
    REQUIRE(from_file->levels.size() == from_memory.levels.size());
    for (std::size_t l = 0; l < from_memory.levels.size(); ++l) {
        CHECK(from_file->levels[l].channels == from_memory.levels[l].channels);
    }
}

TEST_CASE("overview: a constant and a sine have the levels that theory gives") {
    Audio audio{SampleRate(48000), Frames(0), {std::vector<float>(65536, -0.5F)}};
    const OverviewBin constant = make_overview(audio).levels.back().channels[0][0];
    CHECK(constant == OverviewBin{-0.5F, -0.5F, 0.5F});
    for (std::size_t i = 0; i < audio.channels[0].size(); ++i) {
        // 64 whole cycles: the root mean square of a sine is its peak over the root of two.
        audio.channels[0][i] =
            static_cast<float>(std::sin(2.0 * std::numbers::pi * static_cast<double>(i) / 1024));
    }
    const OverviewBin sine = make_overview(audio).levels.back().channels[0][0];
    CHECK(sine.rms == doctest::Approx(std::sqrt(0.5)).epsilon(1e-5));
    CHECK(sine.highest == doctest::Approx(1.0));
    CHECK(sine.lowest == doctest::Approx(-1.0));
}

TEST_CASE("overview: the level for a view has enough bins, and no more than twice as many") {
    const Overview overview = make_overview(lively(8000, 1, 200000));
    const FramesRange all{Frames(0), overview.frames};
    for (const std::size_t bins : {1U, 10U, 97U, 390U}) {
        const OverviewLevel& level = overview.level_for(all, bins);
        const double there = 200000.0 / static_cast<double>(level.frames_a_bin.value());
        CHECK(there >= static_cast<double>(bins));
        CHECK(there < 2.0 * static_cast<double>(bins) + 1.0);
    }
    CHECK(&overview.level_for(all, 100000) == &overview.levels.front());
}

TEST_CASE("overview: the finest level stays within its bound for hours") {
    const Folder folder;
    const std::filesystem::path path = folder / "long.wav";
    // 40 minutes of 48 kHz in a file that is a hole behind its header.
    const std::uint64_t frames = 40ULL * 60 * 48000;
    const std::uint64_t bytes = frames * 2;
    write_sound(path, SF_FORMAT_WAV | SF_FORMAT_PCM_16, lively(48000, 1, 100));
    std::string head = bytes_of(path).substr(0, 44);
    for (std::size_t i = 0; i < 4; ++i) {
        head[4 + i] = static_cast<char>((bytes + 36) >> (8 * i) & 0xFF);
        head[40 + i] = static_cast<char>(bytes >> (8 * i) & 0xFF);
    }
    put_bytes(path, head);
    std::filesystem::resize_file(path, bytes + 44);
    const auto recording = Recording::open(path);
    REQUIRE(recording.ok());
    double last = -1.0;
    Work work;
    work.progress = [&](double share) { last = share; };
    const auto overview = make_overview(*recording, work);
    REQUIRE(overview.ok());
    CHECK(last == 1.0);
    CHECK(overview->levels.front().bins() <= overview_most_bins);
    CHECK(overview->levels.front().frames_a_bin == Frames(512));  // 256 would need 450000 bins

    std::stop_source stop;
    stop.request_stop();
    const auto stopped = make_overview(*recording, Work{{}, stop.get_token()});
    REQUIRE_FALSE(stopped.ok());
    CHECK(stopped.failure().kind == FailureKind::stopped);
}
