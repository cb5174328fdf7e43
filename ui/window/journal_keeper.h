// Writes the crash journal beside the window, so that no edit is lost and no frame waits for a
// disk.
//
// A thread of its own carries out what it is told, in order; it is not part of the pool, because
// stopping work must never stop this. A draft that was never saved has no file to keep a journal
// for: its first state is then written into a folder of the window's own ("unsaved"), and the
// journal lies beside that. [window]
#pragma once

#include <condition_variable>
#include <deque>
#include <filesystem>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "engine/draft/journal.h"

namespace bentline::window {

class JournalKeeper {
  public:
    JournalKeeper();
    // Waits until everything told is on the disk.
    ~JournalKeeper();
    JournalKeeper(const JournalKeeper&) = delete;
    JournalKeeper& operator=(const JournalKeeper&) = delete;

    // The changes that follow belong to this saved state of a draft file. recovered: what was
    // replayed from the journal that is there. base: the file is a base that begin_unsaved() wrote
    // on another evening.
    void begin(const std::filesystem::path& draft_file, std::uint64_t mark,
               std::vector<Change> recovered = {}, bool base = false);
    // The changes that follow belong to a draft without a file; `base` is what they begin from.
    void begin_unsaved(const std::filesystem::path& base_file, const Draft& base);
    void append(const Change& change);
    // Takes the journal away, and the base of a draft without a file: closed in good order, or
    // the player wants the edits gone. Nothing is kept until the next begin.
    void remove();
    // Blocks until everything told is on the disk.
    void finish();
    // Why the last change could not be written, once; empty: all is well.
    std::string trouble();

  private:
    void tell(std::function<void()> order);
    void run();

    // Of the thread alone.
    std::optional<Journal> journal_;
    std::optional<std::filesystem::path> base_;

    std::mutex mutex_;
    std::condition_variable changed_;
    std::deque<std::function<void()>> orders_;
    bool busy_ = false;
    bool closing_ = false;
    std::string trouble_;
    std::thread thread_;
};

// Where the first state of a draft that was never saved is kept: in `folder`, under a name made
// from the recording's.
std::filesystem::path unsaved_base(const std::filesystem::path& folder,
                                   const RecordingRef& recording);

}  // namespace bentline::window
