// A draft as the text of its file, and back.
//
// The text is JSON, format version 1: one line a note, fields named with their units. The
// recording's path is written as it stands in the draft. Reading back gives the same draft, bit for
// bit. [any]
#pragma once

#include <string>
#include <string_view>

#include "engine/draft/draft.h"

namespace bentline {

// A reader refuses a higher version, and keeps what it does not know of a higher revision.
inline constexpr int draft_version = 1;
inline constexpr int draft_revision = 1;  // 1: what the player said, here and not_these

std::string draft_text(const Draft& draft);

// Fails with bad_draft and names the line or the field. `name` is what messages call the text: its
// file's path.
Result<Draft> read_draft_text(std::string_view text, const std::string& name);

// The same for everything of a draft but its notes, and for one note: the parts of a journal line.
std::string rest_text(const Draft& draft);
std::string note_text(const DraftNote& note);
Result<Draft> read_rest_text(std::string_view text);
Result<DraftNote> read_note_text(std::string_view text);

}  // namespace bentline
