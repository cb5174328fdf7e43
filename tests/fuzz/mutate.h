// Damages bytes the way that disks, downloads and hostile hands do, from a seed.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <string>

#include "tests/support/dice.h"

namespace bentline::testing {

// One to four injuries, half of them near the front, where headers lie: bits flipped, bytes set to
// telling values, 32-bit sizes replaced, stretches cut out, doubled, zeroed, or the end cut off.
inline std::string mutated(std::string bytes, Dice& dice) {
    const int injuries = dice.whole(1, 4);
    for (int i = 0; i < injuries && !bytes.empty(); ++i) {
        const int last = static_cast<int>(bytes.size()) - 1;
        const int reach = dice.chance(0.5) ? std::min(last, 300) : last;
        const auto at = static_cast<std::size_t>(dice.whole(0, reach));
        const std::size_t left = bytes.size() - at;
        const std::size_t stretch =
            std::min(left, static_cast<std::size_t>(dice.whole(1, dice.chance(0.8) ? 16 : 2000)));
        switch (dice.whole(0, 7)) {
            case 0:
            case 1:
                bytes[at] = static_cast<char>(bytes[at] ^ (1 << dice.whole(0, 7)));
                break;
            case 2: {
                constexpr std::array<unsigned char, 7> telling = {0,    1,    0x7F, 0x80,
                                                                  0xFF, 0xFE, 'S'};
                bytes[at] =
                    static_cast<char>(telling.at(static_cast<std::size_t>(dice.whole(0, 6))));
                break;
            }
            case 3: {
                constexpr std::array<unsigned, 8> sizes = {
                    0, 1, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 0xFFFFFFF0, 0x00010000, 0xFFFF0000};
                unsigned size = sizes.at(static_cast<std::size_t>(dice.whole(0, 7)));
                for (std::size_t b = 0; b < std::min<std::size_t>(4, left); ++b, size >>= 8U) {
                    bytes[at + b] = static_cast<char>(size & 0xFFU);
                }
                break;
            }
            case 4:
                bytes.erase(at, stretch);
                break;
            case 5:
                bytes.insert(at, bytes.substr(at, stretch));
                break;
            case 6:
                std::fill_n(bytes.begin() + static_cast<std::ptrdiff_t>(at), stretch, '\0');
                break;
            default:
                bytes.resize(at);
                break;
        }
    }
    return bytes;
}

}  // namespace bentline::testing
