// second source: it sounds at the recording's places, to the frame, whatever the player does.
#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <memory>
#include <thread>
#include <vector>

#include <doctest/doctest.h>

#include "engine/listening/player_core.h"
#include "engine/sound/draft_voice.h"
#include "tests/draft/drafts.h"
#include "tests/listening/guard.h"
#include "tests/listening/heard.h"
#include "tests/listening/signals.h"

using namespace bentline;
using namespace bentline::test;

namespace {

constexpr SampleRate cd{44100};
constexpr std::size_t block = heard_block;
const float level = static_cast<float>(amplitude(first_level));

// A frame of 0.5 wherever one of its marks is passed; counts what it is told and how many live.
class Marks final : public SecondSource {
  public:
    explicit Marks(std::vector<Seconds> marks, std::atomic<int>* alive = nullptr,
                   float height = 0.5F)
        : marks_(std::move(marks)), alive_(alive), height_(height) {
        if (alive_ != nullptr) ++*alive_;
    }
    ~Marks() override {
        if (alive_ != nullptr) --*alive_;
    }
    Marks(const Marks&) = delete;
    Marks& operator=(const Marks&) = delete;
    void set_rate(SampleRate) override {}
    void hush() override {}
    void render(PlaceInTime place, Cents, std::span<float> out) override {
        for (std::size_t i = 0; i < out.size(); ++i) {
            const Seconds at = place.at + place.a_frame * (static_cast<double>(i) + 1e-6);
            const Seconds before = at - place.a_frame;
            out[i] = 0.0F;
            for (const Seconds m : marks_) {
                if (before < m && m <= at) out[i] = height_;
            }
        }
    }

  private:
    std::vector<Seconds> marks_;
    std::atomic<int>* alive_;
    float height_;
};

// Its value everywhere: to see gains.
class Constant final : public SecondSource {
  public:
    void set_rate(SampleRate) override {}
    void hush() override {}
    void render(PlaceInTime, Cents, std::span<float> out) override {
        std::fill(out.begin(), out.end(), 0.25F);
    }
};

// Single frames of 0.4 at the places given, in a recording of three seconds.
std::shared_ptr<const Audio> clicks(const std::vector<std::int64_t>& frames) {
    Audio a = made(cd, 2, 44100 * 3);
    for (auto& c : a.channels) {
        for (const std::int64_t f : frames)
            c[static_cast<std::size_t>(f)] = 0.4F;
    }
    return std::make_shared<const Audio>(std::move(a));
}

// The frame of the largest sample near each of `count` separate clicks.
std::vector<std::size_t> peaks(const std::vector<float>& x, float above) {
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (std::abs(x[i]) < above) continue;
        const std::size_t end = std::min(x.size(), i + 2000);
        std::size_t best = i;
        for (std::size_t j = i; j < end; ++j) {
            if (std::abs(x[j]) > std::abs(x[best])) best = j;
        }
        found.push_back(best);
        i = end;
    }
    return found;
}

}  // namespace

TEST_CASE("second source: at speed 1 its mark and the recording's click are one frame") {
    PlayerCore core(cd);
    REQUIRE(core.load(clicks({30000, 52001})));
    REQUIRE(core.second(std::make_unique<Marks>(
        std::vector<Seconds>{to_seconds(Frames(30000), cd), to_seconds(Frames(52001), cd)})));
    REQUIRE(core.split(true));
    REQUIRE(core.balance(0.5));
    REQUIRE(core.play());
    Heard h;
    run(core, 240, h);
    const auto recording = peaks(h.left, 0.03F);
    const auto second = peaks(h.right, 0.03F);
    REQUIRE(recording.size() == 2);
    CHECK(recording == second);
    CHECK(recording[1] - recording[0] == 22001);
}

TEST_CASE("second source: slowed and hastened, click and mark stay within the clicks' bound") {
    // The stretcher keeps a click within 0.023 ms of its place at half speed (DEVELOPERS.md): one
    // frame; a mark is placed by whole frames. Two frames together, 0.05 ms: hearing's order limen
    // is 20 ms.
    for (const double speed : {0.25, 0.5, 0.75, 1.5}) {
        PlayerCore core(cd);
        REQUIRE(core.load(clicks({30000, 52001, 70003})));
        std::vector<Seconds> marks;
        for (const int f : {30000, 52001, 70003})
            marks.push_back(to_seconds(Frames(f), cd));
        REQUIRE(core.second(std::make_unique<Marks>(marks)));
        REQUIRE(core.split(true));
        REQUIRE(core.balance(0.5));
        REQUIRE(core.speed(speed));
        REQUIRE(core.play());
        Heard h;
        run(core, static_cast<std::size_t>(80000 / speed / block), h);
        const auto recording = peaks(h.left, 0.02F);
        const auto second = peaks(h.right, 0.03F);
        CAPTURE(speed);
        REQUIRE(recording.size() == 3);
        REQUIRE(second.size() == 3);
        for (std::size_t i = 0; i < 3; ++i) {
            CHECK(std::abs(static_cast<double>(recording[i]) - static_cast<double>(second[i])) <=
                  2.0);
        }
        const double apart = static_cast<double>(second[2] - second[0]);
        CHECK(std::abs(apart - 40003 / speed) <= 1.0);
    }
}

