// Onset strength by spectral flux in log-spaced bands, and chroma by a longer transform.
#include "engine/bars/onset_strength.h"

#include <algorithm>
#include <cmath>
#include <complex>

#include "engine/transform/fft.h"

namespace bentline {
namespace {

constexpr double window_seconds = 0.046;  // short enough for 300 beats a minute and its eighths
constexpr double lowest_hz = 30.0;
constexpr double highest_hz = 16000.0;
constexpr int bands_per_octave = 4;
constexpr double low_border_hz = 180.0;
constexpr double high_border_hz = 2000.0;
constexpr double compression = 1000.0;  // of magnitudes re the loudest
constexpr std::size_t lag = 2;          // frames back to compare with
constexpr std::size_t local_mean = 40;  // frames either side: what is no peak here
constexpr std::size_t local_rms = 300;  // frames either side: how strong onsets are here

std::vector<float> mix(const Audio& audio) {
    std::vector<float> mono(static_cast<std::size_t>(audio.length().value()), 0.0F);
    const float share = 1.0F / static_cast<float>(std::max<std::size_t>(1, audio.channels.size()));
    for (const auto& channel : audio.channels) {
        for (std::size_t i = 0; i < mono.size(); ++i)
            mono[i] += share * channel[i];
    }
    return mono;
}

// Magnitudes of the window around a sample; beyond the ends there is silence.
class Spectrum {
  public:
    Spectrum(const std::vector<float>& samples, std::size_t size)
        : samples_(samples),
          fft_(size),
          window_(make_window(Window::hann, size)),
          in_(size),
          out_(fft_.bins()) {}
    const std::vector<std::complex<float>>& around(std::int64_t centre) {
        const auto first = centre - static_cast<std::int64_t>(in_.size() / 2);
        for (std::size_t i = 0; i < in_.size(); ++i) {
            const auto at = first + static_cast<std::int64_t>(i);
            const bool inside = at >= 0 && at < static_cast<std::int64_t>(samples_.size());
            in_[i] = inside ? window_[i] * samples_[static_cast<std::size_t>(at)] : 0.0F;
        }
        fft_.forward(in_, out_);
        return out_;
    }

