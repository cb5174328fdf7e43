// What a player core gives out, block by block.
#pragma once

#include <array>
#include <vector>

#include "engine/listening/player_core.h"

namespace bentline::test {

inline constexpr std::size_t heard_block = 256;

struct Heard {
    std::vector<float> left;
    std::vector<float> right;
    std::vector<PlayerStatus> status;  // after every block
};

inline void run(PlayerCore& core, std::size_t blocks, Heard& h) {
    for (std::size_t b = 0; b < blocks; ++b) {
        std::array<float, heard_block> l{};
        std::array<float, heard_block> r{};
        const std::array<float*, 2> out = {l.data(), r.data()};
        core.process(out, heard_block);
        h.left.insert(h.left.end(), l.begin(), l.end());
        h.right.insert(h.right.end(), r.begin(), r.end());
        h.status.push_back(core.status());
    }
}

}  // namespace bentline::test
