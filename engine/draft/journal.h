// The journal: unsaved edits, kept beside the draft file so that a crash loses none.
//
// Each change is appended as one line at once. A journal belongs to one saved state of the draft
// file, by its mark; one that belongs to another is left alone and not replayed. A line that was
// cut off in the writing is left out. When the draft is saved the journal begins anew; when it is
// closed in good order the journal is removed. [worker], one thread at a time
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "engine/draft/history.h"

namespace bentline {

// "solo.bentline" has its journal in ".solo.bentline.journal".
std::filesystem::path journal_path(const std::filesystem::path& draft_file);

class Journal {
  public:
    // mark: of the draft file as loaded or saved last. recovered: what recover() replayed, which is
    // still unsaved. Nothing is written before the first append.
    Journal(const std::filesystem::path& draft_file, std::uint64_t mark,
            const std::vector<Change>& recovered = {});

    // Appends what History did: step(i) after an edit or a redo, reversed(step(i)) after an undo.
    // Fails with cannot_write; later appends try again from the whole row, so that nothing is
    // missing in between.
    Result<Done> append(const Change& change);
    // The draft was saved with this mark: begins anew.
    void saved(std::uint64_t mark);
    // The draft was closed, or the player wants the unsaved edits gone.
    void remove();

  private:
    std::filesystem::path file_;
    std::uint64_t mark_;
    bool begun_ = false;
    std::vector<std::string> unwritten_;  // lines that a full disk still owes
};

// The same change the other way round.
Change reversed(const Change& change);

struct Recovered {
    Draft draft;                  // after the replay
    std::vector<Change> changes;  // what was replayed, for the history
    bool cut_off = false;         // the last line was incomplete or did not fit, and was left out
};
// Replays the journal that belongs to a draft just loaded. No changes where there is none.
Recovered recover(const std::filesystem::path& draft_file, const Draft& draft, std::uint64_t mark);

}  // namespace bentline
