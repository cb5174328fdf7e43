// How strong each pitch is over time: what is drawn faintly behind the grid on request.
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "engine/recording/audio.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline::window {

inline constexpr int spectrum_lowest_key = 36;  // C2
inline constexpr int spectrum_keys = 61;        // to C7
inline constexpr int spectrum_rows_a_key = 2;
inline constexpr int spectrum_rows = spectrum_keys * spectrum_rows_a_key;
inline constexpr std::size_t spectrum_block = 32;  // columns
inline constexpr Decibels spectrum_depth{50.0};    // from the strongest down to what is not shown

struct Spectrum {
    Seconds from;  // the middle of the first column
    Seconds hop{0.02};
    // [column * spectrum_rows + row]; 0: spectrum_depth or more below the strongest, 255: it.
    // Row r lies at key spectrum_lowest_key + (r - 0.5) / spectrum_rows_a_key, so that the rows
    // of a key lie evenly in its height.
    std::vector<std::uint8_t> levels;

    // The strongest of each spectrum_block columns, laid out alike: for views from far away.
    std::vector<std::uint8_t> blocks;

    std::size_t columns() const { return levels.size() / spectrum_rows; }
    std::uint8_t level(std::size_t column, int row) const {
        return levels[column * spectrum_rows + static_cast<std::size_t>(row)];
    }
    // The strongest of the columns [column, end), end <= columns(), in a row; whole blocks at once
    // where there are any.
    std::uint8_t strongest(std::size_t column, std::size_t end, int row) const {
        std::uint8_t most = 0;
        while (column < end) {
            const std::size_t block = column / spectrum_block;
            const bool whole = column % spectrum_block == 0 && column + spectrum_block <= end &&
                               (block + 1) * spectrum_rows <= blocks.size();
            const std::size_t place = block * spectrum_rows + static_cast<std::size_t>(row);
            most = std::max(most, whole ? blocks[place] : level(column, row));
            column += whole ? spectrum_block : 1;
        }
        return most;
    }
};

// With its blocks gathered from its levels. [any]
Spectrum with_blocks(Spectrum spectrum);

// All channels together, Hann windows of 0.16 s. Fails with stopped. [worker]
Result<Spectrum> make_spectrum(const Audio& audio, const Work& work = {});

}  // namespace bentline::window
