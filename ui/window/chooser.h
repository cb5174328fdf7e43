// The file chooser's logic: what a folder holds and what of it is of use.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/recording/overview.h"
#include "engine/result.h"
#include "ui/window/intent.h"

namespace bentline::window {

enum class EntryKind { folder, recording, draft, other };

struct Entry {
    std::string name;
    EntryKind kind = EntryKind::other;
    std::uintmax_t bytes = 0;
    friend bool operator==(const Entry&, const Entry&) = default;
};

// What can be told about a file before it is opened.
struct Preview {
    std::filesystem::path file;
    bool ready = false;
    std::vector<std::string>
        lines;  // "0:57.91, 44100 Hz, 2 channels"; "32 bars, 91 of 198 notes inked"
    std::shared_ptr<const Overview> overview;  // of a recording, a little later
    friend bool operator==(const Preview&, const Preview&) = default;
};

struct Chooser {
    Purpose purpose = Purpose::open;
    std::filesystem::path folder;
    std::vector<Entry> entries;
    std::string name;                   // proposed file name, for saving
    std::string trouble;                // why the folder cannot be shown
    std::filesystem::path asked_about;  // a draft that would be replaced: named once more, it is
    Preview preview;                    // of the chosen file
};

// Of the files that are written for a purpose: ".mid"; of drafts for opening.
std::string ending_of(Purpose purpose);
// The demo recording: where the build found it.
std::filesystem::path demo_recording();

// By the name's ending, in any case: .bentline is a draft, the endings of the formats that
// engine/recording reads are recordings.
EntryKind kind_of(const std::filesystem::path& name);

// What was dropped on the window, or named several at once: the first draft among it, else the
// first recording, else the first of all (which then says why it cannot be opened). Not empty.
std::filesystem::path wanted_of(const std::vector<std::string>& dropped);

// Reads what preview shows, but for the overview. What cannot be read says why in its line.
// [worker]
Preview look_at_file(const std::filesystem::path& file);

// Folders first, then files, each by name without regard to case; hidden ones left out. Fails with
// not_found or unreadable. [worker]
Result<std::vector<Entry>> list_folder(const std::filesystem::path& folder);

// Indices of the entries that serve the purpose and whose name holds `typed` (in any case).
std::vector<std::size_t> matching(const Chooser& chooser, std::string_view typed);

// The file that a typed name means: relative names lie in the chooser's folder, "~/" is the home
// folder, and the purpose's ending is added where it lacks one.
std::filesystem::path meant_file(const Chooser& chooser, std::string_view typed);

}  // namespace bentline::window