TEST_CASE("second source: a loop brings it round with the recording, seam and all") {
    // Marks on the loop's first frame and in its middle; the loop's length is no whole number of
    // blocks. The mark at the loop's end belongs to the next round.
    PlayerCore core(cd);
    REQUIRE(core.load(clicks({20000, 25000})));
    REQUIRE(core.second(std::make_unique<Marks>(
        std::vector<Seconds>{to_seconds(Frames(20000), cd), to_seconds(Frames(25000), cd),
                             to_seconds(Frames(30011), cd)})));
    REQUIRE(core.split(true));
    REQUIRE(core.balance(0.5));
    REQUIRE(core.loop({Frames(20000), Frames(30011)}));
    REQUIRE(core.play());
    Heard h;
    run(core, 400, h);
    const auto second = peaks(h.right, 0.03F);
    REQUIRE(second.size() > 15);
    for (std::size_t i = 1; i + 1 < second.size(); ++i) {
        // 5000 frames from the first to the middle mark, 5011 on to the next round.
        const std::size_t step = second[i + 1] - second[i];
        CHECK((step == 5000 || step == 5011));
    }
    const auto recording = peaks(h.left, 0.03F);
    CHECK(std::vector(recording.end() - 8, recording.end()) ==
          std::vector(second.end() - 8, second.end()));
}

TEST_CASE("second source: it waits for the count-in, and a seek takes it along") {
    PlayerCore core(cd);
    REQUIRE(core.load(clicks({})));
    REQUIRE(core.second(std::make_unique<Marks>(
        std::vector<Seconds>{to_seconds(Frames(1000), cd), to_seconds(Frames(60000), cd)})));
    REQUIRE(core.split(true));
    REQUIRE(core.balance(1.0));
    REQUIRE(core.play({2, HeardSeconds(0.2)}));
    Heard h;
    run(core, 100, h);
    // Two beats of 8820, then 1000 frames, then the limiter's 72. (The clicks sound on both sides.)
    std::size_t first = 2 * 8820;
    while (std::abs(h.right[first]) < 0.03F)
        ++first;
    CHECK(first == 2 * 8820 + 1000 + 72);
    REQUIRE(core.seek(Frames(59000)));
    h = {};
    run(core, 20, h);
    CHECK(peaks(h.right, 0.03F).size() == 1);
}

TEST_CASE("second source: balance and split do what they say") {
    struct Case {
        double balance;
        bool split;
        double left, right;
    };
    // Recording: left 0.1, right 0.3. Second: 0.25. Apart, the recording's left is their mean.
    for (const Case& c :
         {Case{0.0, false, 0.1, 0.3}, Case{1.0, false, 0.25, 0.25}, Case{0.5, false, 0.35, 0.55},
          Case{0.25, false, 0.225, 0.425}, Case{0.5, true, 0.2, 0.25}, Case{0.0, true, 0.2, 0.0}}) {
        PlayerCore core(cd);
        Audio a = made(cd, 2, 44100);
        std::fill(a.channels[0].begin(), a.channels[0].end(), 0.1F);
        std::fill(a.channels[1].begin(), a.channels[1].end(), 0.3F);
        REQUIRE(core.load(std::make_shared<const Audio>(std::move(a))));
        REQUIRE(core.second(std::make_unique<Constant>()));
        REQUIRE(core.balance(c.balance));
        REQUIRE(core.split(c.split));
        REQUIRE(core.play());
        Heard h;
        run(core, 40, h);
        CHECK(std::abs(h.left.back() / level - c.left) < 1e-4);
        CHECK(std::abs(h.right.back() / level - c.right) < 1e-4);
        CHECK(core.status().second);
        CHECK(core.status().balance == c.balance);
        // Taken away, the recording is itself again, as it was without one.
        REQUIRE(core.second(nullptr));
        run(core, 20, h);
        CHECK(std::abs(h.left.back() / level - 0.1) < 1e-6);
        CHECK(std::abs(h.right.back() / level - 0.3) < 1e-6);
        CHECK_FALSE(core.status().second);
    }
}

