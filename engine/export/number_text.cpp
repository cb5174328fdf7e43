// std::to_chars, which knows no locale.
#include "engine/export/number_text.h"

#include <array>
#include <cassert>
#include <charconv>

namespace bentline {

std::string fixed_text(double value, int places) {
    assert(0 <= places && places <= 9);
    std::array<char, 400> buffer{};  // the largest double has 309 digits
    const auto [end, error] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                                            std::chars_format::fixed, places);
    assert(error == std::errc{});
    std::string text(buffer.data(), end);
    if (text.front() == '-' && text.find_first_of("123456789") == std::string::npos) {
        text.erase(0, 1);
    }
    return text;
}

std::string short_text(double value, int most_places) {
    std::string text = fixed_text(value, most_places);
    if (text.find('.') == std::string::npos) return text;
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
    return text;
}

}  // namespace bentline
