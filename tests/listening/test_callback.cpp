// callback: a scripted session on two threads; nothing allocated, freed or locked in the callback.
#include <array>
#include <atomic>
#include <cmath>
#include <cstdlib>
#include <memory>
#include <mutex>
#include <thread>

#include <doctest/doctest.h>

#include "engine/listening/player_core.h"
#include "tests/listening/guard.h"
#include "tests/listening/signals.h"

using namespace bentline;
using namespace bentline::test;

namespace {

std::shared_ptr<const Audio> music(SampleRate rate, int channels) {
    Audio a = made(rate, channels, static_cast<std::size_t>(rate.value()) * 2);
    for (auto& c : a.channels) {
        add_tone(c, rate, 220.0, 0.2);
        add_noise(c, 0.01, 5);
        for (std::size_t i = 3000; i < c.size(); i += 9000)
            c[i] += 0.5F;  // attacks
    }
    return std::make_shared<const Audio>(std::move(a));
}

// What a player does in an evening, each step after a few blocks.
void session(PlayerCore& core, int step) {
    switch (step) {
        case 0:
            core.load(music(SampleRate(44100), 2));
            break;
        case 1:
            core.play();
            break;
        case 2:
            core.speed(0.5);
            break;
        case 3:
            core.loop({Frames(20000), Frames(40000)});
            break;
        case 4:
            core.retune(Cents(-35));
            break;
        case 5:
            core.focus({Pitch(52), Pitch(76), 0.0, 0.5});
            break;
        case 6:
            core.loop({Frames(20000), Frames(20700)});
            break;
        case 7:
            core.seek(Frames(60000));
            break;
        case 8:
            core.focus_off();
            break;
        case 9:
            core.trainer({0.5, 0.1, 1, 1.0});
            break;
        case 10:
            core.loop_off();
            break;
        case 11:
            core.pause();
            break;
        case 12:
            core.play({2, HeardSeconds(0.05)});
            break;
        case 13:
            core.retune(Cents(0));
            break;
        case 14:
            core.speed(1.0);
            break;
        case 15:
            core.load(music(SampleRate(22050), 1));
            break;  // resampled to the device, mono
        case 16:
            core.play();
            break;
        case 17:
            core.speed(0.25);
            break;
        case 18:
            core.level(Decibels(12));
            break;
        case 19:
            core.load(
                std::make_shared<const Audio>(part_of(*music(SampleRate(44100), 2), 10000, 40000)));
            break;
        case 20:
            core.play();
            break;
        case 21:
            core.extend(music(SampleRate(44100), 2));
            break;
        default:
            break;
    }
}
constexpr int steps = 22;

}  // namespace

TEST_CASE("callback: the guard itself counts") {
    if (!Guard::counts()) {
        MESSAGE("skipped: a sanitizer owns the allocator");
        return;
    }
    const long before = Guard::allocations();
    const long locks = Guard::locks();
    {
        const Guard guard;
        void* volatile raw = std::malloc(10);  // volatile: else the compiler leaves the pair out
        std::free(raw);
        auto p = std::make_unique<std::array<int, 9>>();
        static std::mutex m;
        const std::lock_guard<std::mutex> lock(m);
        CHECK(p->size() == 9);
    }
    CHECK(Guard::allocations() - before >= 3);
    CHECK(Guard::locks() - locks >= 1);
}

TEST_CASE("callback: no step of a session allocates, frees or locks in process()") {
    PlayerCore core(SampleRate(44100));
    std::array<float, 256> l{};
    std::array<float, 256> r{};
    const std::array<float*, 2> out = {l.data(), r.data()};
    const long allocations = Guard::allocations();
    const long locks = Guard::locks();
    bool finite = true;
    for (int step = 0; step < steps; ++step) {
        session(core, step);
        for (int block = 0; block < 40; ++block) {
            {
                const Guard guard;
                core.process(out, 256);
            }
            for (const float x : l)
                finite = finite && std::isfinite(x);
        }
    }
    CHECK(finite);
    CHECK(Guard::allocations() == allocations);
    CHECK(Guard::locks() == locks);
}

namespace {

// A sound device's thread: it calls for blocks until it is unplugged.
class Device {
  public:
    explicit Device(PlayerCore& core)
        : thread_([this, &core] {
              std::array<float, 256> l{};
              std::array<float, 256> r{};
              const std::array<float*, 2> out = {l.data(), r.data()};
              while (!unplugged_.load()) {
                  core.process(out, 256);
                  blocks_.fetch_add(1);
              }
          }) {}
    ~Device() { unplug(); }
    Device(const Device&) = delete;
    Device& operator=(const Device&) = delete;

    void wait_blocks(long n) const {
        const long until = blocks_.load() + n;
        while (blocks_.load() < until)
            std::this_thread::yield();
    }
    void unplug() {
        unplugged_.store(true);
        if (thread_.joinable()) thread_.join();
    }

  private:
    std::atomic<bool> unplugged_{false};
    std::atomic<long> blocks_{0};
    std::thread thread_;  // last: it uses the others
};

}  // namespace

TEST_CASE("callback: a session on two threads (run it under the thread sanitizer)") {
    PlayerCore core(SampleRate(44100));
    Device device(core);
    std::int64_t last = 0;
    for (int step = 0; step < steps; ++step) {
        session(core, step);
        core.count_underrun();
        device.wait_blocks(20);
        const PlayerStatus s = core.status();
        CHECK(s.underruns > last);
        last = s.underruns;
        core.collect();
    }
    device.unplug();
    CHECK(last == steps);
    CHECK(core.status().loaded);
}

TEST_CASE("callback: the device is lost and comes back at another rate (thread sanitizer too)") {
    // As the player does it: the old device's thread has ended, the rate is set, another thread
    // calls. Commands given in between are obeyed by the new one.
    PlayerCore core(SampleRate(44100));
    REQUIRE(core.load(music(SampleRate(44100), 2)));
    REQUIRE(core.loop({Frames(20000), Frames(60000)}));
    REQUIRE(core.speed(0.5));
    REQUIRE(core.play());
    std::int64_t last = 0;
    for (const int rate : {44100, 48000, 22050, 48000}) {
        core.set_device_rate(SampleRate(rate));
        core.set_output_latency(Frames(rate / 100));
        Device device(core);
        device.wait_blocks(30);
        const PlayerStatus s = core.status();
        CHECK(s.playing);
        CHECK(s.place >= Frames(20000));
        CHECK(s.place < Frames(60000));
        // It goes on from where it was, not from the loop's beginning.
        CHECK(s.place.value() + 40000 * s.round >= last - 2048);
        last = s.place.value() + 40000 * s.round;
        core.retune(Cents(rate == 48000 ? -20.0 : 0.0));
        device.unplug();
        core.speed(rate == 22050 ? 1.0 : 0.5);
    }
}
