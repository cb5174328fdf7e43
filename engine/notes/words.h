// Small pieces of the sentences in which the note stage gives its reasons.
#pragma once

#include <initializer_list>
#include <string>

namespace bentline::notes {

// The parts, one after the other.
std::string words(std::initializer_list<std::string> parts);
// "98 c"
std::string cents(double value);
// "0.14 s"
std::string time_words(double seconds);
// "5.6"; whole numbers without a point. Never depends on the locale.
std::string count(double value);

}  // namespace bentline::notes
