// The lesson sheet that a teacher hands to a student: the line as a drawing, its phrases in order
// of practice with tablature (where the draft has bars), speeds and the inflections to copy, licks
// that come back, what the solo does, the hard places, cautions. One page of XHTML that needs
// nothing else, no network and no scripts. Reads on a screen, light or dark, wide or narrow, and in
// print. Every text of the draft is escaped; every drawing has its words. The same draft gives the
// same bytes. [any]
#pragma once

#include <string>
#include <string_view>

#include "engine/draft/draft.h"

namespace bentline {

std::string lesson_html(const Draft& draft, WhichNotes which);

// Text as it stands in HTML and in attributes; control characters that XML forbids become "?".
std::string escaped(std::string_view text);

}  // namespace bentline
