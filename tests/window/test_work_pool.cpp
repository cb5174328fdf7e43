// window: long work beside the window.
#include <atomic>
#include <memory>

#include <doctest/doctest.h>

#include "ui/window/work_pool.h"

using namespace bentline;
using namespace bentline::window;

TEST_CASE("work pool: what a job delivers is run where it is collected") {
    WorkPool pool;
    int answer = 0;
    pool.start("adding", [&answer](const Work&) -> Delivery {
        const int sum = 40 + 2;
        return [&answer, sum] { answer = sum; };
    });
    while (pool.wait()) {
        CHECK(answer == 0);
        for (const Delivery& d : pool.collect())
            d();
    }
    CHECK(answer == 42);
    CHECK(pool.idle());
}

TEST_CASE("work pool: a stopped job ends and delivers nothing; a waiting one never begins") {
    WorkPool pool(1);
    std::atomic<bool> begun{false};
    bool delivered = false, second_ran = false;
    const JobId first = pool.start("waiting for ever", [&](const Work& work) -> Delivery {
        begun = true;
        while (work.report(0.5))
            std::this_thread::yield();
        return [&delivered] { delivered = true; };
    });
    const JobId second = pool.start("never", [&](const Work&) -> Delivery {
        second_ran = true;
        return {};
    });
    while (!begun)
        std::this_thread::yield();
    pool.stop(second);
    pool.stop(first);
    while (pool.wait()) {
        for (const Delivery& d : pool.collect())
            d();
    }
    CHECK_FALSE(delivered);
    CHECK_FALSE(second_ran);
}

TEST_CASE("work pool: shows what runs and how far it is") {
    WorkPool pool(1);
    std::atomic<bool> go_on{false}, half{false};
    pool.start("half way", [&](const Work& work) -> Delivery {
        work.report(0.5);
        half = true;
        while (!go_on)
            std::this_thread::yield();
        return {};
    });
    pool.start("next", [](const Work&) -> Delivery { return {}; });
    while (!half)
        std::this_thread::yield();
    const auto seen = pool.seen();
    REQUIRE(seen.size() == 2);
    CHECK(seen[0].words == "half way");
    CHECK(seen[0].share == 0.5);
    CHECK(seen[1].words == "next");
    go_on = true;
    while (pool.wait())
        (void)pool.collect();
}

TEST_CASE("work pool: what is waited for never queues behind what takes its time") {
    WorkPool pool(1);
    std::atomic<bool> enough{false}, brisk_ran{false};
    for (int i = 0; i < 3; ++i) {
        pool.start(
            "following",
            [&](const Work&) -> Delivery {
                while (!enough)
                    std::this_thread::yield();
                return {};
            },
            Pace::patient);
    }
    pool.start("opening", [&](const Work&) -> Delivery {
        brisk_ran = true;
        return {};
    });
    // Ends only if the fourth job runs while the first still does.
    while (!brisk_ran)
        std::this_thread::yield();
    CHECK(pool.seen().size() >= 3);
    enough = true;
    while (pool.wait())
        (void)pool.collect();
    CHECK(pool.idle());
}

TEST_CASE("work pool: closing it stops what runs") {
    std::atomic<bool> ended{false};
    {
        WorkPool pool;
        std::atomic<bool> begun{false};
        pool.start("long", [&](const Work& work) -> Delivery {
            begun = true;
            while (work.report(0))
                std::this_thread::yield();
            ended = true;
            return {};
        });
        while (!begun)
            std::this_thread::yield();
    }
    CHECK(ended);
}
