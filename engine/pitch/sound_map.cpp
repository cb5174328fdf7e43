// Short spectra, gathered on a logarithmic frequency axis and set against their surroundings.
#include "engine/pitch/sound_map.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/transform/eight_ffts.h"
#include "engine/transform/fft.h"

namespace bentline {

namespace {

constexpr double window_seconds = 0.093;
// Room and overlapping partials move a partial's place about this much.
constexpr double stage_blur = 0.3;
constexpr float loudness_range = 60.0F;   // dB
constexpr std::size_t relief_reach = 27;  // bins to each side
constexpr double usual_reach = 4.0;       // seconds to each side
constexpr double usual_step = 0.25;
// The usual level is never taken to lie further under that of the whole.
constexpr float furthest_under = 15.0F;  // dB
constexpr float least_usual = -70.0F;    // dB re full scale

float decibels_of_power(float power) {
    return 10.0F * std::log10(power + 1e-12F);
}

// Where a bin of the map looks in the spectrum.
struct Look {
    std::size_t below = 0;  // spectrum bins on both sides of the middle …
    float share = 0.0F;     // … and how far the middle lies between them
    std::size_t from = 0;   // spectrum bins wholly inside, half-open
    std::size_t to = 0;
};

std::vector<Look> looks(double bin_hz, std::size_t spectrum) {
    std::vector<Look> out(map_bins);
    const double half_step = 50.0 / static_cast<double>(map_per_semitone);
    for (std::size_t k = 0; k < map_bins; ++k) {
        const Pitch p = map_lowest + Cents(2.0 * half_step * static_cast<double>(k));
        const double at = frequency(p).value() / bin_hz;
        Look& look = out[k];
        if (at + 2.0 >= static_cast<double>(spectrum)) continue;  // past the end: the silent bin 0
        look.below = static_cast<std::size_t>(at);
        look.share = static_cast<float>(at - std::floor(at));
        look.from =
            static_cast<std::size_t>(std::ceil(frequency(p - Cents(half_step)).value() / bin_hz));
        look.to = std::min(
            spectrum,
            static_cast<std::size_t>(std::floor(frequency(p + Cents(half_step)).value() / bin_hz)) +
                1);
    }
    return out;
}

BENTLINE_WIDE_LANES
void powers(const float* re, const float* im, std::size_t n, float gain, float* out) {
    for (std::size_t i = 0; i < n; ++i)
        out[i] = gain * (re[i] * re[i] + im[i] * im[i]);
}

// Rows of eight, one value a moment.
struct Spectrum {
    std::vector<float> re, im;
};

// Powers of the mix, and where on the stage they lie.
BENTLINE_WIDE_LANES
void powers_and_places(const Spectrum& l, const Spectrum& r, float gain, float left, float right,
                       float* power, float* place) {
    const std::size_t n = l.re.size();
    for (std::size_t i = 0; i < n; ++i) {
        const float re = left * l.re[i] + right * r.re[i];
        const float im = left * l.im[i] + right * r.im[i];
        power[i] = gain * (re * re + im * im);
        const float here = l.re[i] * l.re[i] + l.im[i] * l.im[i];
        const float there = r.re[i] * r.re[i] + r.im[i] * r.im[i];
        place[i] = (there - here) / (there + here + 1e-20F);
    }
}

// The greatest power inside a bin of the map, and its place.
BENTLINE_WIDE_LANES
void loudest_inside(const Look& l, const float* power, const float* place, float* most,
                    float* where) {
    Lanes below;
    load(below, power + lanes * l.below);
    Lanes above;
    load(above, power + lanes * (l.below + 1));
    Lanes top = (1.0F - l.share) * below + l.share * above;
    Lanes at;
    load(at, place + lanes * (l.share < 0.5F ? l.below : l.below + 1));
    for (std::size_t b = l.from; b < l.to; ++b) {
        Lanes p;
        load(p, power + lanes * b);
        Lanes here;
        load(here, place + lanes * b);
        at = p > top ? here : at;
        top = p > top ? p : top;
    }
    store(most, top);
    store(where, at);
}

BENTLINE_WIDE_LANES
void sum_rows(const float* rows, std::size_t n, float* out) {
    Lanes sum{};
    for (std::size_t k = 0; k < n; ++k) {
        Lanes v;
        load(v, rows + lanes * k);
        sum += v;
    }
    store(out, sum);
}

// Looks at eight moments at once.
class Observer {
  public:
    explicit Observer(const WorkingSignal& sound)
        : sound_(sound),
          window_(make_window(
              Window::hann, good_fft_size(static_cast<std::size_t>(window_seconds * sound.rate)))),
          fft_(window_.size()),
          looks_(looks(sound.rate / static_cast<double>(window_.size()), fft_.bins())),
          cut_(window_.size() * lanes),
          power_(fft_.bins() * lanes),
          place_(fft_.bins() * lanes),
          most_(map_bins * lanes),
          where_(map_bins * lanes) {
        for (auto* v : {&left_.re, &left_.im, &right_.re, &right_.im})
            v->resize(fft_.bins() * lanes);
    }

