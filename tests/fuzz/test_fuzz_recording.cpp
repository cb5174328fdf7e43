// fuzz: damaged sound files are refused or read, and never crash, leak, hang or give what is no
// sound. Under -DBENTLINE_SANITIZE=address,undefined it also sees bad memory accesses and leaks.
#include <cmath>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "engine/recording/fingerprint.h"
#include "engine/recording/recording.h"
#include "tests/fuzz/mutate.h"
#include "tests/recording/sound_files.h"

using namespace bentline;
using namespace bentline::testing;

// Opening some damaged OGG files leaks one vorbis_info each inside the decoding libraries
// (libvorbis 1.3.7, libsndfile 1.2.0); our own leaks still count. Read by the leak sanitizer alone.
extern "C" const char* __lsan_default_suppressions();  // NOLINT(bugprone-reserved-identifier)
extern "C" const char* __lsan_default_suppressions() {
    return "leak:vorbis_info_init\n";
}

namespace {

// A damaged header may promise hours; more than this is not read.
constexpr Frames most_frames{50000};

// What must hold for any bytes whatever. Returns whether the file opened.
bool survives(const std::filesystem::path& path) {
    const auto opened = Recording::open(path);
    if (!opened) {
        CHECK_FALSE(opened.failure().sentence.empty());
        CHECK(opened.failure().place.path == path.string());
        return false;
    }
    const RecordingInfo& info = opened->info();
    CHECK(info.frames > Frames(0));
    CHECK((info.channels == 1 || info.channels == 2));
    CHECK(lowest_rate <= info.rate);
    CHECK(info.rate <= highest_rate);
    CHECK(fingerprint(*opened).ok());
    const Frames end = std::min(info.frames, most_frames);
    const Frames middle(end.value() / 2);
    for (const FramesRange range :
         {FramesRange{Frames(0), end}, {middle, end}, {info.frames - Frames(1), info.frames}}) {
        const auto audio = opened->read(range);
        if (!audio) {
            CHECK_FALSE(audio.failure().sentence.empty());
            CHECK(audio.failure().kind != FailureKind::gone);
            continue;
        }
        CHECK(audio->length() == range.to - range.from);
        bool sound = true;
        for (const auto& channel : audio->channels) {
            for (const float x : channel)
                sound = sound && std::fabs(x) <= largest_sample;
        }
        CHECK(sound);
    }
    return true;
}

}  // namespace

TEST_CASE("fuzz: thousands of damaged files of every format") {
    const Folder folder;
    constexpr int variants = 250;  // a format: 2750 in all
    for (const Form& form : all_forms()) {
        CAPTURE(std::string(form.name));
        write_sound(folder / "whole", form.format, lively(16000, 2, 4000));
        const std::string whole = bytes_of(folder / "whole");
        REQUIRE(survives(folder / "whole"));
        int opened = 0;
        for (int seed = 0; seed < variants; ++seed) {
            CAPTURE(seed);
            Dice dice(static_cast<std::uint64_t>(seed));
            put_bytes(folder / "damaged", mutated(whole, dice));
            if (survives(folder / "damaged")) ++opened;
        }
        // The mutations must reach past the front door and still do harm.
        CHECK(opened < variants);
    }
}

TEST_CASE("fuzz: files of nothing but noise behind the first bytes of each format") {
    const Folder folder;
    for (const Form& form : all_forms()) {
        CAPTURE(std::string(form.name));
        write_sound(folder / "whole", form.format, lively(16000, 1, 2000));
        const std::string whole = bytes_of(folder / "whole");
        for (const std::size_t kept : {4U, 12U, 40U, 64U, 200U}) {
            CAPTURE(kept);
            Dice dice(kept);
            std::string bytes = whole.substr(0, kept);
            for (int i = 0; i < 3000; ++i)
                bytes += static_cast<char>(dice.whole(0, 255));
            put_bytes(folder / "damaged", bytes);
            survives(folder / "damaged");
        }
    }
}

TEST_CASE("fuzz: every short beginning of a file") {
    const Folder folder;
    for (const Form& form : all_forms()) {
        CAPTURE(std::string(form.name));
        write_sound(folder / "whole", form.format, lively(16000, 1, 2000));
        const std::string whole = bytes_of(folder / "whole");
        for (std::size_t length = 1; length < 120; length += 3) {
            CAPTURE(length);
            put_bytes(folder / "damaged", whole.substr(0, length));
            CHECK_FALSE(survives(folder / "damaged"));
        }
    }
}
