// devices: the player on ALSA's file device and on a JACK dummy server, as on real ones.
#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <optional>
#include <string>
#include <thread>

#include <doctest/doctest.h>
#include <fcntl.h>
#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "engine/listening/player.h"
#include "tests/listening/jack_server.h"
#include "tests/listening/signals.h"
#include "tests/support/folder.h"

using namespace bentline;
using namespace bentline::test;
namespace fs = std::filesystem;

namespace {

constexpr SampleRate cd{44100};

// Waits for what should come at once: so long only because a busy machine may hold it up.
bool wait_for(const std::function<bool()>& what) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(30);
    while (!what()) {
        if (std::chrono::steady_clock::now() > until) return false;
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    return true;
}

std::shared_ptr<const Audio> noise(std::size_t frames) {
    Audio a = made(cd, 2, frames);
    add_noise(a.channels[0], 0.2, 21);
    add_noise(a.channels[1], 0.2, 22);
    return std::make_shared<const Audio>(std::move(a));
}

std::string find_device(Player& player, const std::string& part) {
    for (const SoundDevice& d : player.devices()) {
        if (d.name.find(part) != std::string::npos) return d.name;
    }
    return {};
}

// From the order to play until sound has left the callback, seconds. The meter reads it there.
double key_to_sound(Player& player) {
    const Decibels silent(-150.0);
    REQUIRE(player.core().pause());
    REQUIRE(player.core().seek(Frames(1000)));
    REQUIRE(wait_for([&] { return player.core().status().peak < silent; }));
    const auto key = std::chrono::steady_clock::now();
    REQUIRE(player.core().play());
    std::chrono::duration<double> passed{0.0};
    while (player.core().status().peak < silent) {
        std::this_thread::sleep_for(std::chrono::microseconds(100));
        passed = std::chrono::steady_clock::now() - key;
        REQUIRE(passed.count() < 30.0);
    }
    return passed.count();
}

// Stops every thread of this process for a while, from outside.
void hold_this_program(unsigned microseconds) {
    const pid_t helper = fork();
    if (helper == 0) {
        const pid_t us = getppid();
        kill(us, SIGSTOP);
        usleep(microseconds);
        kill(us, SIGCONT);
        _exit(0);
    }
    waitpid(helper, nullptr, 0);
}

// Makes ALSA's file device of this name, which writes what it is given into a file, the one that is
// listed.
void make_device(const testing::Folder& folder, const std::string& name, const fs::path& into) {
    std::ofstream(folder / "asound.conf")
        << "</usr/share/alsa/alsa.conf>\n"
        << "pcm." << name << " { type plug slave { format S16_LE rate 44100 channels 2 pcm {\n"
        << "  type file format raw file \"" << into.string() << "\" slave.pcm null } } }\n";
    setenv("ALSA_CONFIG_PATH", (folder / "asound.conf").c_str(), 1);
    setenv("JACK_NO_START_SERVER", "1", 1);
}

// What such a device receives of a recording, left and right in turn; none where this machine's
// PortAudio lists no ALSA devices.
std::optional<std::vector<std::int16_t>> heard_on_device(const std::shared_ptr<const Audio>& audio,
                                                         Decibels level) {
    const testing::Folder folder("devices");
    const fs::path raw = folder / "heard.raw";
    make_device(folder, "bentline_file", raw);
    {
        Player player;
        const std::string name = find_device(player, "bentline_file");
        if (name.empty()) return std::nullopt;
        // Ordered before the device runs: this device takes sound as fast as it is made.
        REQUIRE(player.core().load(audio));
        REQUIRE(player.core().level(level));
        REQUIRE(player.core().play());
        PlayerSettings settings;
        settings.device = name;
        REQUIRE(player.open(settings, cd).ok());
        CHECK(player.state() == DeviceState::running);
        CHECK(player.core().device_rate() == cd);
        CHECK(wait_for([&] { return player.core().status().place.value() > 40000; }));
        player.close();
        CHECK(player.state() == DeviceState::closed);
    }
    unsetenv("ALSA_CONFIG_PATH");
    std::ifstream in(raw, std::ios::binary);
    std::vector<std::int16_t> heard(44100 * 4);
    in.read(reinterpret_cast<char*>(heard.data()), static_cast<std::streamsize>(heard.size() * 2));
    heard.resize(static_cast<std::size_t>(in.gcount()) / 2);
    return heard;
}

// How much of what was heard while it played is the recording at this level, 0 to 1: pieces of 500
// frames that lie somewhere in it, each after the one before, to within 3 steps of 16 bit. A device
// that is kept waiting leaves some out.
double share_found(const std::vector<std::int16_t>& heard, const Audio& audio, Decibels level) {
    constexpr std::size_t piece = 500;
    constexpr double near = 0.0001;
    const std::size_t frames = audio.channels[0].size();
    const auto lies_at = [&](std::size_t from, std::size_t place) {
        for (std::size_t i = 0; i < piece; ++i) {
            for (std::size_t c = 0; c < 2; ++c) {
                const double want =
                    static_cast<double>(audio.channels[c][place + i]) * amplitude(level);
                if (std::abs(heard[2 * (from + i) + c] / 32768.0 - want) > near) return false;
            }
        }
        return true;
    };
    std::size_t place = 0, found = 0, all = 0;
    for (std::size_t from = 0; 2 * (from + piece) <= heard.size(); from += piece, ++all) {
        std::size_t p = place;
        while (p + piece <= frames && !lies_at(from, p))
            ++p;
        if (p + piece > frames) continue;
        place = p + piece;
        ++found;
    }
    return all == 0 ? 0.0 : static_cast<double>(found) / static_cast<double>(all);
}

}  // namespace

