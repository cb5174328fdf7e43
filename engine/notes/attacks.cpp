// Evidence of plucks, frame by frame, and the plucks that it adds up to.
#include "engine/notes/attacks.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <span>

#include "engine/notes/attack_model.h"
#include "engine/notes/envelopes.h"
#include "engine/transform/eight_ffts.h"
#include "engine/transform/fft.h"

namespace bentline::notes {

namespace {

constexpr std::size_t kept_frames = 8;
constexpr double floor_power = 1e-12;

double decibels_of(double power) {
    return 10.0 * std::log10(std::max(power, floor_power));
}

// Quarter-tone bands of a spectrum, as [first bin, last bin].
std::vector<std::pair<std::size_t, std::size_t>> make_bands(double bin_hz, std::size_t bins,
                                                            int per_octave) {
    std::vector<std::pair<std::size_t, std::size_t>> bands;
    std::size_t last = 0;
    for (double f = 80.0; f < 12000.0; f *= std::exp2(1.0 / per_octave)) {
        const auto bin = static_cast<std::size_t>(std::lround(f / bin_hz));
        if (bin + 1 >= bins) break;
        if (bin <= last) continue;
        bands.emplace_back(last + 1, bin);
        last = bin;
    }
    return bands;
}

// Of rows of eight: (re^2 + im^2) * scale.
BENTLINE_WIDE_LANES
void powers(const float* re, const float* im, std::size_t rows, float scale, float* out) {
    for (std::size_t i = 0; i < lanes * rows; ++i)
        out[i] = (re[i] * re[i] + im[i] * im[i]) * scale;
}

struct Frame {
    std::vector<float> power;  // a bin; a full-scale sine is about 1 in its largest bin
    std::vector<float> bands;  // log magnitude
};

class Spectra {
  public:
    Spectra(const LeadSignal& lead, const NoteSettings& settings)
        : lead_(lead),
          size_(good_fft_size(
              static_cast<std::size_t>(std::max(32.0, settings.flux_window.value() * lead.rate)))),
          fft_(size_),
          window_(make_window(Window::hann, size_)),
          bands_(make_bands(bin_hz(), fft_.bins(), settings.bands_per_octave)),
          in_(size_ * lanes),
          real_(fft_.bins() * lanes),
          imaginary_(fft_.bins() * lanes),
          power_(fft_.bins() * lanes),
          band_peak_(bands_.size() * lanes) {}

    double bin_hz() const { return lead_.rate / static_cast<double>(size_); }
    std::size_t band_count() const { return bands_.size(); }

    // Takes the spectra of eight frames, the first centred on `seconds`; outside the signal there
    // is silence.
    void look(double seconds, double hop) {
        std::array<std::ptrdiff_t, lanes> from;
        for (std::size_t k = 0; k < lanes; ++k) {
            const double middle = seconds + hop * static_cast<double>(k) - lead_.start;
            from[k] = static_cast<std::ptrdiff_t>(std::lround(middle * lead_.rate)) -
                      static_cast<std::ptrdiff_t>(size_ / 2);
        }
        fft_.cut(lead_.samples, from, window_, in_);
        fft_.forward(in_, real_, imaginary_);
        powers(real_.data(), imaginary_.data(), fft_.bins(),
               16.0F / static_cast<float>(size_ * size_), power_.data());
        greatest_row(power_.data(), 0, fft_.bins(), peak_.data());
        for (std::size_t b = 0; b < bands_.size(); ++b) {
            greatest_row(power_.data(), bands_[b].first, bands_[b].second + 1,
                         band_peak_.data() + lanes * b);
        }
    }

    // Each of them, in order.
    void read(std::size_t which, Frame& frame) {
        frame.power.resize(fft_.bins());
        for (std::size_t k = 0; k < fft_.bins(); ++k)
            frame.power[k] = power_[lanes * k + which];
        // The loudest recent magnitude sets what counts as quiet: soft passages have attacks too.
        const float peak = std::sqrt(peak_[which]);
        reference_ = std::max({peak, reference_ * 0.9965F, 1e-4F});
        frame.bands.resize(bands_.size());
        for (std::size_t b = 0; b < bands_.size(); ++b) {
            frame.bands[b] =
                std::log1p(100.0F * std::sqrt(band_peak_[lanes * b + which]) / reference_);
        }
    }

