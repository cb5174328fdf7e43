// recording: every format opens, says what it is, and gives an excerpt that equals the whole.
#include <atomic>
#include <filesystem>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <sys/resource.h>

#include "engine/recording/recording.h"
#include "tests/recording/sound_files.h"

using namespace bentline;
using namespace bentline::testing;
namespace fs = std::filesystem;

namespace {

constexpr int layer_three = SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III;

Recording open_now(const fs::path& path) {
    auto opened = Recording::open(path);
    const std::string why = opened ? "" : opened.failure().sentence;
    REQUIRE_MESSAGE(opened.ok(), why);
    return std::move(*opened);
}

Audio read_now(const Recording& recording, FramesRange range) {
    auto audio = recording.read(range);
    const std::string why = audio ? "" : audio.failure().sentence;
    REQUIRE_MESSAGE(audio.ok(), why);
    return std::move(*audio);
}

// How far an excerpt may be from the whole, as recording.h states it.
double excerpt_bound(const Form& form) {
    if (std::string(form.name) == "opus") return opus_excerpt_error;
    return std::string(form.name) == "mp3" ? mpeg_excerpt_error : 0.0;
}

// The largest difference between excerpts all over the file, read in no order, and the whole.
double worst_excerpt(const fs::path& path, std::uint64_t seed) {
    const Recording recording = open_now(path);
    const std::int64_t frames = recording.info().frames.value();
    const Audio whole = read_now(recording, recording.info().whole());
    CHECK(whole.length() == recording.info().frames);
    Dice dice(seed);
    double worst = 0.0;
    for (int i = 0; i < 25; ++i) {
        const auto from = static_cast<std::int64_t>(dice.unit() * static_cast<double>(frames));
        const std::int64_t to = std::min(frames, from + dice.whole(1, 6000));
        const Audio part = read_now(recording, {Frames(from), Frames(to)});
        CHECK(part.start == Frames(from));
        CHECK(part.length() == Frames(to - from));
        for (std::size_t c = 0; c < part.channels.size(); ++c) {
            worst = std::max(worst, largest_difference(part.channels[c], whole.channels[c],
                                                       static_cast<std::size_t>(from)));
        }
    }
    return worst;
}

}  // namespace

TEST_CASE("recording: an excerpt equals the same span of the whole in every format") {
    const Folder folder;
    for (const Form& form : all_forms()) {
        for (const std::size_t channels : {1U, 2U}) {
            CAPTURE(std::string(form.name));
            CAPTURE(channels);
            const int rate = std::string(form.name) == "opus" ? 48000 : 44100;
            write_sound(folder / "a", form.format, lively(rate, channels, 200000));
            CHECK(worst_excerpt(folder / "a", 7) <= excerpt_bound(form));
        }
    }
}

TEST_CASE("recording: an excerpt equals the whole at the lowest and highest bit rates") {
    const Folder folder;
    for (const Form& form : all_forms()) {
        if (form.exact || std::string(form.name) == "wav 8") continue;
        for (const double compression : {0.0, 1.0}) {
            for (const int rate : {16000, 24000, 48000}) {
                CAPTURE(std::string(form.name));
                CAPTURE(compression);
                CAPTURE(rate);
                write_sound(folder / "a", form.format, lively(rate, 2, 150000),
                            {compression, -1, {}});
                CHECK(worst_excerpt(folder / "a", 8) <= excerpt_bound(form));
            }
        }
    }
}

TEST_CASE("recording: lossless formats give back what was written, to half a step") {
    const Folder folder;
    const Audio source = lively(44100, 2, 50000);
    for (const Form& form : all_forms()) {
        if (!form.exact) continue;
        CAPTURE(std::string(form.name));
        write_sound(folder / "a", form.format, source);
        const Recording recording = open_now(folder / "a");
        const Audio back = read_now(recording, recording.info().whole());
        REQUIRE(back.channels.size() == 2);
        REQUIRE(back.length() == source.length());
        // One step of 16 bit: half for rounding, and libsndfile writes to 32767 but reads by 32768.
        for (std::size_t c = 0; c < 2; ++c) {
            CHECK(largest_difference(back.channels[c], source.channels[c]) <= 1.0 / 32768);
        }
    }
}

