// One thread, one queue of orders.
#include "ui/window/journal_keeper.h"

#include <system_error>
#include <utility>

#include "engine/draft/draft_file.h"

namespace bentline::window {

namespace fs = std::filesystem;

JournalKeeper::JournalKeeper() : thread_([this] { run(); }) {}

JournalKeeper::~JournalKeeper() {
    {
        const std::lock_guard lock(mutex_);
        closing_ = true;
    }
    changed_.notify_all();
    thread_.join();
}

void JournalKeeper::begin(const fs::path& draft_file, std::uint64_t mark,
                          std::vector<Change> recovered, bool base) {
    tell([this, draft_file, mark, recovered = std::move(recovered), base] {
        base_ = base ? std::optional(draft_file) : std::nullopt;
        journal_.emplace(draft_file, mark, recovered);
    });
}

void JournalKeeper::begin_unsaved(const fs::path& base_file, const Draft& base) {
    tell([this, base_file, base] {
        std::error_code error;
        fs::create_directories(base_file.parent_path(), error);
        const Result<std::uint64_t> saved = save_draft(base, base_file);
        journal_.reset();
        if (!saved) {
            const std::lock_guard lock(mutex_);
            trouble_ = saved.failure().sentence;
            return;
        }
        base_ = base_file;
        journal_.emplace(base_file, *saved);
    });
}

void JournalKeeper::append(const Change& change) {
    tell([this, change] {
        if (!journal_) return;
        const Result<Done> written = journal_->append(change);
        const std::lock_guard lock(mutex_);
        trouble_ = written ? "" : written.failure().sentence;
    });
}

void JournalKeeper::remove() {
    tell([this] {
        if (journal_) journal_->remove();
        journal_.reset();
        std::error_code error;
        if (base_) fs::remove(*base_, error);
        base_.reset();
    });
}

void JournalKeeper::finish() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [this] { return orders_.empty() && !busy_; });
}

std::string JournalKeeper::trouble() {
    const std::lock_guard lock(mutex_);
    return std::exchange(trouble_, "");
}

void JournalKeeper::tell(std::function<void()> order) {
    {
        const std::lock_guard lock(mutex_);
        orders_.push_back(std::move(order));
    }
    changed_.notify_all();
}

void JournalKeeper::run() {
    std::unique_lock lock(mutex_);
    while (true) {
        changed_.wait(lock, [this] { return closing_ || !orders_.empty(); });
        if (orders_.empty()) return;  // closing, and all is done
        const std::function<void()> order = std::move(orders_.front());
        orders_.pop_front();
        busy_ = true;
        lock.unlock();
        order();
        lock.lock();
        busy_ = false;
        changed_.notify_all();
    }
}

fs::path unsaved_base(const fs::path& folder, const RecordingRef& recording) {
    // Two recordings of one name in two folders are told apart by where they lie (FNV-1a, 64 bit).
    std::uint64_t place = 0xcbf29ce484222325U;
    for (const char c : recording.path)
        place = (place ^ static_cast<unsigned char>(c)) * 0x100000001b3U;
    return folder / (fs::path(recording.path).stem().string() + "-" + std::to_string(place) +
                     draft_extension);
}

}  // namespace bentline::window
