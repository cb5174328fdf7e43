// A form that is played several times over, with the chords that stand over it.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/bars/form.h"

namespace bentline {

inline constexpr int most_choruses = 100;

struct PlayedForm {
    Form once;
    int times = 1;  // 1 to most_choruses
};

// "AABA x3", "AABAx3": the form (as parse_form reads it) and how many times over it is played; once
// where nothing is said. Fails with out_of_range.
Result<PlayedForm> parse_played_form(std::string_view text);

// The chords of all choruses, bar by bar, where `chords` are those of the first: as many bars as
// form and times make. What stands beyond the first chorus stays as it is; nothing comes of
// nothing.
std::vector<std::string> chords_of_choruses(std::vector<std::string> chords,
                                            const PlayedForm& form);

}  // namespace bentline