TEST_CASE("recording: lossy formats keep rate, length and place of what was written") {
    const Folder folder;
    for (const Form& form : all_forms()) {
        if (form.exact) continue;
        CAPTURE(std::string(form.name));
        const int rate = 48000;
        const Audio source = lively(rate, 2, 100000);
        write_sound(folder / "a", form.format, source);
        const Recording recording = open_now(folder / "a");
        CHECK(recording.info().rate == SampleRate(rate));
        CHECK(recording.info().frames == source.length());
        const Audio back = read_now(recording, recording.info().whole());
        // Nothing shifted: what came back is most like what was written when laid frame on frame.
        const std::vector<float>& x = source.channels[0];
        const std::vector<float>& y = back.channels[0];
        double best = 0.0;
        int best_lag = -9999;
        for (int lag = -1200; lag <= 1200; ++lag) {
            double likeness = 0.0;
            for (std::size_t i = 40000; i < 60000; ++i) {
                likeness +=
                    static_cast<double>(x[i]) * y[i + static_cast<std::size_t>(lag + 1200) - 1200];
            }
            if (likeness > best) {
                best = likeness;
                best_lag = lag;
            }
        }
        CHECK(best_lag == 0);
    }
}

TEST_CASE("recording: formats are named in words") {
    const Folder folder;
    const std::vector<std::string> names = {"WAV, 16 bit",  "WAV, 24 bit",  "WAV, 32 bit float",
                                            "WAV, 8 bit",   "RF64, 16 bit", "AIFF, 16 bit",
                                            "FLAC, 16 bit", "FLAC, 24 bit", "OGG Vorbis",
                                            "Opus",         "MP3"};
    REQUIRE(names.size() == all_forms().size());
    for (std::size_t i = 0; i < names.size(); ++i) {
        write_sound(folder / "a", all_forms()[i].format, lively(48000, 1, 20000));
        const Recording recording = open_now(folder / "a");
        CHECK(recording.info().format == names[i]);
        CHECK(recording.info().file_channels == 1);
        CHECK(recording.info().note.empty());
    }
}

