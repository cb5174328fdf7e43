// Music for a loop whose seam can be checked.
#pragma once

#include <cmath>
#include <numbers>

#include "tests/listening/signals.h"

namespace bentline::test {

// Three seconds with two tones of whole Hertz and a click on every half second: a loop of a second
// comes round with every partial in step. hiss: the level of noise under them.
inline Audio loop_music(double hiss = 0.0) {
    constexpr SampleRate rate{44100};
    Audio a = made(rate, 2, 44100 * 3);
    for (auto& c : a.channels) {
        add_tone(c, rate, 196.0, 0.1);
        add_tone(c, rate, 523.0, 0.05);
        if (hiss > 0.0) add_noise(c, hiss, 3);
        for (std::size_t i = 22050; i < c.size(); i += 22050) {
            for (std::size_t j = 0; j < 400; ++j) {
                const double u = static_cast<double>(j) / 44100;
                c[i + j] += static_cast<float>(0.4 * std::exp(-u * 700) *
                                               std::cos(2 * std::numbers::pi * 1800 * u));
            }
        }
    }
    return a;
}

}  // namespace bentline::test