    using Middles = std::array<std::size_t, lanes>;

    // Power of the followed mix in each bin (a sine of amplitude a on a bin: a^2), and its place.
    void look(const Middles& middles) {
        const float scale = 4.0F / static_cast<float>(window_.size());
        const float gain = scale * scale;
        if (!sound_.stereo()) {
            transform(sound_.mix, middles, left_);
            powers(left_.re.data(), left_.im.data(), power_.size(), gain, power_.data());
            gather();
            return;
        }
        transform(sound_.left, middles, left_);
        transform(sound_.right, middles, right_);
        powers_and_places(left_, right_, gain, static_cast<float>(sound_.weights.left),
                          static_cast<float>(sound_.weights.right), power_.data(), place_.data());
        if (sound_.width < 2.0) fade_elsewhere();
        gather();
    }

    // Fills the planes of loudness (still dB re full scale) and place from one of the moments
    // looked at last; returns its level, dB.
    float read(std::size_t which, std::span<float> loudness, std::span<float> place) const {
        for (std::size_t k = 0; k < map_bins; ++k) {
            if (looks_[k].below == 0) {
                loudness[k] = -120.0F;
                place[k] = 0.0F;
                continue;
            }
            loudness[k] = decibels_of_power(most_[lanes * k + which]);
            place[k] = where_[lanes * k + which];
        }
        return decibels_of_power(whole_[which]);
    }

  private:
    void transform(const std::vector<float>& x, const Middles& middles, Spectrum& out) {
        std::array<std::ptrdiff_t, lanes> from;
        for (std::size_t k = 0; k < lanes; ++k) {
            from[k] = static_cast<std::ptrdiff_t>(middles[k]) -
                      static_cast<std::ptrdiff_t>(window_.size() / 2);
        }
        fft_.cut(x, from, window_, cut_);
        fft_.forward(cut_, out.re, out.im);
    }

    // Leaves the constant part out, and brings the spectra onto the map's bins.
    void gather() {
        std::fill_n(power_.begin(), lanes, 0.0F);
        for (std::size_t k = 0; k < map_bins; ++k) {
            if (looks_[k].below == 0) continue;
            loudest_inside(looks_[k], power_.data(), place_.data(), most_.data() + lanes * k,
                           where_.data() + lanes * k);
        }
        sum_rows(power_.data(), fft_.bins(), whole_.data());
    }

    void fade_elsewhere() {
        for (std::size_t i = 0; i < power_.size(); ++i) {
            // Under the constant-power pan law this is the sine of the angle from the centre.
            const double where = std::asin(std::clamp(static_cast<double>(place_[i]), -1.0, 1.0)) *
                                 (2.0 / 3.14159265358979323846);
            const double outside =
                std::max(0.0, std::abs(where - sound_.place) - 0.5 * sound_.width);
            const double blur = outside / stage_blur;
            power_[i] *= static_cast<float>(std::exp(-2.0 * blur * blur));
        }
    }