    // Power around each of the first ten harmonics of a pitch; `out` gets as many as lie below 6
    // kHz.
    void harmonics(const Frame& frame, double hertz, std::vector<double>& out) const {
        out.clear();
        for (int k = 1; k <= 10; ++k) {
            const double bin = k * hertz / bin_hz();
            const auto middle = static_cast<std::size_t>(std::lround(bin));
            if (k * hertz > 6000.0 || middle + 2 >= frame.power.size() || middle < 1) break;
            double p = 0.0;
            for (std::size_t j = middle - 1; j <= middle + 1; ++j)
                p += static_cast<double>(frame.power[j]);
            out.push_back(p / 1.5);
        }
    }

  private:
    const LeadSignal& lead_;
    std::size_t size_;
    EightFfts fft_;
    std::vector<float> window_;
    std::vector<std::pair<std::size_t, std::size_t>> bands_;
    // Rows of eight, one value a frame.
    std::vector<float> in_;
    std::vector<float> real_, imaginary_;
    std::vector<float> power_;
    std::vector<float> band_peak_;
    std::array<float, lanes> peak_{};
    float reference_ = 1e-4F;
};

double flux(const Frame& now, const Frame& before) {
    double sum = 0.0;
    const std::size_t n = now.bands.size();
    for (std::size_t b = 0; b < n; ++b) {
        float widest = before.bands[b];
        if (b > 0) widest = std::max(widest, before.bands[b - 1]);
        if (b + 1 < n) widest = std::max(widest, before.bands[b + 1]);
        sum += static_cast<double>(std::max(0.0F, now.bands[b] - widest));
    }
    return n > 0 ? sum / static_cast<double>(n) : 0.0;
}

// The pitch followed at a time, or a little later (an attack comes before its pitch).
std::optional<double> pitch_near(const FineLine& line, double time) {
    if (line.size() == 0) return std::nullopt;
    for (const double ahead : {0.015, 0.025, 0.04, 0.005}) {
        const std::size_t i = line.index_of(time + ahead);
        if (line.voiced[i]) return 440.0 * std::exp2((line.cents[i] - 6900.0) / 1200.0);
    }
    return std::nullopt;
}

std::optional<double> pitch_before(const FineLine& line, double time) {
    for (const double back : {0.015, 0.025, 0.01}) {
        const std::size_t i = line.index_of(time - back);
        if (line.voiced[i]) return 440.0 * std::exp2((line.cents[i] - 6900.0) / 1200.0);
    }
    return std::nullopt;
}

double sum_of(const std::vector<double>& v) {
    double s = 0.0;
    for (const double x : v)
        s += x;
    return s;
}

// A string that is struck again while it sounds breaks off its own repetition and may swerve, even
// where an amplifier holds the level. After `purity` and `trust_around`.
void read_break(const FineLine& line, std::size_t before, std::size_t after, EvidenceVector& e) {
    const bool both = line.voiced[before] && line.voiced[after];
    const double slope = both ? (line.cents[after] - line.cents[before]) /
                                    static_cast<double>(std::max<std::size_t>(1, after - before))
                              : 0.0;
    double least_quality = 1.0;
    double least_trust = 1.0;
    for (std::size_t i = before; i <= after; ++i) {
        least_trust = std::min(least_trust, line.voiced[i] ? line.trust[i] : 0.0);
        if (!line.voiced[i] || i < before + 2 || i + 2 > after) continue;
        least_quality = std::min(least_quality, line.quality[i]);
        if (!both) continue;
        const double between = line.cents[before] + slope * static_cast<double>(i - before);
        e[swerve] = std::max(e[swerve], std::min(1.5, std::abs(line.cents[i] - between) / 100.0));
    }
    e[likeness_dip] = std::max(0.0, e[purity] - least_quality);
    e[trust_dip] = std::max(0.0, e[trust_around] - least_trust);
}

// What the line says around a time: a step of the pitch, an entrance.
void read_line(const FineLine& line, double time, EvidenceVector& e) {
    const std::size_t before = line.index_of(time - 0.02);
    const std::size_t after = line.index_of(time + 0.02);
    const bool was = line.voiced[before] != 0;
    const bool is = line.voiced[after] != 0;
    if (was && is) {
        e[pitch_step] = std::min(1.5, std::abs(line.cents[after] - line.cents[before]) / 100.0);
    }
    e[entrance] = is && !was ? 1.0 : 0.0;
    e[followed] = was || is ? 1.0 : 0.0;
    constexpr std::array around = {-0.06, -0.045, -0.03, 0.03, 0.045, 0.06};  // seconds
    double sum = 0.0;
    double trust = 0.0;
    double n = 0.0;
    for (const double away : around) {
        const std::size_t i = line.index_of(time + away);
        if (!line.voiced[i]) continue;
        sum += line.quality[i];
        trust += line.trust[i];
        n += 1.0;
    }
    e[purity] = n > 0.0 ? sum / n : 0.0;
    e[trust_around] = trust / static_cast<double>(around.size());
    read_break(line, before, after, e);
}

// The flux above its median over 125 ms to either side.
void add_surprise(std::vector<EvidenceVector>& evidence, double hop) {
    const auto n = static_cast<std::ptrdiff_t>(evidence.size());
    const auto reach = static_cast<std::ptrdiff_t>(0.125 / hop);
    std::vector<double> around;
    for (std::ptrdiff_t t = 0; t < n; ++t) {
        around.clear();
        for (std::ptrdiff_t s = std::max<std::ptrdiff_t>(0, t - reach);
             s <= std::min(n - 1, t + reach); ++s) {
            around.push_back(evidence[static_cast<std::size_t>(s)][flux_rise]);
        }
        const auto middle = around.begin() + static_cast<std::ptrdiff_t>(around.size() / 2);
        std::nth_element(around.begin(), middle, around.end());
        EvidenceVector& e = evidence[static_cast<std::size_t>(t)];
        e[flux_surprise] = std::max(0.0, std::log((e[flux_rise] + 0.03) / (*middle + 0.03)));
    }
}

// Each kind of evidence peaks at a moment of its own: the greatest of a frame and its neighbours.
EvidenceVector gathered(const std::vector<EvidenceVector>& evidence, std::size_t t) {
    EvidenceVector most = evidence[t];
    for (std::size_t s = t > 0 ? t - 1 : t; s <= std::min(t + 1, evidence.size() - 1); ++s) {
        for (std::size_t k = 0; k < followed; ++k)
            most[k] = std::max(most[k], evidence[s][k]);
    }
    return most;
}

}  // namespace

std::size_t Attacks::frame_at(double seconds) const {
    if (level.empty()) return 0;
    const double at = std::round((seconds - start) / hop);
    return static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(level.size() - 1)));
}