TEST_CASE("devices: what ALSA's file device receives is the recording at the level set") {
    const auto audio = noise(44100 * 2);
    // What comes before it is silence, and it fades in.
    const auto heard = heard_on_device(audio, Decibels(-6));
    if (!heard) {
        MESSAGE("skipped: this machine's PortAudio lists no ALSA devices");
        return;
    }
    const double found = share_found(*heard, *audio, Decibels(-6));
    CAPTURE(found);
    CHECK(found > 0.3);
    CHECK(share_found(*heard, *audio, Decibels(-7)) < 0.01);
}

TEST_CASE("devices: an output that goes away is noticed, found again, and playing goes on") {
    // ALSA's file device writing into a pipe: when the reader goes, the device fails as an
    // unplugged one does. The pipe's name is then free for a plain file: the device is back.
    const testing::Folder folder("devices");
    const fs::path pipe = folder / "pipe";
    REQUIRE(mkfifo(pipe.c_str(), 0600) == 0);
    make_device(folder, "bentline_pipe", pipe);
    signal(SIGPIPE, SIG_IGN);
    std::atomic<bool> plugged{true};
    std::thread reader([&] {
        const int fd = open(pipe.c_str(), O_RDONLY | O_NONBLOCK);
        std::array<char, 4096> heard{};
        while (plugged.load()) {
            if (read(fd, heard.data(), heard.size()) <= 0) {
                std::this_thread::sleep_for(std::chrono::milliseconds(5));
            }
        }
        close(fd);
    });
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    {
        Player player;
        const std::string name = find_device(player, "bentline_pipe");
        if (name.empty()) {
            MESSAGE("skipped: this machine's PortAudio lists no ALSA devices");
        } else {
            REQUIRE(player.core().load(noise(44100 * 60)));
            REQUIRE(player.core().loop({Frames(0), Frames(44100 * 60)}));
            REQUIRE(player.core().play());
            PlayerSettings settings;
            settings.device = name;
            REQUIRE(player.open(settings, cd).ok());
            CHECK(wait_for([&] { return player.core().status().place.value() > 4410; }));
            fs::remove(pipe);
            plugged.store(false);
            CHECK(wait_for([&] { return player.poll() && player.state() == DeviceState::lost; }));
            const PlayerStatus lost = player.core().status();
            CHECK(
                wait_for([&] { return player.poll() && player.state() == DeviceState::running; }));
            CHECK(player.device() == name);
            CHECK(wait_for([&] {
                const PlayerStatus now = player.core().status();
                return now.playing &&
                       (now.place > lost.place + Frames(4410) || now.round > lost.round);
            }));
            player.close();
        }
    }
    plugged.store(false);
    reader.join();
    unsetenv("ALSA_CONFIG_PATH");
}

