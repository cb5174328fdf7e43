// The file chooser's logic: what a folder holds and what of it is of use.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

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

struct Chooser {
    Purpose purpose = Purpose::open;
    std::filesystem::path folder;
    std::vector<Entry> entries;
    std::string name;     // proposed file name, for saving
    std::string trouble;  // why the folder cannot be shown
};

// By the name's ending, in any case: .bentline is a draft, the endings of the formats that
// engine/recording reads are recordings.
EntryKind kind_of(const std::filesystem::path& name);

// Folders first, then files, each by name without regard to case; hidden ones left out. Fails with
// not_found or unreadable. [worker]
Result<std::vector<Entry>> list_folder(const std::filesystem::path& folder);

// Indices of the entries that serve the purpose and whose name holds `typed` (in any case).
std::vector<std::size_t> matching(const Chooser& chooser, std::string_view typed);

// The file that a typed name means: relative names lie in the chooser's folder, "~/" is the home
// folder, and the purpose's ending is added where it lacks one.
std::filesystem::path meant_file(const Chooser& chooser, std::string_view typed);

}  // namespace bentline::window
