// A recording whose notes are known: C4, E4, G4, a second apart from 0.5 s, each 0.79 s long; each
// four seconds of it alike.
#pragma once

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numbers>

#include "engine/recording/wav_file.h"

namespace bentline::window {

// Ten partials that fall off as on a string, struck in 4 ms and damped at the end.
inline bool write_tones(const std::filesystem::path& path, int times = 1) {
    Audio audio{SampleRate(44100), Frames(0), {std::vector<float>(4 * 44100)}};
    const double keys[] = {60, 64, 67};
    for (int n = 0; n < 3; ++n) {
        const double hz = frequency(Pitch(keys[n])).value();
        for (int i = 0; i < 35000; ++i) {
            const double t = i / 44100.0;
            const double shape =
                std::min(1.0, t / 0.004) * std::exp(-1.5 * t) * std::min(1.0, (35000 - i) / 400.0);
            double v = 0;
            for (int p = 1; p <= 10; ++p)
                v += std::sin(2 * std::numbers::pi * hz * p * t) / p;
            audio.channels[0][static_cast<std::size_t>(22050 + n * 44100 + i)] =
                static_cast<float>(0.25 * shape * v);
        }
    }
    const std::vector<float> once = audio.channels[0];
    for (int i = 1; i < times; ++i)
        audio.channels[0].insert(audio.channels[0].end(), once.begin(), once.end());
    return write_wav(path, audio).ok();
}

}  // namespace bentline::window