TEST_CASE(
    "devices: a JACK server: sound within 60 ms of the key, its end noticed, another chosen") {
    if (!installed("jackd")) {
        MESSAGE("skipped: jackd is not installed (Debian: jackd2)");
        return;
    }
    const std::string server = "bentline" + std::to_string(getpid());
    setenv("JACK_DEFAULT_SERVER", server.c_str(), 1);
    setenv("JACK_NO_AUDIO_RESERVATION", "1", 1);
    const testing::Folder folder("devices");
    make_device(folder, "bentline_file", folder / "heard.raw");
    JackServer jack(server);
    Player player;
    std::string name;
    REQUIRE(wait_for([&] {
        name = find_device(player, "system");
        return !name.empty();
    }));
    PlayerSettings settings;
    settings.device = name;
    const auto opened = player.open(settings, cd);
    REQUIRE_MESSAGE(opened.ok(), (opened.ok() ? "" : opened.failure().sentence));
    REQUIRE(player.core().load(noise(44100 * 60)));
    REQUIRE(player.core().loop({Frames(0), Frames(44100 * 60)}));
    REQUIRE(player.core().play());
    CHECK(wait_for([&] { return player.core().status().place.value() > 4410; }));
    // The least of five, and where the machine is busy with something else of up to fifty.
    double least = 1.0;
    for (int i = 0; i < 5 || (i < 50 && least + player.output_latency().value() >= 0.060); ++i)
        least = std::min(least, key_to_sound(player));
    MESSAGE("from the key to sound leaving the callback: "
            << 1000.0 * least << " ms, then " << 1000.0 * player.output_latency().value()
            << " ms in the device");
    CHECK(least + player.output_latency().value() < 0.060);
    // This program is held for 0.3 s, as a busy machine might hold it: the server counts on.
    const std::int64_t underruns = player.core().status().underruns;
    hold_this_program(300000);
    CHECK(wait_for([&] { return player.core().status().underruns > underruns; }));
    CHECK_FALSE(player.poll());  // it is still there, and goes on
    const PlayerStatus held = player.core().status();
    CHECK(wait_for([&] { return player.core().status().place > held.place; }));

    const std::string other = find_device(player, "bentline_file");
    jack.stop();
    // Far from the ten minutes that PortAudio would wait for it.
    CHECK(wait_for([&] { return player.poll() && player.state() == DeviceState::lost; }));
    player.poll();
    const PlayerStatus lost = player.core().status();
    if (other.empty()) {
        MESSAGE("skipped: switching, as this machine's PortAudio lists no ALSA devices");
        return;
    }
    // Another output is chosen: playing goes on there from where it was.
    settings.device = other;
    const auto switched = player.open(settings, cd);
    REQUIRE_MESSAGE(switched.ok(), (switched.ok() ? "" : switched.failure().sentence));
    CHECK(player.state() == DeviceState::running);
    CHECK(player.device() == other);
    CHECK(wait_for([&] {
        const PlayerStatus now = player.core().status();
        return now.playing && (now.place > lost.place + Frames(4410) || now.round > lost.round);
    }));
    player.close();
    unsetenv("ALSA_CONFIG_PATH");
}

TEST_CASE(
    "devices: outputs that were looked for beforehand are there, and a player may go at once") {
    Player plain, prepared;
    prepared.prepare();
    prepared.prepare();
    const auto names = [](Player& player) {
        std::vector<std::string> all;
        for (const SoundDevice& d : player.devices())
            all.push_back(d.name);
        return all;
    };
    const std::vector<std::string> found = names(prepared);
    CHECK(found == names(plain));
    CHECK(prepared.state() == DeviceState::closed);
    Player brief;
    brief.prepare();
}

TEST_CASE("devices: a device that is not there is refused with what to do") {
    Player player;
    PlayerSettings settings;
    settings.device = "ALSA: no such output";
    const auto opened = player.open(settings, cd);
    REQUIRE_FALSE(opened.ok());
    CHECK(opened.failure().kind == FailureKind::no_device);
    CHECK(opened.failure().sentence.find("choose another") != std::string::npos);
}
