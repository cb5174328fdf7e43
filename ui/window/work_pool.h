// Long work beside the window: a few workers, progress and stop for each job, results as values.
// What the player waits for (opening, saving) never queues behind what takes its time (following
// the soloist): each has workers of its own, and the system runs the patient ones after the window
// and the sound.
//
// A job is a function of values that returns a value: a "delivery", to be carried out on the
// window's thread. Jobs never touch the window's state. Deliveries of jobs that were stopped never
// arrive.
#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "engine/work.h"

namespace bentline::window {

// What a finished job hands over; run by the window's thread when it collects.
using Delivery = std::function<void()>;
using JobId = std::uint64_t;
// Hands over something while the job goes on: what stands already. [worker]
using Post = std::function<void(Delivery)>;

// A job that waits or runs.
struct JobSeen {
    JobId id = 0;
    std::string words;
    double share = 0.0;
};

// brisk: waited for, and short. patient: may take minutes.
enum class Pace { brisk, patient };

class WorkPool {
  public:
    // workers: of each pace.
    explicit WorkPool(int workers = 2);
    // Stops everything and waits for it.
    ~WorkPool();
    WorkPool(const WorkPool&) = delete;
    WorkPool& operator=(const WorkPool&) = delete;

    // Queues a job. `words` say what it does, for the progress line; empty: not worth showing.
    // [window]
    JobId start(std::string words, std::function<Delivery(const Work&)> job,
                Pace pace = Pace::brisk);
    // The same for a job that hands over parts before its end. [window]
    JobId start_in_parts(std::string words, std::function<Delivery(const Work&, const Post&)> job,
                         Pace pace = Pace::brisk);
    // Asks a job, or all of them, to stop. What they would deliver is dropped. [window]
    void stop(JobId id);
    void stop_all();
    // Deliveries that have come in since, in the order they came. [window]
    std::vector<Delivery> collect();
    // Blocks until something can be collected or nothing runs; false if nothing runs. [window]
    bool wait();
    // Waiting and running jobs, oldest first. [window]
    std::vector<JobSeen> seen() const;
    bool idle() const;

  private:
    struct Job {
        JobId id;
        std::string words;
        Pace pace = Pace::brisk;
        std::function<Delivery(const Work&, const Post&)> run;
        std::stop_source stop;
        std::atomic<double> share{0.0};
    };
    void worker(Pace pace);

    mutable std::mutex mutex_;
    std::condition_variable changed_;
    std::deque<std::shared_ptr<Job>> waiting_;
    std::vector<std::shared_ptr<Job>> running_;
    std::vector<std::pair<std::shared_ptr<Job>, Delivery>> arrived_;
    JobId next_ = 1;
    bool closing_ = false;
    std::vector<std::thread> workers_;
};

}  // namespace bentline::window
