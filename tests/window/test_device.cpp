// desk: sound on ALSA's file device, as on a real one: that it comes out, and a device that goes
// away and comes back while a loop plays. What it is, to the sample, is heard without a device in
// test_session_heard.cpp.
#include <array>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <thread>

#include <doctest/doctest.h>
#include <fcntl.h>
#include <signal.h>
#include <sys/stat.h>
#include <unistd.h>

#include "evening.h"
#include "file_device.h"
#include "tests/listening/jack_server.h"
#include "tones.h"

using namespace bentline;
using namespace bentline::window;

namespace {

struct Loudness {
    double left = 0.0, right = 0.0;  // root of the mean square, full scale 1
};

// What comes out over the last second when a loop is played with this balance.
std::optional<Loudness> heard(double balance, bool apart) {
    Folder folder("device_sides");
    REQUIRE(write_tones(folder / "tones.wav"));
    const fs::path raw = folder / "heard.raw";
    make_device(folder, "bentline_sides", raw);
    {
        Desk desk({.sound = Sound::device, .remember = {}, .journal = false});
        if (!ready(desk, folder, "bentline_sides")) return {};
        desk.apply(intents::SetLevel{Decibels(-6)});
        desk.apply(intents::SetBalance{balance});
        desk.apply(intents::HearApart{apart});
        desk.apply(intents::LoopOver{Seconds(0.2), Seconds(3.8)});
        desk.apply(intents::PlayStop{});
        const auto enough = [&] {
            std::error_code error;
            const auto bytes = fs::file_size(raw, error);
            return !error && bytes > 44100U * 4U * 6U;
        };
        CHECK(tick_until(desk, enough));
    }
    unsetenv("ALSA_CONFIG_PATH");
    std::ifstream in(raw, std::ios::binary);
    std::vector<std::int16_t> samples(44100 * 2 * 6);
    in.read(reinterpret_cast<char*>(samples.data()),
            static_cast<std::streamsize>(samples.size() * 2));
    Loudness l;
    const std::size_t from = samples.size() / 3;
    for (std::size_t i = from; i + 1 < samples.size(); i += 2) {
        l.left += std::pow(samples[i] / 32768.0, 2);
        l.right += std::pow(samples[i + 1] / 32768.0, 2);
    }
    const double count = static_cast<double>(samples.size() - from) / 2;
    return Loudness{std::sqrt(l.left / count), std::sqrt(l.right / count)};
}

}  // namespace

TEST_CASE("device: what is played comes out of it, on the side where it was put") {
    const auto recording = heard(0.0, true);
    if (!recording) return;
    CHECK(recording->left > 0.003);
    CHECK(recording->right < 0.0005);
}

TEST_CASE("device: it goes away and comes back; the player is told, nothing is lost, it plays on") {
    // A pipe whose reader goes is a device that was unplugged; its name is then free for a plain
    // file: it is plugged in again.
    Folder folder("device_gone");
    REQUIRE(write_tones(folder / "tones.wav"));
    const fs::path pipe = folder / "pipe";
    REQUIRE(mkfifo(pipe.c_str(), 0600) == 0);
    make_device(folder, "bentline_gone", pipe);
    signal(SIGPIPE, SIG_IGN);
    std::atomic<bool> plugged{true};
    std::thread reader([&] {
        const int fd = open(pipe.c_str(), O_RDONLY | O_NONBLOCK);
        std::array<char, 4096> bytes{};
        while (plugged.load()) {
            if (read(fd, bytes.data(), bytes.size()) <= 0)
                std::this_thread::sleep_for(std::chrono::milliseconds(5));
        }
        close(fd);
    });
    {
        Desk desk({.sound = Sound::device, .remember = {}, .journal = false});
        const State& s = desk.state();
        if (ready(desk, folder, "bentline_gone")) {
            desk.apply(intents::LoopOver{Seconds(0.2), Seconds(3.8)});
            desk.apply(intents::SetSpeed{0.5});
            desk.apply(intents::PlayStop{});
            REQUIRE(s.play.playing);
            CHECK(tick_until(desk, [&] { return s.play.at > Seconds(0.4); }));
            fs::remove(pipe);
            plugged.store(false);
            CHECK(tick_until(desk, [&] { return !s.play.trouble.empty(); }));
            REQUIRE(s.notice);
            CHECK(s.notice->sentence.find("sound device is gone") != std::string::npos);
            CHECK(s.play.playing);
            // Work goes on meanwhile.
            desk.apply(intents::Pick{1});
            desk.apply(intents::InkOn{});
            CHECK(s.draft.notes[0].inked());
            CHECK(tick_until(desk, [&] { return s.play.trouble.empty(); }));
            REQUIRE(s.notice);
            CHECK(s.notice->sentence == "The sound device is back");
            const Seconds then = s.play.at;
            const std::int64_t round = s.play.round;
            CHECK(tick_until(desk, [&] {
                return s.play.playing && (s.play.at > then + Seconds(0.1) || s.play.round > round);
            }));
            CHECK(s.play.speed == doctest::Approx(0.5));
            REQUIRE(s.play.loop);
            CHECK(s.play.loop->to.value() == doctest::Approx(3.8));
            CHECK(s.draft.notes[0].inked());
        }
    }
    plugged.store(false);
    reader.join();
    unsetenv("ALSA_CONFIG_PATH");
}

