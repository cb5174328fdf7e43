// Periods from the difference function and pitches from harmonic sums, brought together.
#include "engine/pitch/hypotheses.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/pitch/peaks.h"

namespace bentline {

namespace {

constexpr double shortest_window_seconds = 0.010;
constexpr double level_window_seconds = 0.010;
constexpr std::size_t most_from_salience = 9;
constexpr std::size_t most_from_periods = 5;
constexpr double same_pitch_cents = 40.0;
// What the network gives less of a chance is not worth a hypothesis of its own.
constexpr double least_seen = 0.08;
// Room and overlapping partials move a partial's place about this much.
constexpr double stage_blur = 0.3;

LagSearch search_for(const PitchGrid& grid, double rate) {
    LagSearch search;
    const double high = frequency(grid.pitch(grid.bins - 1)).value();
    const double low = frequency(grid.lowest).value();
    search.shortest = static_cast<std::size_t>(std::max(3.0, std::floor(rate / high)));
    search.longest = static_cast<std::size_t>(std::ceil(rate / low)) + 1;
    search.shortest_window = static_cast<std::size_t>(shortest_window_seconds * rate);
    return search;
}

double rms_level(std::span<const float> x) {
    double sum = 0.0;
    for (const float v : x)
        sum += static_cast<double>(v) * static_cast<double>(v);
    return std::max(-120.0, 10.0 * std::log10(sum / static_cast<double>(x.size()) + 1e-12));
}

// Over whole periods the level of a steady tone has no ripple, however short the window.
double brief_level(std::span<const float> mix, std::size_t middle, const PeriodEvidence& periods,
                   double rate) {
    const double least = 0.005 * rate;
    double length = least;
    if (!periods.candidates.empty()) {
        const double period = periods.candidates.front().period;
        length = period * std::ceil(least / period);
    }
    const auto samples = static_cast<std::size_t>(std::lround(std::min(length, 0.02 * rate)));
    return rms_level(mix.subspan(middle - samples / 2, samples));
}

// Fades the partials that come from elsewhere on the stage.
void keep_stage(std::vector<SpectralPeak>& peaks, const WorkingSignal& sound) {
    if (!sound.stereo() || sound.width >= 2.0) return;
    for (SpectralPeak& p : peaks) {
        const double outside =
            std::max(0.0, std::abs(static_cast<double>(p.place) - sound.place) - 0.5 * sound.width);
        const double blur = outside / stage_blur;
        const auto gain = static_cast<float>(std::exp(-blur * blur));
        p.amplitude *= gain;
        p.white *= gain;
    }
}

double cents_between(double a, double b) {
    return 1200.0 * std::abs(std::log2(a / b));
}

// The strongest local maxima of the salience, as frequencies.
std::vector<double> salient(std::span<const float> salience, const PitchGrid& grid) {
    struct Top {
        double hz;
        float value;
    };
    std::vector<Top> tops;
    for (std::size_t b = 1; b + 1 < salience.size(); ++b) {
        const float v = salience[b];
        if (v <= 0.0F || v < salience[b - 1] || v <= salience[b + 1]) continue;
        const float curve = salience[b - 1] - 2.0F * v + salience[b + 1];
        const float shift =
            curve < 0.0F ? 0.5F * (salience[b - 1] - salience[b + 1]) / curve : 0.0F;
        const Pitch p = grid.pitch(b) + grid.step * static_cast<double>(shift);
        tops.push_back({frequency(p).value(), v});
    }
    std::stable_sort(tops.begin(), tops.end(),
                     [](const Top& a, const Top& b) { return a.value > b.value; });
    std::vector<double> out;
    for (const Top& t : tops) {
        if (out.size() == most_from_salience || t.value < 0.1F * tops.front().value) break;
        if (std::any_of(out.begin(), out.end(),
                        [&](double f) { return cents_between(f, t.hz) < same_pitch_cents; })) {
            continue;
        }
        out.push_back(t.hz);
    }
    return out;
}

void add_pitch(std::vector<Hypothesis>& list, double hz, const PitchGrid& grid) {
    if (grid.bin_of(pitch_of(Hertz(hz))) == grid.bins) return;
    Hypothesis h;
    h.hz = hz;
    list.push_back(h);
}

void gather(Moment& moment, const PeriodEvidence& periods, std::span<const SpectralPeak> peaks,
            Salience* salience, const PitchGrid& grid, double rate, std::span<const Pitch> seen) {
    std::vector<Hypothesis>& list = moment.hypotheses;
    std::size_t taken = 0;
    for (const PeriodCandidate& c : periods.candidates) {
        if (taken == most_from_periods) break;
        const std::size_t before = list.size();
        add_pitch(list, rate / c.period, grid);
        if (list.size() == before) continue;
        list.back().dip = true;
        list.back().probability = c.probability;
        ++taken;
    }
    const std::size_t dips = list.size();
    if (salience && !peaks.empty()) {
        for (const double f : salient(salience->of(peaks), grid)) {
            const auto close = [&](const Hypothesis& h) {
                return cents_between(h.hz, f) < same_pitch_cents;
            };
            if (std::any_of(list.begin(), list.begin() + static_cast<std::ptrdiff_t>(dips),
                            close)) {
                continue;
            }
            add_pitch(list, f, grid);
        }
    }
    for (const Pitch p : seen) {
        const double f = frequency(p).value();
        if (std::none_of(list.begin(), list.end(), [&](const Hypothesis& h) {
                return cents_between(h.hz, f) < same_pitch_cents;
            })) {
            add_pitch(list, f, grid);
        }
    }
    for (Hypothesis& h : list) {
        h.fit = fit_harmonics(peaks, h.hz);
        h.aperiodicity = periods.aperiodicity(rate / h.hz);
        h.half_aperiodicity = periods.aperiodicity(0.5 * rate / h.hz);
        if (!h.dip && cents_between(h.fit.hz, h.hz) < same_pitch_cents) h.hz = h.fit.hz;
    }
}

}  // namespace

std::size_t listening_margin(const PitchGrid& grid, double rate) {
    return std::max(reach(search_for(grid, rate)), PeakFinder(rate).size() / 2) + 2;
}

Result<std::vector<Moment>> listen(const WorkingSignal& sound, std::size_t margin, Seconds hop,
                                   std::size_t count, const PitchGrid& grid, Decibels floor,
                                   const LeadView* view, const Work& work) {
    std::vector<Moment> moments(count);
    const double rate = sound.rate;
    const LagSearch search = search_for(grid, rate);
    PeakFinder finder(rate);
    Salience salience(grid);
    const auto half = static_cast<std::size_t>(0.5 * level_window_seconds * rate);
    const auto gain_left = static_cast<float>(sound.weights.left);
    const auto gain_right = static_cast<float>(sound.weights.right);
    const auto middle_of = [&](std::size_t i) {
        return margin +
               static_cast<std::size_t>(std::lround(static_cast<double>(i) * hop.value() * rate));
    };
    for (std::size_t first = 0; first < count; first += lanes) {
        const std::size_t end = std::min(first + lanes, count);
        std::array<std::size_t, lanes> from;
        bool any = false;
        for (std::size_t k = 0; k < lanes; ++k) {
            const std::size_t i = std::min(first + k, end - 1);
            const std::size_t middle = middle_of(i);
            from[k] = middle - finder.size() / 2;
            moments[i].level = rms_level(std::span(sound.mix).subspan(middle - half, 2 * half));
            any = any || moments[i].level > floor.value();
        }
        if (any) {
            if (sound.stereo())
                finder.look(sound.left, sound.right, from, gain_left, gain_right);
            else
                finder.look(sound.mix, {}, from, 1.0F, 0.0F);
        }
        for (std::size_t i = first; i < end; ++i) {
            Moment& moment = moments[i];
            if (!(moment.level > floor.value())) continue;
            const PeriodEvidence periods = period_evidence(sound.mix, middle_of(i), search);
            std::vector<SpectralPeak> peaks = finder.peaks(i - first);
            moment.brief_level = brief_level(sound.mix, middle_of(i), periods, rate);
            keep_stage(peaks, sound);
            std::vector<Pitch> seen;
            if (view) seen = view->likely(hop * static_cast<double>(i), least_seen);
            gather(moment, periods, peaks, view ? nullptr : &salience, grid, rate, seen);
        }
        if (first % 64 == 0 &&
            !work.report(static_cast<double>(first) / static_cast<double>(count))) {
            return stopped_failure();
        }
    }
    return moments;
}

}  // namespace bentline
