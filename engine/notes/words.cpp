// Numbers in words, independent of the locale.
#include "engine/notes/words.h"

#include <array>
#include <charconv>
#include <cmath>

namespace bentline::notes {

namespace {

std::string number(double value, int digits) {
    if (!std::isfinite(value)) return "?";
    std::array<char, 64> text{};
    const auto end = std::to_chars(text.data(), text.data() + text.size(), value,
                                   std::chars_format::fixed, digits);
    return {text.data(), end.ptr};
}

}  // namespace

std::string words(std::initializer_list<std::string> parts) {
    std::string all;
    for (const std::string& part : parts)
        all += part;
    return all;
}

std::string cents(double value) {
    return number(value, 0) + " c";
}
std::string time_words(double seconds) {
    return number(seconds, 2) + " s";
}
std::string count(double value) {
    return std::abs(value - std::round(value)) < 0.05 ? number(value, 0) : number(value, 1);
}

}  // namespace bentline::notes
