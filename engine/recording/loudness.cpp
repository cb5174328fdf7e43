// Feeds libebur128 block by block.
#include "engine/recording/loudness.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <new>
#include <vector>

#include <ebur128.h>

namespace bentline {

namespace {

class Meter {
  public:
    Meter(SampleRate rate, std::size_t channels)
        : state_(ebur128_init(static_cast<unsigned>(channels),
                              static_cast<unsigned long>(rate.value()),
                              EBUR128_MODE_I | EBUR128_MODE_TRUE_PEAK | EBUR128_MODE_HISTOGRAM)) {
        if (!state_) throw std::bad_alloc();
    }

    void take(const Audio& block) {
        const std::size_t channels = block.channels.size();
        const auto frames = static_cast<std::size_t>(block.length().value());
        interleaved_.resize(frames * channels);
        for (std::size_t c = 0; c < channels; ++c) {
            for (std::size_t i = 0; i < frames; ++i) {
                interleaved_[i * channels + c] = block.channels[c][i];
            }
        }
        if (ebur128_add_frames_float(state_.get(), interleaved_.data(), frames) !=
            EBUR128_SUCCESS) {
            throw std::bad_alloc();  // the only failure that this call knows
        }
    }

    Loudness result(std::size_t channels) const {
        Loudness made;
        double integrated = 0.0;
        if (ebur128_loudness_global(state_.get(), &integrated) == EBUR128_SUCCESS &&
            std::isfinite(integrated)) {
            made.integrated = Decibels(integrated);
        }
        double peak = 0.0;
        double between = 0.0;
        for (unsigned c = 0; c < channels; ++c) {
            double here = 0.0;
            if (ebur128_sample_peak(state_.get(), c, &here) == EBUR128_SUCCESS)
                peak = std::max(peak, here);
            if (ebur128_true_peak(state_.get(), c, &here) == EBUR128_SUCCESS) {
                between = std::max(between, here);
            }
        }
        if (peak > 0.0) {
            made.peak = decibels(peak);
            made.true_peak = decibels(std::max(peak, between));
        }
        return made;
    }

  private:
    struct Free {
        void operator()(ebur128_state* state) const { ebur128_destroy(&state); }
    };
    std::unique_ptr<ebur128_state, Free> state_;
    std::vector<float> interleaved_;
};

}  // namespace

Result<Loudness> measure_loudness(const Recording& recording, const Work& work) {
    const auto channels = static_cast<std::size_t>(recording.info().channels);
    Meter meter(recording.info().rate, channels);
    constexpr Frames block{65536};
    Result<Done> read = recording.read_blocks(
        recording.info().whole(), block,
        [&](const Audio& piece) {
            meter.take(piece);
            return true;
        },
        work);
    if (!read) return read.failure();
    return meter.result(channels);
}

Loudness measure_loudness(const Audio& audio) {
    Meter meter(audio.rate, audio.channels.size());
    meter.take(audio);
    return meter.result(audio.channels.size());
}

}  // namespace bentline