TEST_CASE("recording: rates from 8 to 192 kHz open, others are refused") {
    const Folder folder;
    for (const int rate : {8000, 11025, 22050, 44100, 88200, 96000, 176400, 192000}) {
        CAPTURE(rate);
        write_sound(folder / "a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, lively(rate, 1, 5000));
        CHECK(open_now(folder / "a.wav").info().rate == SampleRate(rate));
    }
    for (const int rate : {1, 7999, 192001, 384000, 2000000000}) {
        CAPTURE(rate);
        Audio odd = lively(8000, 1, 5000);
        odd.rate = SampleRate(rate);
        write_sound(folder / "a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, odd);
        const auto opened = Recording::open(folder / "a.wav");
        REQUIRE_FALSE(opened.ok());
        CHECK(opened.failure().kind == FailureKind::unsupported);
        CHECK(opened.failure().sentence.find(std::to_string(rate)) != std::string::npos);
    }
}

TEST_CASE("recording: an MP3 without a length header keeps its whole length") {
    const Folder folder;
    // Quiet first, then noisy: with a changing bit rate, a guess from the first frames is far off.
    Audio source = lively(44100, 1, 44100 * 12);
    for (std::size_t i = 0; i < 44100 * 4; ++i)
        source.channels[0][i] *= 0.001F;
    write_sound(folder / "a.mp3", layer_three, source, {0.9, SF_BITRATE_MODE_VARIABLE, {}});
    std::string bytes = bytes_of(folder / "a.mp3");
    const std::size_t tag = bytes.find("Xing");
    REQUIRE(tag != std::string::npos);
    REQUIRE(tag < 100);
    // The next frame begins with the same sync word; drop the first frame, which holds the tag.
    const std::size_t next = bytes.find(bytes.substr(0, 2), tag);
    REQUIRE(next != std::string::npos);
    put_bytes(folder / "b.mp3", bytes.substr(next));
    const Recording recording = open_now(folder / "b.mp3");
    // Whole MPEG frames of 1152: with the encoder's delay and padding, up to three more than
    // written.
    CHECK(recording.info().frames >= source.length());
    CHECK(recording.info().frames <= source.length() + Frames(3 * 1152));
    CHECK(recording.info().frames.value() % 1152 == 0);
    CHECK(worst_excerpt(folder / "b.mp3", 9) <= mpeg_excerpt_error);
}

TEST_CASE("recording: a FLAC that does not tell its length is counted") {
    const Folder folder;
    const Audio source = lively(44100, 2, 150000);
    write_sound(folder / "a.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, source);
    std::string bytes = bytes_of(folder / "a.flac");
    // RFC 9639 section 8.2: STREAMINFO begins at byte 8; its 36 bits of length end at byte 25.
    bytes[21] = static_cast<char>(bytes[21] & 0xF0);
    for (std::size_t i = 22; i < 26; ++i)
        bytes[i] = 0;
    put_bytes(folder / "a.flac", bytes);
    CHECK(open_now(folder / "a.flac").info().frames == source.length());
    CHECK(worst_excerpt(folder / "a.flac", 11) == 0.0);
}

TEST_CASE("recording: OGG Vorbis streams one behind the other are one recording") {
    const Folder folder;
    write_sound(folder / "a.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, lively(44100, 2, 90000, 1));
    // Streams in a chain need serial numbers of their own; libsndfile draws them by chance.
    write_sound(folder / "b.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, lively(44100, 2, 60000, 2));
    const std::string first = bytes_of(folder / "a.ogg");
    const std::string second = bytes_of(folder / "b.ogg");
    REQUIRE(first.substr(14, 4) != second.substr(14, 4));
    put_bytes(folder / "c.ogg", first + second);
    CHECK(open_now(folder / "c.ogg").info().frames == Frames(150000));
    CHECK(worst_excerpt(folder / "c.ogg", 12) == 0.0);
}

TEST_CASE("recording: an MP3 behind a long tag opens") {
    const Folder folder;
    const Audio source = lively(44100, 2, 60000);
    write_sound(folder / "a.mp3", layer_three, source);
    // ID3v2.3 with one padding of 200000 bytes; the size is written seven bits a byte.
    const int size = 200000;
    std::string tag = {'I', 'D', '3', 3, 0, 0};
    for (const int shift : {21, 14, 7, 0})
        tag += static_cast<char>((size >> shift) & 0x7F);
    tag += std::string(static_cast<std::size_t>(size), '\0');
    put_bytes(folder / "b.mp3", tag + bytes_of(folder / "a.mp3"));
    const Recording recording = open_now(folder / "b.mp3");
    CHECK(recording.info().frames == source.length());
    CHECK(worst_excerpt(folder / "b.mp3", 10) <= mpeg_excerpt_error);
}

TEST_CASE("recording: the same excerpt is the same bits, whatever was read before") {
    const Folder folder;
    for (const Form& form : all_forms()) {
        CAPTURE(std::string(form.name));
        write_sound(folder / "a", form.format, lively(48000, 2, 120000));
        const Recording recording = open_now(folder / "a");
        const FramesRange range{Frames(70000), Frames(75000)};
        const Audio first = read_now(recording, range);
        for (const std::int64_t before : {0, 60000, 69999, 115000}) {
            read_now(recording, {Frames(before), Frames(before + 1)});
            CHECK(read_now(recording, range).channels == first.channels);
        }
        read_now(recording,
                 {Frames(0), range.from});  // now the decoder stands where the range begins
        CHECK(read_now(recording, range).channels == first.channels);
        CHECK(read_now(open_now(folder / "a"), range).channels == first.channels);
    }
}

TEST_CASE("recording: blocks follow one another without a gap") {
    const Folder folder;
    for (const Form& form : all_forms()) {
        CAPTURE(std::string(form.name));
        write_sound(folder / "a", form.format, lively(48000, 2, 60000));
        const Recording recording = open_now(folder / "a");
        const FramesRange range{Frames(1234), Frames(50001)};
        const Audio at_once = read_now(recording, range);
        std::vector<float> joined;
        Frames next = range.from;
        const auto done = recording.read_blocks(range, Frames(777), [&](const Audio& block) {
            CHECK(block.start == next);
            next += block.length();
            joined.insert(joined.end(), block.channels[1].begin(), block.channels[1].end());
            return true;
        });
        REQUIRE(done.ok());
        CHECK(next == range.to);
        CHECK(joined == at_once.channels[1]);
    }
}

TEST_CASE("recording: progress rises to one, and a stop is heeded") {
    const Folder folder;
    write_sound(folder / "a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, lively(44100, 1, 500000));
    const Recording recording = open_now(folder / "a.wav");
    double last = 0.0;
    bool falling = false;
    Work work;
    work.progress = [&](double share) {
        falling = falling || share < last;
        last = share;
    };
    REQUIRE(recording.read_all(work).ok());
    CHECK(last == 1.0);
    CHECK_FALSE(falling);

    std::stop_source stop;
    Work stopped{[&](double share) {
                     last = share;
                     if (share > 0.3) stop.request_stop();
                 },
                 stop.get_token()};
    const auto result = recording.read_all(stopped);
    REQUIRE_FALSE(result.ok());
    CHECK(result.failure().kind == FailureKind::stopped);
    CHECK(last < 0.6);
    CHECK(recording.read_all().ok());  // and it still works afterwards
}

TEST_CASE("recording: an excerpt outside the recording is refused, an empty one is empty") {
    const Folder folder;
    write_sound(folder / "a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, lively(44100, 1, 1000));
    const Recording recording = open_now(folder / "a.wav");
    for (const FramesRange range : {FramesRange{Frames(-1), Frames(10)},
                                    {Frames(0), Frames(1001)},
                                    {Frames(10), Frames(5)},
                                    {Frames(2000), Frames(2000)}}) {
        const auto result = recording.read(range);
        REQUIRE_FALSE(result.ok());
        CHECK(result.failure().kind == FailureKind::out_of_range);
    }
    CHECK(read_now(recording, {Frames(1000), Frames(1000)}).length() == Frames(0));
    CHECK(read_now(recording, {Frames(999), Frames(1000)}).length() == Frames(1));
}

TEST_CASE("recording: three hours open by excerpt, without being loaded") {
    const Folder folder;
    const fs::path path = folder / "long.wav";
    const Audio minute = lively(48000, 2, 48000);
    write_sound(path, SF_FORMAT_WAV | SF_FORMAT_PCM_16, minute);
    // The header of three hours, and a file with a hole in place of the sound.
    const std::uint64_t bytes = 3ULL * 3600 * 48000 * 4;
    std::string head = bytes_of(path).substr(0, 44);
    REQUIRE(head.substr(36, 4) == "data");
    for (std::size_t i = 0; i < 4; ++i) {
        head[4 + i] = static_cast<char>((bytes + 36) >> (8 * i) & 0xFF);
        head[40 + i] = static_cast<char>(bytes >> (8 * i) & 0xFF);
    }
    put_bytes(path, head);
    fs::resize_file(path, bytes + 44);
    rusage before{};
    getrusage(RUSAGE_SELF, &before);
    const Recording recording = open_now(path);
    CHECK(recording.info().duration().value() == 3.0 * 3600);
    const Frames two_hours(2LL * 3600 * 48000);
    const Audio part = read_now(recording, {two_hours, two_hours + Frames(48000)});
    CHECK(part.length() == Frames(48000));
    rusage after{};
    getrusage(RUSAGE_SELF, &after);
    constexpr long most_kb = 65536;  // the whole would be 4 GB as float
    CHECK(after.ru_maxrss - before.ru_maxrss < most_kb);
}
