// Everything that must hold of one chorus handed out as MusicXML and MIDI. Used by the tests on a
// few, by the runner on many.
#pragma once

#include <string>

#include "engine/draft/draft.h"
#include "tests/export/outside.h"

namespace bentline::testing {

struct ChorusChecked {
    std::string xml;
    std::string fault;  // empty: sums, spots and ends are right, and MIDI has the same notes
    int notes = 0;
    int without_spot = 0;
    int impossible = 0;  // fingered notes whose string and fret do not sound them or are not there
};
ChorusChecked check_chorus(const Draft& draft);

// Empty, or how a reader's counts differ from what the file says.
std::string fault_of_reading(const Reading& reading, const std::string& xml);

}  // namespace bentline::testing