Attacks find_attacks(const LeadSignal& lead, const FineLine& line, const NoteSettings& settings,
                     const Work& work) {
    Attacks out;
    out.hop = settings.flux_hop.value();
    out.start = lead.start;
    if (lead.samples.empty() || line.size() == 0) return out;
    const auto count = static_cast<std::size_t>((lead.end() - lead.start) / out.hop) + 1;
    out.log_odds.assign(count, pluck_log_odds({}));
    out.level.assign(count, -120.0);
    out.sound.assign(count, -120.0);
    std::vector<EvidenceVector> evidence(count);

    const Envelopes envelopes(lead);
    Spectra spectra(lead, settings);
    const auto lag = static_cast<std::size_t>(
        std::clamp(std::lround(settings.flux_lag.value() / out.hop), 1L, 4L));
    std::array<Frame, kept_frames> ring;
    for (auto& frame : ring) {
        frame.power.assign(1, 0.0F);
        frame.bands.assign(spectra.band_count(), 0.0F);
    }
    std::vector<double> now;
    std::vector<double> then;
    // Frame `t` is judged when the spectrum after it has been read.
    for (std::size_t n = 0; n <= count; ++n) {
        if (n % 256 == 0 && !work.report(static_cast<double>(n) / static_cast<double>(count)))
            return {};
        Frame& newest = ring[n % kept_frames];
        if (n % lanes == 0) spectra.look(out.start + out.hop * static_cast<double>(n), out.hop);
        spectra.read(n % lanes, newest);
        if (n == 0) continue;
        const std::size_t t = n - 1;
        const double time = out.start + out.hop * static_cast<double>(t);
        EvidenceVector& e = evidence[t];
        const auto before = [&](std::size_t back) -> const Frame& {
            return ring[(n + kept_frames - std::min(back, n)) % kept_frames];
        };
        e[flux_rise] = std::min(3.0, flux(newest, before(lag)));
        e[burst_rise] = std::clamp(envelopes.burst_rise(time) / 10.0, 0.0, 2.5);
        e[level_rise] = std::clamp(envelopes.level_rise(time) / 10.0, -0.5, 2.5);
        out.sound[t] = envelopes.level(time);
        const auto hertz = pitch_near(line, time);
        if (hertz) {
            // Harmonic against harmonic, wherever the pitch was before: a slide is no pluck.
            const double hertz_before = pitch_before(line, time).value_or(*hertz);
            spectra.harmonics(newest, *hertz, now);
            spectra.harmonics(before(4), hertz_before, then);
            double rise = 0.0;
            double weight = 0.0;
            for (std::size_t k = 0; k < std::min(now.size(), then.size()); ++k) {
                const double w = std::sqrt(now[k]);
                rise += w * std::clamp(decibels_of(now[k]) - decibels_of(then[k]), -10.0, 25.0);
                weight += w;
            }
            if (weight > 1e-6) e[harmonic_rise] = rise / weight / 10.0;
            double least = decibels_of(sum_of(then));
            double most = least;
            for (std::size_t back = 2; back < kept_frames; ++back) {
                spectra.harmonics(before(back), back < 4 ? *hertz : hertz_before, then);
                const double level = decibels_of(sum_of(then));
                least = std::min(least, level);
                most = std::max(most, level);
            }
            const double after = decibels_of(sum_of(now));
            e[harmonic_dip] = std::clamp((std::min(after, most) - least) / 10.0, 0.0, 2.0);
        }
        const std::size_t i = line.index_of(time);
        if (line.voiced[i]) {
            spectra.harmonics(before(1), 440.0 * std::exp2((line.cents[i] - 6900.0) / 1200.0), now);
            out.level[t] = std::max(-120.0, decibels_of(sum_of(now)));
        }
        read_line(line, time, e);
    }
    add_surprise(evidence, out.hop);
    std::vector<EvidenceVector> all(count);
    for (std::size_t t = 0; t < count; ++t) {
        all[t] = gathered(evidence, t);
        if (all[t][followed] > 0.0)
            all[t][lead_share] = std::clamp((out.level[t] - out.sound[t]) / 10.0, -3.0, 0.5);
        out.log_odds[t] = pluck_log_odds(all[t]);
    }

    const std::ptrdiff_t reach = std::lround(settings.closest_plucks.value() / out.hop / 2.0);
    const auto last = static_cast<std::ptrdiff_t>(count) - 1;
    for (std::ptrdiff_t t = 0; t <= last; ++t) {
        const double here = out.log_odds[static_cast<std::size_t>(t)];
        if (here < -4.0) continue;
        bool top = true;
        for (std::ptrdiff_t s = std::max<std::ptrdiff_t>(0, t - reach);
             s <= std::min(last, t + reach); ++s) {
            const double other = out.log_odds[static_cast<std::size_t>(s)];
            if (other > here || (s < t && other >= here)) top = false;
        }
        if (!top) continue;
        const double rough = out.start + out.hop * static_cast<double>(t);
        const double time = envelopes.attack_start(rough);
        const bool close =
            !out.plucks.empty() && time - out.plucks.back().time < settings.closest_plucks.value();
        const Pluck pluck{time, here, all[static_cast<std::size_t>(t)]};
        if (!close) {
            out.plucks.push_back(pluck);
        } else if (here > out.plucks.back().log_odds) {
            out.plucks.back() = pluck;
        }
    }
    return out;
}

}  // namespace bentline::notes