TEST_CASE("second source: no step of the balance is a click") {
    PlayerCore core(cd);
    REQUIRE(core.load(clicks({})));
    REQUIRE(core.second(std::make_unique<Constant>()));
    REQUIRE(core.play());
    Heard h;
    run(core, 20, h);
    for (const double b : {1.0, 0.0, 0.5}) {
        REQUIRE(core.balance(b));
        run(core, 10, h);
    }
    REQUIRE(core.split(true));
    run(core, 10, h);
    REQUIRE(core.second(nullptr));
    run(core, 10, h);
    // From nothing to 0.25 in 8 ms (353 frames): 0.0007 a frame; both fades at once twice that.
    float largest = 0.0F;
    for (std::size_t i = 1; i < h.left.size(); ++i)
        largest = std::max(largest, std::abs(h.left[i] - h.left[i - 1]));
    CHECK(largest < 0.0016F * level);
    CHECK(h.left.back() == 0.0F);
}

TEST_CASE("second source: replaced while playing, freed by the window, nothing left behind") {
    std::atomic<int> alive{0};
    {
        PlayerCore core(cd);
        REQUIRE(core.load(clicks({})));
        REQUIRE(core.play());
        REQUIRE(core.balance(0.5));
        std::array<float, block> l{};
        std::array<float, block> r{};
        const std::array<float*, 2> out = {l.data(), r.data()};
        const long allocations = Guard::allocations();
        const long locks = Guard::locks();
        for (int i = 0; i < 20; ++i) {
            REQUIRE(
                core.second(std::make_unique<Marks>(std::vector<Seconds>{Seconds(0.1)}, &alive)));
            const Guard guard;
            for (int b = 0; b < 3; ++b)
                core.process(out, block);
        }
        CHECK(Guard::allocations() == allocations);
        CHECK(Guard::locks() == locks);
        core.collect();
        CHECK(alive == 1);
        REQUIRE(core.second(nullptr));
        for (int b = 0; b < 10; ++b)
            core.process(out, block);
        core.collect();
        CHECK(alive == 0);
        REQUIRE(core.second(std::make_unique<Marks>(std::vector<Seconds>{}, &alive)));
        core.process(out, block);
        REQUIRE(core.second(std::make_unique<Marks>(std::vector<Seconds>{}, &alive)));
    }
    CHECK(alive == 0);  // those in the queues too
}

TEST_CASE("second source: the draft's voice plays beside a recording without allocating") {
    const Draft draft = testing::steady_line(12);
    VoiceSettings settings;
    settings.which = WhichNotes::inked_and_pencilled;
    const auto part = std::make_shared<const PlayedPart>(prepare(draft, settings));
    PlayerCore core(cd);
    REQUIRE(core.load(clicks({})));
    REQUIRE(core.second(std::make_unique<DraftVoice>(part, cd)));
    REQUIRE(core.balance(1.0));
    REQUIRE(core.loop({Frames(10000), Frames(60000)}));
    REQUIRE(core.play());
    std::array<float, block> l{};
    std::array<float, block> r{};
    const std::array<float*, 2> out = {l.data(), r.data()};
    const long allocations = Guard::allocations();
    const long locks = Guard::locks();
    double loudest = 0.0;
    for (int step = 0; step < 6; ++step) {
        if (step == 2) core.speed(0.5);
        if (step == 3) core.retune(Cents(-30));
        if (step == 4) core.seek(Frames(100000));
        auto next = std::make_unique<DraftVoice>(part, cd);
        if (step % 2 == 1) REQUIRE(core.second(std::move(next)));
        const Guard guard;
        for (int b = 0; b < 150; ++b) {
            core.process(out, block);
            for (const float x : l)
                loudest = std::max(loudest, std::abs(static_cast<double>(x)));
        }
    }
    CHECK(Guard::allocations() == allocations);
    CHECK(Guard::locks() == locks);
    CHECK(loudest > 0.05 * level);
    CHECK(loudest < 1.0);
}

TEST_CASE("second source: a session on two threads (run it under the thread sanitizer)") {
    std::atomic<int> alive{0};
    {
        PlayerCore core(cd);
        REQUIRE(core.load(clicks({20000})));
        REQUIRE(core.play());
        std::atomic<bool> stop{false};
        std::atomic<long> blocks{0};
        std::thread device([&] {
            std::array<float, block> l{};
            std::array<float, block> r{};
            const std::array<float*, 2> out = {l.data(), r.data()};
            while (!stop.load()) {
                core.process(out, block);
                blocks.fetch_add(1);
            }
        });
        for (int i = 0; i < 50; ++i) {
            const bool none = i % 7 == 6;
            std::unique_ptr<SecondSource> next;
            if (!none) next = std::make_unique<Marks>(std::vector<Seconds>{Seconds(0.1)}, &alive);
            REQUIRE(core.second(std::move(next)));
            REQUIRE(core.balance(0.02 * i));
            const long until = blocks.load() + 4;
            while (blocks.load() < until)
                std::this_thread::yield();
        }
        stop.store(true);
        device.join();
        CHECK(core.status().balance == doctest::Approx(0.98));
    }
    CHECK(alive == 0);
}
