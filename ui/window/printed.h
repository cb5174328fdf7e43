// Short labels with figures in them.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdio>
#include <string>

namespace bentline::window {

// std::snprintf as text; the form is a literal with a conversion for each value, and the whole at
// most 159 bytes long.
template <class... Values>
std::string printed(const char* form, Values... values) {
    std::array<char, 160> text{};
    const int n = std::snprintf(text.data(), text.size(), form, values...);
    return {text.data(), static_cast<std::size_t>(std::clamp(n, 0, 159))};
}

}  // namespace bentline::window
