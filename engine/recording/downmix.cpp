// The downmix matrix of ITU-R BS.775 and its application.
#include "engine/recording/downmix.h"

#include <algorithm>
#include <cassert>

namespace bentline {

namespace {

constexpr float half_power = 0.70710678F;  // -3 dB, ITU-R BS.775-3 annex 4

struct Weights {
    float left;
    float right;
};

Weights weights_of(Seat seat) {
    switch (seat) {
        case Seat::left:
            return {1.0F, 0.0F};
        case Seat::right:
            return {0.0F, 1.0F};
        case Seat::centre:
            return {half_power, half_power};
        case Seat::left_surround:
            return {half_power, 0.0F};
        case Seat::right_surround:
            return {0.0F, half_power};
        case Seat::centre_surround:
            return {0.5F, 0.5F};
        case Seat::low:
        case Seat::unknown:
            return {0.0F, 0.0F};
    }
    return {0.0F, 0.0F};
}

float sum(const std::vector<float>& row) {
    float total = 0.0F;
    for (const float w : row)
        total += w;
    return total;
}

}  // namespace

Downmix make_downmix(std::span<const Seat> seats) {
    assert(!seats.empty());
    const std::size_t inputs = seats.size();
    Downmix made;
    if (inputs <= 2) {
        made.rows.assign(inputs, std::vector<float>(inputs, 0.0F));
        for (std::size_t c = 0; c < inputs; ++c)
            made.rows[c][c] = 1.0F;
        return made;
    }
    made.straight = false;
    made.rows.assign(2, std::vector<float>(inputs, 0.0F));
    const std::string count = std::to_string(inputs) + " channels mixed down to 2";
    const bool known = std::find(seats.begin(), seats.end(), Seat::unknown) == seats.end();
    if (known) {
        for (std::size_t c = 0; c < inputs; ++c) {
            const Weights w = weights_of(seats[c]);
            made.rows[0][c] = w.left;
            made.rows[1][c] = w.right;
        }
    }
    const float loudest = std::max(sum(made.rows[0]), sum(made.rows[1]));
    if (!known || loudest <= 0.0F) {
        const float share = 1.0F / static_cast<float>(inputs);
        for (auto& row : made.rows)
            std::fill(row.begin(), row.end(), share);
        made.note = count + ", all of them evenly on both sides";
        return made;
    }
    for (auto& row : made.rows) {
        for (float& w : row)
            w /= std::max(loudest, 1.0F);
    }
    const bool low = std::find(seats.begin(), seats.end(), Seat::low) != seats.end();
    made.note = count + " by ITU-R BS.775" + (low ? ", the low-frequency channel left out" : "");
    return made;
}

void mix(const Downmix& downmix, std::size_t file_channels, std::span<const float> interleaved,
         std::span<float* const> outputs) {
    assert(outputs.size() == downmix.outputs());
    const std::size_t frames = interleaved.size() / file_channels;
    for (std::size_t o = 0; o < outputs.size(); ++o) {
        float* out = outputs[o];
        const std::vector<float>& row = downmix.rows[o];
        if (downmix.straight) {
            for (std::size_t i = 0; i < frames; ++i)
                out[i] = interleaved[i * file_channels + o];
            continue;
        }
        for (std::size_t i = 0; i < frames; ++i) {
            const float* frame = interleaved.data() + i * file_channels;
            float total = 0.0F;
            for (std::size_t c = 0; c < file_channels; ++c)
                total += row[c] * frame[c];
            out[i] = total;
        }
    }
}

}  // namespace bentline
