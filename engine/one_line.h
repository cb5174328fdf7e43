// A sentence as a front end prints it. [any]
#pragma once

#include <string>
#include <string_view>

namespace bentline {

// What would break its line or command a terminal (control characters in the name of a file)
// becomes a question mark.
std::string one_line(std::string_view sentence);

}  // namespace bentline
