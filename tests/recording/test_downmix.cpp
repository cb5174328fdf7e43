// downmix: more than two channels become two, by the standard where the seats are known.
#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include "engine/recording/downmix.h"
#include "engine/recording/recording.h"
#include "tests/recording/sound_files.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

constexpr double minus_3_db = 0.70710678;

// Each channel holds one constant of its own, so that the mix tells every weight.
Audio constants(int rate, const std::vector<float>& values) {
    Audio a{SampleRate(rate), Frames(0), {}};
    for (const float v : values)
        a.channels.emplace_back(4000, v);
    return a;
}

struct Mixed {
    double left;
    double right;
    RecordingInfo info;
};
Mixed mixed(const std::filesystem::path& path) {
    const auto recording = Recording::open(path);
    REQUIRE(recording.ok());
    const auto audio = recording->read_all();
    REQUIRE(audio.ok());
    REQUIRE(audio->channels.size() == 2);
    return {audio->channels[0][2000], audio->channels[1][2000], recording->info()};
}

}  // namespace

TEST_CASE("downmix: 5.1 in FLAC's order by ITU-R BS.775-3 annex 4 [RFC 9639 section 9.1.3]") {
    const Folder folder;
    write_sound(folder / "a.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24,
                constants(44100, {0.5F, 0.25F, 0.125F, 0.9F, 0.0625F, -0.375F}));
    const Mixed m = mixed(folder / "a.flac");
    const double scale = 1.0 / (1.0 + 2 * minus_3_db);  // keeps full scale within full scale
    CHECK(m.left == doctest::Approx(scale * (0.5 + minus_3_db * (0.125 + 0.0625))).epsilon(1e-5));
    CHECK(m.right == doctest::Approx(scale * (0.25 + minus_3_db * (0.125 - 0.375))).epsilon(1e-5));
    CHECK(m.info.channels == 2);
    CHECK(m.info.file_channels == 6);
    CHECK(m.info.note.find("6 channels mixed down to 2 by ITU-R BS.775") == 0);
    CHECK(m.info.note.find("low-frequency channel left out") != std::string::npos);
}

TEST_CASE("downmix: a WAV's own map is followed, whatever its order") {
    const Folder folder;
    WriteOptions options;
    options.channel_map = {SF_CHANNEL_MAP_LEFT, SF_CHANNEL_MAP_RIGHT, SF_CHANNEL_MAP_CENTER};
    write_sound(folder / "a.wav", SF_FORMAT_WAVEX | SF_FORMAT_FLOAT,
                constants(44100, {0.5F, 0.25F, 0.1F}), options);
    const Mixed m = mixed(folder / "a.wav");
    const double scale = 1.0 / (1.0 + minus_3_db);
    CHECK(m.left == doctest::Approx(scale * (0.5 + minus_3_db * 0.1)).epsilon(1e-5));
    CHECK(m.right == doctest::Approx(scale * (0.25 + minus_3_db * 0.1)).epsilon(1e-5));
}

TEST_CASE("downmix: without a map, the even average on both sides") {
    const Folder folder;
    write_sound(folder / "a.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT,
                constants(44100, {0.5F, 0.25F, 0.125F, 0.9F, 0.0625F}));
    const Mixed m = mixed(folder / "a.wav");
    CHECK(m.left == doctest::Approx((0.5 + 0.25 + 0.125 + 0.9 + 0.0625) / 5).epsilon(1e-5));
    CHECK(m.right == doctest::Approx(m.left));
    CHECK(m.info.note == "5 channels mixed down to 2, all of them evenly on both sides");
}

TEST_CASE("downmix: the order of Vorbis has the centre second [Vorbis I section 4.3.9]") {
    const Folder folder;
    // A tone in the second channel alone reaches both sides alike; one in the third only the right.
    for (const std::size_t sounding : {1U, 2U}) {
        Audio audio = lively(44100, 6, 30000);
        for (std::size_t c = 0; c < 6; ++c) {
            if (c != sounding) audio.channels[c].assign(30000, 0.0F);
        }
        write_sound(folder / "a.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, audio);
        const auto recording = Recording::open(folder / "a.ogg");
        REQUIRE(recording.ok());
        const auto back = recording->read_all();
        REQUIRE(back.ok());
        double left = 0.0;
        double right = 0.0;
        for (std::size_t i = 0; i < 30000; ++i) {
            left += std::fabs(back->channels[0][i]);
            right += std::fabs(back->channels[1][i]);
        }
        REQUIRE(right > 100.0);
        if (sounding == 1) CHECK(left == doctest::Approx(right).epsilon(0.02));
        if (sounding == 2) CHECK(left < 0.05 * right);
    }
}

TEST_CASE("downmix: no mix of full-scale channels leaves full scale") {
    using enum Seat;
    const std::vector<std::vector<Seat>> layouts = {
        {left, right, centre},
        {left, right, left_surround, right_surround},
        {left, right, centre, low, left_surround, right_surround},
        {left, right, centre, centre_surround, left_surround, right_surround, low},
        {centre, centre, centre},
        {low, low, low},
        {unknown, left, right},
    };
    for (const auto& layout : layouts) {
        const Downmix made = make_downmix(layout);
        REQUIRE(made.rows.size() == 2);
        for (const auto& row : made.rows) {
            double sum = 0.0;
            for (const float w : row) {
                CHECK(w >= 0.0F);
                sum += w;
            }
            CHECK(sum <= 1.00001);
            CHECK(sum > 0.0);
        }
    }
}

TEST_CASE("downmix: one and two channels stay as they are") {
    for (const std::size_t n : {1U, 2U}) {
        const Downmix made = make_downmix(std::vector<Seat>(n, Seat::unknown));
        CHECK(made.straight);
        CHECK(made.outputs() == n);
        CHECK(made.note.empty());
    }
}
