// Numbers as text for files that programs read: decimal point whatever the locale, no "-0". [any]
#pragma once

#include <string>

namespace bentline {

// `places` (0 to 9) decimals, rounded; trailing zeros stay.
std::string fixed_text(double value, int places);
// The same without trailing zeros: "1.5", "2".
std::string short_text(double value, int most_places);

}  // namespace bentline