    const WorkingSignal& sound_;
    std::vector<float> window_;
    EightFfts fft_;
    std::vector<Look> looks_;
    std::vector<float> cut_;
    Spectrum left_, right_;
    std::vector<float> power_;
    std::vector<float> place_;
    std::vector<float> most_;   // the greatest power inside a bin of the map …
    std::vector<float> where_;  // … and its place
    std::array<float, lanes> whole_{};
};

float upper_quartile(const std::vector<float>& values, std::size_t from, std::size_t to) {
    std::vector<float> some(values.begin() + static_cast<std::ptrdiff_t>(from),
                            values.begin() + static_cast<std::ptrdiff_t>(to));
    const auto at = static_cast<std::ptrdiff_t>(3 * some.size() / 4);
    std::nth_element(some.begin(), some.begin() + at, some.end());
    return some[static_cast<std::size_t>(at)];
}

// The usual level around each moment, dB.
std::vector<float> usual_levels(const std::vector<float>& levels) {
    const std::size_t n = levels.size();
    std::vector<float> out(n);
    const auto reach = static_cast<std::size_t>(usual_reach / map_hop.value());
    const auto step = static_cast<std::size_t>(usual_step / map_hop.value());
    const float whole = upper_quartile(levels, 0, n);
    for (std::size_t i = 0; i < n; i += step) {
        const std::size_t from = i > reach ? i - reach : 0;
        const float here = upper_quartile(levels, from, std::min(n, i + reach));
        const float v = std::max({here, whole - furthest_under, least_usual});
        std::fill(out.begin() + static_cast<std::ptrdiff_t>(i),
                  out.begin() + static_cast<std::ptrdiff_t>(std::min(n, i + step)), v);
    }
    return out;
}

// Sets one moment's loudness against the usual level and its own neighbourhood.
void relate(std::span<float> loudness, std::span<float> relief, std::span<float> place,
            float usual) {
    std::vector<double> sum(map_bins + 1, 0.0);
    for (std::size_t k = 0; k < map_bins; ++k) {
        loudness[k] = std::max(loudness[k], usual - loudness_range - 10.0F);
        sum[k + 1] = sum[k] + static_cast<double>(loudness[k]);
    }
    for (std::size_t k = 0; k < map_bins; ++k) {
        const std::size_t from = k > relief_reach ? k - relief_reach : 0;
        const std::size_t to = std::min(map_bins, k + relief_reach + 1);
        const auto mean =
            static_cast<float>((sum[to] - sum[from]) / static_cast<double>(to - from));
        relief[k] = std::clamp((loudness[k] - mean) / 20.0F, -1.0F, 2.0F);
    }
    for (std::size_t k = 0; k < map_bins; ++k) {
        loudness[k] =
            std::clamp((loudness[k] - usual + loudness_range) / loudness_range, 0.0F, 1.25F);
        place[k] *= std::min(1.0F, loudness[k]);
    }
}

}  // namespace

Result<SoundMap> sound_map(const WorkingSignal& sound, std::size_t margin, std::size_t frames,
                           const Work& work) {
    SoundMap map;
    map.frames = frames;
    map.values.resize(frames * map_planes * map_bins);
    if (frames == 0) return map;
    Observer observer(sound);
    std::vector<float> levels(frames);
    const auto plane = [&](std::size_t frame, MapPlane which) {
        return std::span(map.values).subspan((frame * map_planes + which) * map_bins, map_bins);
    };
    for (std::size_t first = 0; first < frames; first += lanes) {
        Observer::Middles middles;
        for (std::size_t k = 0; k < lanes; ++k) {
            middles[k] = margin + static_cast<std::size_t>(std::lround(
                                      static_cast<double>(std::min(first + k, frames - 1)) *
                                      map_hop.value() * sound.rate));
        }
        observer.look(middles);
        for (std::size_t i = first; i < std::min(first + lanes, frames); ++i)
            levels[i] = observer.read(i - first, plane(i, map_loudness), plane(i, map_place));
        if (first % 64 == 0 &&
            !work.report(static_cast<double>(first) / static_cast<double>(frames)))
            return stopped_failure();
    }
    const std::vector<float> usual = usual_levels(levels);
    for (std::size_t i = 0; i < frames; ++i) {
        relate(plane(i, map_loudness), plane(i, map_relief), plane(i, map_place), usual[i]);
    }
    return map;
}

}  // namespace bentline
