// Every measured figure of a draft's notes as a table: CSV, one row a note, the unit in the
// column's name.
//
// RFC 4180, in UTF-8, lines ending in LF as the project's other tables do: fields with a comma, a
// quote or a line break stand in quotes. What was not measured is an empty field. Times are seconds
// from the recording's start; bar and beat count from 1 and are empty where the draft has no bars;
// string and fret are those of the draft's fingering. What has "error" in its name is one standard
// error of the figure before it. Flags are 1, or 0 where the inflection is not there. [any]
#pragma once

#include <string>

#include "engine/draft/draft.h"
#include "engine/result.h"
#include "engine/tab/finger_draft.h"

namespace bentline {

// fingering: of the same notes. Fails with out_of_range where there is no note to write.
Result<std::string> measurements_csv(const Draft& draft, WhichNotes which,
                                     const DraftFingering& fingering);

}  // namespace bentline
