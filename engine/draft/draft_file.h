// The draft file: where a draft lives between sessions. Extension .bentline.
//
// JSON with a version number (draft_json.h). Saving is atomic: whatever goes wrong, the old file or
// the new one is there, whole. The recording is named relative to the draft file, so that a folder
// can be moved, and known again by its fingerprint. [worker]
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

#include "engine/draft/draft.h"
#include "engine/result.h"
#include "engine/work.h"

namespace bentline {

inline constexpr const char* draft_extension = ".bentline";
// A larger file is taken for something else. A draft of 3,000 notes has about 1 MB.
inline constexpr std::uintmax_t largest_draft_bytes = 256U << 20U;

enum class RecordingFound {
    there,    // it is the one that the draft was lifted from
    changed,  // there is a file, but another recording or an altered one
    missing,  // nothing is there, or it cannot be opened
    unknown,  // the draft carries no fingerprint to know it by, or names no recording
};

struct LoadedDraft {
    Draft draft;  // with the recording's absolute path
    RecordingFound found = RecordingFound::unknown;
    std::string warning;     // one sentence on a recording that is missing or changed; else empty
    std::uint64_t mark = 0;  // of the file's bytes: which saved state a journal belongs to
};

// Fails with not_found, unreadable, or bad_draft (damaged, cut off, of a newer version, or no
// draft; the sentence names the line or the field). A recording that is missing or changed is no
// failure. If it is not where the draft says, it is looked for beside the draft file, by name and
// fingerprint.
Result<LoadedDraft> load_draft(const std::filesystem::path& path);

// Writes the draft and returns the mark of what was written. Fails with cannot_write, also where
// the path is the recording's; the file that was there, and the draft, are then as before.
Result<std::uint64_t> save_draft(const Draft& draft, const std::filesystem::path& path);

// The draft's name for a recording: its absolute path and fingerprint. Fails as Recording::open
// does.
Result<RecordingRef> refer_to(const std::filesystem::path& recording);

}  // namespace bentline
