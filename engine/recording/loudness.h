// How loud a recording is: integrated loudness (ITU-R BS.1770-4, EBU R 128, through libebur128) and
// peaks, measured by streaming.
//
// Measured on the channels as delivered (one or two). Accuracy: within loudness_error of the
// standard's own figures (a 0 dBFS sine of 997 Hz in one channel is -3.01 LKFS).
#pragma once

#include <optional>

#include "engine/recording/audio.h"
#include "engine/recording/recording.h"
#include "engine/result.h"
#include "engine/units.h"
#include "engine/work.h"

namespace bentline {

inline constexpr Decibels loudness_error{0.1};  // ITU-R BS.2217 allows compliant meters +-0.1 LU

struct Loudness {
    // LUFS (= LKFS); empty where nothing passes the gate of -70 LUFS: silence, or under 0.4 s of
    // sound.
    std::optional<Decibels> integrated;
    // Largest magnitude of a sample, dB re full scale; empty for digital silence.
    std::optional<Decibels> peak;
    // Largest magnitude between the samples, too (BS.1770 annex 2); never below `peak`.
    std::optional<Decibels> true_peak;
};

// Reads the whole recording once. Failures as Recording::read. [worker]
Result<Loudness> measure_loudness(const Recording& recording, const Work& work = {});

// The loudness of sound in memory. [any]
Loudness measure_loudness(const Audio& audio);

}  // namespace bentline
