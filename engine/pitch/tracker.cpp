// From sound to line: hypotheses of each moment, what speaks for them, the most probable path, the
// exact pitch on it.
#include "engine/pitch/tracker.h"

#include <algorithm>
#include <cmath>
#include <locale>
#include <span>
#include <sstream>
#include <utility>
#include <vector>

#include "engine/pitch/damped_tails.h"
#include "engine/pitch/evidence.h"
#include "engine/pitch/exact_pitch.h"
#include "engine/pitch/front_end.h"
#include "engine/pitch/hypotheses.h"
#include "engine/pitch/lead_net.h"
#include "engine/pitch/pitch_path.h"
#include "engine/pitch/steady_line.h"
#include "engine/pitch/tuning.h"

namespace bentline {

namespace {

// Up to this aperiodicity below the sixth partial the period says the pitch better than the
// partials of the longer window do: beyond it another sound, however soft, pulls at the period, and
// a quick change of pitch blurs both alike. Chosen on generated music, alone and in bands.
constexpr double clear_enough = 0.01;
// Farther than this from the hypothesis its partials are another sound's.
constexpr double farthest_partials_cents = 40.0;
// How sure it is that nobody plays where a tail was found. Measured on generated music.
constexpr double tail_certainty = 0.9;

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

PitchGrid grid_for(const Focus& focus) {
    PitchGrid grid;
    grid.lowest = focus.lowest - Cents(100.0);
    // An octave above the register too: a sound that lies there must not be folded into it.
    const Cents span = (focus.highest + Cents(1200.0)) - grid.lowest;
    grid.bins = static_cast<std::size_t>(span / grid.step) + 1;
    return grid;
}

// The hypothesis nearest to the path's pitch; nullptr where none is near.
const Hypothesis* nearest_to(const Moment& moment, Pitch on_path) {
    const Hypothesis* best = nullptr;
    double nearest = 45.0;
    for (const Hypothesis& h : moment.hypotheses) {
        const double off = std::abs((pitch_of(Hertz(h.hz)) - on_path).value());
        if (off >= nearest) continue;
        nearest = off;
        best = &h;
    }
    return best;
}

// Where the partials of the hypothesis nearest to the path's pitch lie, or the path's own pitch. A
// period of the whole sound is no match: other sounds pull at it, and so do a stiff string's upper
// partials.
Hertz near_path(const Moment& moment, Pitch on_path) {
    const Hypothesis* const h = nearest_to(moment, on_path);
    if (!h) return frequency(on_path);
    const bool own =
        std::abs(interval(Hertz(h->hz), Hertz(h->fit.hz)).value()) < farthest_partials_cents;
    return Hertz(own ? h->fit.hz : h->hz);
}

// Takes the soloist's tails in the room out of the path, but for what is known for certain.
std::vector<PathPoint> without_tails(std::vector<PathPoint> path, std::span<const Moment> moments,
                                     const PitchGrid& grid, Seconds hop, KnownPitches known) {
    std::vector<HeardMoment> heard(path.size());
    for (std::size_t i = 0; i < path.size(); ++i) {
        heard[i].level = moments[i].brief_level;
        if (!path[i].voiced) continue;
        const Pitch on_path = grid.pitch(path[i].bin);
        const Hypothesis* const h = nearest_to(moments[i], on_path);
        heard[i].pitch = h ? Hertz(h->hz) : frequency(on_path);
        heard[i].aperiodicity = h ? h->aperiodicity : 1.0;
    }
    const std::vector<bool> tails = damped_tails(heard, hop);
    for (std::size_t i = 0; i < path.size(); ++i) {
        if (!tails[i] || (!known.empty() && known[i])) continue;
        path[i].voiced = false;
        path[i].probability = tail_certainty;
    }
    return path;
}

bool inside(const Focus& focus, Hertz f) {
    const Pitch p = pitch_of(f);
    return p >= focus.lowest - register_margin && p <= focus.highest + register_margin;
}

}  // namespace

Result<PitchCurve> track_pitch(const Audio& audio, const Focus& focus,
                               const TrackerSettings& settings, const Work& work) {
    return track_pitch(audio, focus, PathHints{}, settings, work);
}

Result<PitchCurve> track_pitch(const Audio& audio, const Focus& focus, const PathHints& hints,
                               const TrackerSettings& settings, const Work& work) {
    if (const auto bad = complaint(focus, settings)) return *bad;
    PitchCurve curve;
    curve.start = audio.start_time();
    curve.hop = settings.hop;
    if (!work.report(0.0)) return stopped_failure();
    if (audio.length() <= Frames(0) || audio.rate.value() <= 0) return curve;

    const PitchGrid grid = grid_for(focus);
    const std::size_t margin = listening_margin(grid, working_rate(audio.rate));
    const WorkingSignal sound = working_signal(audio, focus, margin + 1);
    const auto count = static_cast<std::size_t>(std::ceil(audio.duration() / settings.hop - 1e-9));
    // Beyond what the network knows, the classical measures go alone.
    const bool network = settings.network && focus.lowest >= lead_lowest + register_margin &&
                         focus.highest <= lead_highest - register_margin;
    std::optional<LeadView> view;
    if (network) {
        const auto known =
            certain_pitches(hints, curve.start, map_hop, lead_frames(audio.duration()));
        auto seen = view_lead(sound, margin + 1, audio.duration(), known, work.part(0.05, 0.3));
        if (!seen) return seen.failure();
        view = std::move(seen).value();
    }
    const LeadView* const asked = view ? &*view : nullptr;
    auto heard = listen(sound, margin + 1, settings.hop, count, grid, settings.floor, asked,
                        work.part(0.3, 0.8));
    if (!heard) return heard.failure();
    const std::vector<Moment>& moments = heard.value();
    const auto known = certain_pitches(hints, curve.start, settings.hop, count);
    const std::vector<MomentMeasures> measures = measure(moments, settings.hop, asked, grid, known);
    const std::vector<FrameEvidence> evidence =
        heeding(weigh(moments, measures, fitted_model(network), grid, settings.trust), hints, grid,
                curve.start, settings.hop);

    auto likeliest = most_probable_path(grid, evidence, settings.path, work.part(0.85, 1.0));
    if (!likeliest) return likeliest.failure();
    const std::vector<PathPoint> path =
        without_tails(std::move(likeliest).value(), moments, grid, settings.hop, known);
    std::vector<std::optional<Hertz>> rough(count);
    for (std::size_t i = 0; i < count; ++i) {
        const PathPoint& on = path[i];
        if (on.voiced) rough[i] = near_path(moments[i], grid.pitch(on.bin));
    }
    const auto exact = exact_pitches(sound, margin + 1, settings.hop, rough);
    std::vector<std::optional<Hertz>> line = std::move(rough);
    std::vector<bool> clear(count, false);
    for (std::size_t i = 0; i < count; ++i) {
        clear[i] = exact[i] && exact[i]->aperiodicity < clear_enough;
        if (clear[i]) line[i] = exact[i]->f0;
    }
    line = steady_line(line, clear);
    curve.points.resize(count);
    for (std::size_t i = 0; i < count; ++i) {
        const PathPoint& on = path[i];
        PitchPoint& p = curve.points[i];
        p.level = Decibels(moments[i].level);
        p.confidence = on.probability;
        if (on.voiced) {
            if (inside(focus, *line[i])) p.f0 = *line[i];
        }
        if (!p.f0 && !moments[i].hypotheses.empty()) {
            const Hertz f(moments[i].hypotheses.front().hz);
            if (inside(focus, f)) p.leaning = f;
        }
        for (std::size_t k = 0; k < p.rivals.size(); ++k) {
            const PathPoint::Other& other = on.others[k];
            if (!(other.probability > 0.0)) continue;
            const Hertz f = near_path(moments[i], grid.pitch(other.bin));
            if (inside(focus, f)) p.rivals[k] = {f, other.probability};
        }
    }
    curve.tuning = hints.tuning ? *hints.tuning : estimate_tuning(curve).value_or(Cents(0.0));
    return curve;
}

}  // namespace bentline
