// Windows of the sound, their power gathered into rows of half a semitone.
#include "ui/window/spectrum.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <utility>

#include "engine/transform/fft.h"

namespace bentline::window {

Spectrum with_blocks(Spectrum spectrum) {
    const std::size_t whole = spectrum.columns() / spectrum_block;
    spectrum.blocks.assign(whole * spectrum_rows, 0);
    for (std::size_t c = 0; c < whole * spectrum_block; ++c) {
        for (std::size_t r = 0; r < spectrum_rows; ++r) {
            std::uint8_t& strongest = spectrum.blocks[c / spectrum_block * spectrum_rows + r];
            strongest = std::max(strongest, spectrum.levels[c * spectrum_rows + r]);
        }
    }
    return spectrum;
}

Result<Spectrum> make_spectrum(const Audio& audio, const Work& work) {
    constexpr Seconds window_length{0.16};
    Spectrum spectrum;
    const double rate = audio.rate.value();
    const std::size_t size =
        good_fft_size(static_cast<std::size_t>(std::lround(window_length.value() * rate)));
    const std::vector<float> window = make_window(Window::hann, size);
    RealFft fft(size);
    std::vector<float> block(size);
    std::vector<std::complex<float>> bins(fft.bins());
    const auto length = static_cast<std::int64_t>(audio.length().value());
    const double hop = spectrum.hop.value() * rate;
    const auto columns = static_cast<std::size_t>(static_cast<double>(length) / hop) + 1;
    spectrum.from = audio.start_time();
    std::vector<float> decibels(columns * spectrum_rows);
    float strongest = -200.0F;
    for (std::size_t c = 0; c < columns; ++c) {
        if (c % 64 == 0) {
            if (!work.report(static_cast<double>(c) / static_cast<double>(columns)))
                return stopped_failure();
        }
        const std::int64_t first =
            std::llround(static_cast<double>(c) * hop) - static_cast<std::int64_t>(size / 2);
        for (std::size_t i = 0; i < size; ++i) {
            const std::int64_t at = first + static_cast<std::int64_t>(i);
            float sum = 0;
            if (at >= 0 && at < length) {
                for (const auto& channel : audio.channels)
                    sum += channel[static_cast<std::size_t>(at)];
            }
            block[i] = sum * window[i];
        }
        fft.forward(block, bins);
        for (int r = 0; r < spectrum_rows; ++r) {
            const double key = spectrum_lowest_key + (r - 0.5) / spectrum_rows_a_key;
            const double middle = frequency(Pitch(key)).value() / rate * static_cast<double>(size);
            // A quarter of a semitone to each side, or the two bins next to it.
            const double reach = std::exp2(0.25 / 12.0);
            const auto from = static_cast<std::size_t>(std::floor(middle / reach));
            const auto to =
                std::min(bins.size() - 1, static_cast<std::size_t>(std::ceil(middle * reach)));
            float power = 1e-20F;
            for (std::size_t i = std::min(from, to); i <= to; ++i)
                power = std::max(power, std::norm(bins[i]));
            const float level = 10.0F * std::log10(power);
            strongest = std::max(strongest, level);
            decibels[c * spectrum_rows + static_cast<std::size_t>(r)] = level;
        }
    }
    spectrum.levels.resize(decibels.size());
    const auto depth = static_cast<float>(spectrum_depth.value());
    for (std::size_t i = 0; i < decibels.size(); ++i) {
        const float share = 1.0F - (strongest - decibels[i]) / depth;
        spectrum.levels[i] =
            static_cast<std::uint8_t>(std::lround(255.0F * std::clamp(share, 0.0F, 1.0F)));
    }
    return with_blocks(std::move(spectrum));
}

}  // namespace bentline::window
