// From sound to line: evidence of each frame, the most probable path, the exact pitch on it.
#include "engine/pitch/tracker.h"

#include <algorithm>
#include <cmath>
#include <sstream>

#include "engine/pitch/difference.h"
#include "engine/pitch/front_end.h"
#include "engine/pitch/pitch_path.h"
#include "engine/pitch/tuning.h"

namespace bentline {

namespace {

constexpr Seconds shortest_window{0.010};
constexpr Seconds level_window{0.010};

// Everything about one frame that later steps need.
struct FrameSound {
    std::vector<PeriodCandidate> candidates;
    double level = -120.0;
};

std::optional<Failure> complaint(const Focus& focus, const TrackerSettings& s) {
    std::ostringstream what;
    what.imbue(std::locale::classic());
    if (!(focus.lowest < focus.highest) || focus.lowest < Pitch(23.0) ||
        focus.highest > Pitch(100.0)) {
        what << "the register from " << focus.lowest.value() << " to " << focus.highest.value()
             << " cannot be followed; give a lower and a higher note between 23 (B0) and 100 (E7)";
    } else if (!(std::abs(focus.place) <= 1.0) || !(focus.width >= 0.0 && focus.width <= 2.0)) {
        what << "the stage place " << focus.place << " with width " << focus.width
             << " is outside the stage; give a place from -1 to 1 and a width from 0 to 2";
    } else if (!(s.hop >= 2.0_ms && s.hop <= 20.0_ms)) {
        what << "a pitch line with points every " << s.hop.value()
             << " s cannot be made; give 0.002 to 0.02";
    } else if (!(s.floor >= Decibels(-120.0) && s.floor <= Decibels(0.0))) {
        what << "the level floor " << s.floor.value()
             << " dB is outside -120 to 0; give one inside";
    } else {
        return std::nullopt;
    }
    return Failure{FailureKind::out_of_range, what.str(), {}};
}

double rms_level(const std::vector<float>& x, std::size_t from, std::size_t to) {
    double sum = 0.0;
    for (std::size_t i = from; i < to; ++i)
        sum += static_cast<double>(x[i]) * static_cast<double>(x[i]);
    const double mean = sum / static_cast<double>(std::max<std::size_t>(1, to - from));
    return std::max(-120.0, 10.0 * std::log10(mean + 1e-12));
}

PitchGrid grid_for(const Focus& focus) {
    PitchGrid grid;
    grid.lowest = focus.lowest - Cents(100.0);
    // An octave above the register too: a sound that lies there must not be folded into it.
    const Cents span = (focus.highest + Cents(1200.0)) - grid.lowest;
    grid.bins = static_cast<std::size_t>(span / grid.step) + 1;
    return grid;
}

LagSearch search_for(const PitchGrid& grid, double rate) {
    LagSearch search;
    const double high = frequency(grid.pitch(grid.bins - 1)).value();
    const double low = frequency(grid.lowest).value();
    search.shortest = static_cast<std::size_t>(std::max(3.0, std::floor(rate / high)));
    search.longest = static_cast<std::size_t>(std::ceil(rate / low)) + 1;
    search.shortest_window = static_cast<std::size_t>(shortest_window.value() * rate);
    return search;
}

// Voiced likelihoods of the candidates, each spread a little so that neighbouring frames meet.
FrameEvidence evidence_of(const FrameSound& frame, const PitchGrid& grid, double rate,
                          Decibels floor) {
    FrameEvidence e;
    double heard = 0.0;
    if (frame.level > floor.value()) {
        for (const PeriodCandidate& c : frame.candidates) {
            const double p = std::max(c.probability, 0.02 * (1.0 - c.aperiodicity));
            const Pitch pitch = pitch_of(Hertz(rate / c.period));
            const std::size_t bin = grid.bin_of(pitch);
            if (bin == grid.bins) continue;
            heard += c.probability;
            for (int k = -2; k <= 2; ++k) {
                const auto at = static_cast<std::ptrdiff_t>(bin) + k;
                if (at < 0 || at >= static_cast<std::ptrdiff_t>(grid.bins)) continue;
                const double share = 1.0 - 0.3 * std::abs(k);
                e.heard.push_back({static_cast<std::size_t>(at), static_cast<float>(p * share)});
            }
        }
    }
    e.silent = static_cast<float>(0.5 * std::max(0.02, 1.0 - heard));
    return e;
}

// The candidate nearest to the path's pitch.
std::optional<Hertz> exact_pitch(const FrameSound& frame, Pitch on_path, double rate) {
    std::optional<Hertz> best;
    double nearest = 35.0;
    for (const PeriodCandidate& c : frame.candidates) {
        const Hertz f(rate / c.period);
        const double off = std::abs((pitch_of(f) - on_path).value());
        if (off < nearest) {
            nearest = off;
            best = f;
        }
    }
    return best;
}

bool inside(const Focus& focus, Hertz f) {
    const Pitch p = pitch_of(f);
    return p >= focus.lowest - register_margin && p <= focus.highest + register_margin;
}

}  // namespace

Result<PitchCurve> track_pitch(const Audio& audio, const Focus& focus,
                               const TrackerSettings& settings, const Work& work) {
    if (const auto bad = complaint(focus, settings)) return *bad;
    PitchCurve curve;
    curve.start = audio.start_time();
    curve.hop = settings.hop;
    if (!work.report(0.0)) return stopped_failure();
    if (audio.length() <= Frames(0) || audio.rate.value() <= 0) return curve;

    WorkingSignal sound = working_signal(audio, focus);
    const double rate = sound.rate;
    const PitchGrid grid = grid_for(focus);
    const LagSearch search = search_for(grid, rate);
    const std::size_t margin = reach(search) + 1;
    sound.samples.insert(sound.samples.begin(), margin, 0.0F);
    sound.samples.insert(sound.samples.end(), margin + 1, 0.0F);

    const double hops = audio.duration() / settings.hop;
    const auto count = static_cast<std::size_t>(std::ceil(hops - 1e-9));
    std::vector<FrameSound> frames(count);
    std::vector<FrameEvidence> evidence(count);
    const auto half = static_cast<std::size_t>(0.5 * level_window.value() * rate);
    for (std::size_t i = 0; i < count; ++i) {
        const auto at = static_cast<std::size_t>(
            std::lround(static_cast<double>(i) * settings.hop.value() * rate));
        const std::size_t middle = margin + at;
        frames[i].level = rms_level(sound.samples, middle - half, middle + half);
        if (frames[i].level > settings.floor.value()) {
            frames[i].candidates = period_candidates(sound.samples, middle, search);
        }
        evidence[i] = evidence_of(frames[i], grid, rate, settings.floor);
        if (i % 64 == 0 &&
            !work.report(0.7 * static_cast<double>(i) / static_cast<double>(count))) {
            return stopped_failure();
        }
    }

    auto path = most_probable_path(grid, evidence, PathSettings{}, work.part(0.7, 1.0));
    if (!path) return path.failure();
    curve.points.resize(count);
    for (std::size_t i = 0; i < count; ++i) {
        const PathPoint& on = path.value()[i];
        PitchPoint& p = curve.points[i];
        p.level = Decibels(frames[i].level);
        p.confidence = on.probability;
        if (on.voiced) {
            const Hertz f = exact_pitch(frames[i], grid.pitch(on.bin), rate)
                                .value_or(frequency(grid.pitch(on.bin)));
            if (inside(focus, f)) p.f0 = f;
        }
        if (!p.f0 && !frames[i].candidates.empty()) {
            const Hertz f(rate / frames[i].candidates.front().period);
            if (inside(focus, f)) p.leaning = f;
        }
    }
    curve.tuning = estimate_tuning(curve).value_or(Cents(0.0));
    return curve;
}

}  // namespace bentline