TEST_CASE("device: a sound server that dies is told in one sentence, and another output goes on") {
    if (!test::installed("jackd")) {
        MESSAGE("skipped: jackd is not installed (Debian: jackd2)");
        return;
    }
    Folder folder("device_server");
    REQUIRE(write_tones(folder / "tones.wav"));
    make_device(folder, "bentline_other", folder / "heard.raw");
    const std::string server = "bentdesk" + std::to_string(getpid());
    setenv("JACK_DEFAULT_SERVER", server.c_str(), 1);
    setenv("JACK_NO_AUDIO_RESERVATION", "1", 1);
    test::JackServer jack(server);
    Desk desk({.sound = Sound::device, .remember = {}, .journal = false});
    const State& s = desk.state();
    desk.apply(intents::Open{(folder / "tones.wav").string()});
    desk.wait_for_work();
    const auto listed = [&](const std::string& part) {
        desk.apply(intents::Show{Overlay::none});
        desk.apply(intents::Show{Overlay::practice});
        for (const std::string& one : s.play.devices) {
            if (one.find(part) != std::string::npos) return one;
        }
        return std::string();
    };
    std::string name;
    REQUIRE(tick_until(desk, [&] { return !(name = listed("JACK")).empty(); }));
    const std::string other = listed("bentline_other");
    desk.apply(intents::ChooseDevice{name});
    desk.apply(intents::LoopOver{Seconds(0.2), Seconds(3.8)});
    desk.apply(intents::PlayStop{});
    REQUIRE(s.play.playing);
    CHECK(tick_until(desk, [&] { return s.play.at > Seconds(0.4); }));
    jack.stop();
    CHECK(tick_until(desk, [&] { return !s.play.trouble.empty(); }));
    const std::string first = s.notice ? s.notice->sentence : "";
    CHECK(first.find("sound device is gone") != std::string::npos);
    // A server that ended is held on to: that, too, is said, and no frame waits for it.
    double slowest_tick = 0.0;
    CHECK(tick_until(desk, [&] {
        const auto begin = std::chrono::steady_clock::now();
        desk.tick();
        const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begin;
        slowest_tick = std::max(slowest_tick, took.count());
        return s.notice && s.notice->sentence != first;
    }));
    // PortAudio would hold on for ten minutes; a busy machine may take a second from anybody.
    CHECK(slowest_tick < 20.0);
    CHECK(s.notice->sentence.find("Choose another output") != std::string::npos);
    CHECK(s.play.playing);
    if (other.empty()) {
        MESSAGE("skipped: switching, as this machine's PortAudio lists no ALSA devices");
    } else {
        desk.apply(intents::ChooseDevice{other});
        CHECK(s.play.trouble.empty());
        CHECK(s.notice->sentence.find("bentline_other") != std::string::npos);
        const Seconds then = s.play.at;
        const std::int64_t round = s.play.round;
        CHECK(tick_until(desk, [&] {
            return s.play.playing && (s.play.at > then + Seconds(0.1) || s.play.round > round);
        }));
        CHECK(fs::file_size(folder / "heard.raw") > 0);
    }
    unsetenv("ALSA_CONFIG_PATH");
    unsetenv("JACK_DEFAULT_SERVER");
}
