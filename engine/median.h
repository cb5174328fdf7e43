// The middle of some values.
#pragma once

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <vector>

namespace bentline {

// The middle value; of an even number of values the upper one of the two in the middle. Needs one
// at least. Linear in their number.
template <class T>
T median(std::vector<T> values) {
    assert(!values.empty());
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

}  // namespace bentline
