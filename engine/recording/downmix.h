// From the file's channels to the one or two that Bentline works on.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace bentline {

// Where a channel of a file belongs.
enum class Seat {
    unknown,
    left,
    right,
    centre,
    low,  // low-frequency effects: left out, as ITU-R BS.775 does
    left_surround,
    right_surround,
    centre_surround,
};

// The weights of a file's channels in what is delivered: rows[output][input].
struct Downmix {
    std::vector<std::vector<float>> rows;
    std::string note;  // in words for the user; empty where nothing is mixed

    std::size_t outputs() const { return rows.size(); }
    bool straight = true;  // one or two channels, handed through unchanged
};

// One or two channels: handed through. More, every seat known: ITU-R BS.775-3 annex 4, table 2
// (2/0): left = left + 0.7071 centre + 0.7071 left surround, right likewise, a lone rear centre at
// half power to both; low frequency effects left out; both scaled so that the mix of full-scale
// channels stays within full scale. More, some seat unknown: the even average of all channels on
// both sides. seats: one for each channel of the file, at least one.
Downmix make_downmix(std::span<const Seat> seats);

// Mixes interleaved frames of the file into planar outputs, which are resized to the frame count
// and appended to. interleaved.size() is a multiple of the file's channels.
void mix(const Downmix& downmix, std::size_t file_channels, std::span<const float> interleaved,
         std::span<float* const> outputs);

}  // namespace bentline