  private:
    const std::vector<float>& samples_;
    RealFft fft_;
    std::vector<float> window_;
    std::vector<float> in_;
    std::vector<std::complex<float>> out_;
};

struct Band {
    std::size_t from, to;  // bins
    double centre;
};

std::vector<Band> make_bands(double rate, std::size_t size) {
    std::vector<Band> bands;
    const double bin = rate / static_cast<double>(size);
    const double top = std::min(highest_hz, 0.48 * rate);
    std::size_t from = std::max<std::size_t>(1, static_cast<std::size_t>(lowest_hz / bin));
    for (int i = 1;; ++i) {
        const double upper = lowest_hz * std::exp2(static_cast<double>(i) / bands_per_octave);
        if (upper > top) break;
        const auto to = static_cast<std::size_t>(upper / bin) + 1;
        if (to <= from) continue;  // narrower than a bin
        bands.push_back({from, to, 0.5 * bin * static_cast<double>(from + to)});
        from = to;
    }
    return bands;
}

// Running sums make means over any stretch cheap.
std::vector<double> running(const std::vector<float>& x, bool squared) {
    std::vector<double> sum(x.size() + 1, 0.0);
    for (std::size_t i = 0; i < x.size(); ++i) {
        sum[i + 1] = sum[i] + (squared ? static_cast<double>(x[i]) * x[i] : x[i]);
    }
    return sum;
}
double mean_around(const std::vector<double>& sum, std::size_t i, std::size_t reach) {
    const std::size_t from = i > reach ? i - reach : 0;
    const std::size_t to = std::min(sum.size() - 1, i + reach + 1);
    return (sum[to] - sum[from]) / static_cast<double>(to - from);
}

// Peaks above their surroundings, of unit RMS where there are any.
void to_unit_strength(std::vector<float>& row) {
    const auto sum = running(row, false);
    std::vector<float> peaks(row.size());
    for (std::size_t i = 0; i < row.size(); ++i) {
        peaks[i] = std::max(0.0F, row[i] - static_cast<float>(mean_around(sum, i, local_mean)));
    }
    const auto power = running(peaks, true);
    const double whole = power.back() / static_cast<double>(std::max<std::size_t>(1, peaks.size()));
    for (std::size_t i = 0; i < row.size(); ++i) {
        // A tenth of the whole's power keeps the noise of a silent stretch small.
        const double here = mean_around(power, i, local_rms) + 0.1 * whole + 1e-12;
        row[i] = static_cast<float>(peaks[i] / std::sqrt(here));
    }
}

// Powers to dB re the loudest.
void to_decibels(std::vector<float>& row) {
    const float most = std::max(1e-20F, *std::max_element(row.begin(), row.end()));
    for (float& x : row)
        x = std::max(-80.0F, 10.0F * std::log10(x / most + 1e-12F));
}

}  // namespace

Result<OnsetStrength> onset_strength(const Audio& audio, const Work& work) {
    const double rate = audio.rate.value();
    const std::vector<float> mono = mix(audio);
    const std::size_t size = good_fft_size(static_cast<std::size_t>(window_seconds * rate));
    const auto count = static_cast<std::size_t>(audio.duration() / strength_hop) + 1;
    const std::vector<Band> bands = make_bands(rate, size);
    Spectrum spectrum(mono, size);

    OnsetStrength s;
    s.start = audio.start_time();
    std::vector<std::vector<float>> log_bands(count, std::vector<float>(bands.size()));
    float loudest = 1e-12F;
    s.level.resize(count);
    s.low_level.resize(count);
    for (std::size_t t = 0; t < count; ++t) {
        if (t % 64 == 0 &&
            !work.report(0.9 * static_cast<double>(t) / static_cast<double>(count))) {
            return stopped_failure();
        }
        const auto centre = std::llround(static_cast<double>(t) * strength_hop.value() * rate);
        const auto& bins = spectrum.around(centre);
        float power = 0.0F;
        float low_power = 0.0F;
        for (std::size_t b = 0; b < bands.size(); ++b) {
            float sum = 0.0F;
            for (std::size_t k = bands[b].from; k < bands[b].to && k < bins.size(); ++k)
                sum += std::norm(bins[k]);
            log_bands[t][b] = std::sqrt(sum);
            power += sum;
            if (bands[b].centre < low_border_hz) low_power += sum;
            loudest = std::max(loudest, log_bands[t][b]);
        }
        s.level[t] = power;
        s.low_level[t] = low_power;
    }
    to_decibels(s.level);
    to_decibels(s.low_level);
    for (auto& frame : log_bands) {
        for (float& x : frame)
            x = std::log1p(static_cast<float>(compression) * x / loudest);
    }
    s.low.assign(count, 0.0F);
    s.mid = s.high = s.all = s.low;
    for (std::size_t t = lag; t < count; ++t) {
        const auto& now = log_bands[t];
        const auto& then = log_bands[t - lag];
        for (std::size_t b = 0; b < bands.size(); ++b) {
            float before = then[b];
            if (b > 0) before = std::max(before, then[b - 1]);
            if (b + 1 < bands.size()) before = std::max(before, then[b + 1]);
            const float rise = std::max(0.0F, now[b] - before);
            auto& row = bands[b].centre < low_border_hz    ? s.low
                        : bands[b].centre < high_border_hz ? s.mid
                                                           : s.high;
            row[t] += rise;
        }
    }
    for (auto* row : {&s.low, &s.mid, &s.high})
        to_unit_strength(*row);
    for (std::size_t t = 0; t < count; ++t)
        s.all[t] = s.low[t] + s.mid[t] + s.high[t];
    to_unit_strength(s.all);
    if (!work.report(1.0)) return stopped_failure();
    return s;
}

ChromaReader::ChromaReader(const Audio& audio) : start_(audio.start_time()) {
    constexpr double chroma_window = 0.19;  // resolves a semitone from 110 Hz up
    const double rate = audio.rate.value();
    const std::vector<float> mono = mix(audio);
    const std::size_t size = good_fft_size(static_cast<std::size_t>(chroma_window * rate));
    Spectrum spectrum(mono, size);
    const auto count = static_cast<std::size_t>(audio.duration() / hop_) + 1;
    sums_.assign(count + 1, {});
    for (std::size_t t = 0; t < count; ++t) {
        const auto& bins =
            spectrum.around(std::llround(static_cast<double>(t) * hop_.value() * rate));
        auto& c = sums_[t + 1];
        c = sums_[t];
        for (std::size_t k = 1; k < bins.size(); ++k) {
            const double f = static_cast<double>(k) * rate / static_cast<double>(size);
            if (f < 65.0 || f > 1000.0) continue;
            const int key = nearest_key(pitch_of(Hertz(f))).value();
            c[static_cast<std::size_t>(key % 12)] +=
                std::sqrt(static_cast<double>(std::abs(bins[k])));
        }
    }
}

Chroma ChromaReader::between(Seconds from, Seconds to) const {
    const auto frame = [&](Seconds t) {
        const double i = std::ceil((t - start_) / hop_);
        return static_cast<std::size_t>(std::clamp(i, 0.0, static_cast<double>(sums_.size() - 1)));
    };
    const auto& before = sums_[frame(from)];
    const auto& after = sums_[frame(std::max(from, to))];
    Chroma sum{};
    for (std::size_t k = 0; k < 12; ++k)
        sum[k] = static_cast<float>(after[k] - before[k]);
    float power = 0.0F;
    for (const float x : sum)
        power += x * x;
    if (power > 0.0F) {
        for (float& x : sum)
            x /= std::sqrt(power);
    }
    return sum;
}

}  // namespace bentline
