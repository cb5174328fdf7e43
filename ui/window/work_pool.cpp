// Workers that wait on one queue.
#include "ui/window/work_pool.h"

#include <algorithm>

#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

namespace bentline::window {
namespace {

// A step or two below the window's own: enough that a frame and a block of sound go first, little
// enough that the work gets on beside other programs.
constexpr int patience = 4;

void be_patient() {
    // On Linux a thread has a niceness of its own; where it cannot be had, nothing is lost but
    // haste.
    const auto thread = static_cast<id_t>(syscall(SYS_gettid));
    (void)setpriority(PRIO_PROCESS, thread, getpriority(PRIO_PROCESS, thread) + patience);
}

}  // namespace

WorkPool::WorkPool(int workers) {
    for (int i = 0; i < workers; ++i) {
        workers_.emplace_back([this] { worker(Pace::brisk); });
        workers_.emplace_back([this] {
            be_patient();
            worker(Pace::patient);
        });
    }
}

WorkPool::~WorkPool() {
    stop_all();
    {
        const std::lock_guard lock(mutex_);
        closing_ = true;
    }
    changed_.notify_all();
    for (std::thread& w : workers_)
        w.join();
}

JobId WorkPool::start(std::string words, std::function<Delivery(const Work&)> job, Pace pace) {
    return start_in_parts(
        std::move(words),
        [job = std::move(job)](const Work& work, const Post&) { return job(work); }, pace);
}

JobId WorkPool::start_in_parts(std::string words,
                               std::function<Delivery(const Work&, const Post&)> job, Pace pace) {
    auto made = std::make_shared<Job>();
    made->words = std::move(words);
    made->pace = pace;
    made->run = std::move(job);
    const std::lock_guard lock(mutex_);
    made->id = next_++;
    waiting_.push_back(made);
    changed_.notify_all();
    return made->id;
}

void WorkPool::stop(JobId id) {
    const std::lock_guard lock(mutex_);
    const auto is_it = [id](const auto& job) { return job->id == id; };
    waiting_.erase(std::remove_if(waiting_.begin(), waiting_.end(), is_it), waiting_.end());
    for (const auto& job : running_) {
        if (is_it(job)) job->stop.request_stop();
    }
    for (const auto& [job, delivery] : arrived_) {
        if (is_it(job)) job->stop.request_stop();
    }
    changed_.notify_all();
}

void WorkPool::stop_all() {
    const std::lock_guard lock(mutex_);
    waiting_.clear();
    for (const auto& job : running_)
        job->stop.request_stop();
    for (const auto& [job, delivery] : arrived_)
        job->stop.request_stop();
    changed_.notify_all();
}

std::vector<Delivery> WorkPool::collect() {
    std::vector<Delivery> ready;
    const std::lock_guard lock(mutex_);
    for (auto& [job, delivery] : arrived_) {
        if (!job->stop.stop_requested() && delivery) ready.push_back(std::move(delivery));
    }
    arrived_.clear();
    return ready;
}

bool WorkPool::wait() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock,
                  [this] { return !arrived_.empty() || (waiting_.empty() && running_.empty()); });
    return !arrived_.empty();
}

std::vector<JobSeen> WorkPool::seen() const {
    const std::lock_guard lock(mutex_);
    std::vector<JobSeen> all;
    for (const auto& job : running_) {
        if (!job->stop.stop_requested()) all.push_back({job->id, job->words, job->share.load()});
    }
    for (const auto& job : waiting_)
        all.push_back({job->id, job->words, 0.0});
    return all;
}

bool WorkPool::idle() const {
    const std::lock_guard lock(mutex_);
    return waiting_.empty() && running_.empty() && arrived_.empty();
}

void WorkPool::worker(Pace pace) {
    std::unique_lock lock(mutex_);
    const auto mine = [this, pace] {
        return std::find_if(waiting_.begin(), waiting_.end(),
                            [pace](const auto& job) { return job->pace == pace; });
    };
    while (true) {
        changed_.wait(lock, [&] { return closing_ || mine() != waiting_.end(); });
        if (closing_) return;
        const auto next = mine();
        const std::shared_ptr<Job> job = *next;
        waiting_.erase(next);
        running_.push_back(job);
        lock.unlock();
        const Post post = [this, &job](Delivery part) {
            const std::lock_guard arriving(mutex_);
            arrived_.emplace_back(job, std::move(part));
            changed_.notify_all();
        };
        Delivery delivery = job->run(
            Work{[&job](double share) { job->share = share; }, job->stop.get_token()}, post);
        lock.lock();
        running_.erase(std::find(running_.begin(), running_.end(), job));
        arrived_.emplace_back(job, std::move(delivery));
        changed_.notify_all();
    }
}

}  // namespace bentline::window
