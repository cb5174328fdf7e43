// Beat following, step by step.
#include "engine/bars/beats.h"

#include <algorithm>
#include <cmath>

#include "engine/bars/downbeats.h"
#include "engine/bars/onset_strength.h"
#include "engine/bars/tempo.h"

namespace bentline {
namespace {

constexpr float silence_db = -60.0F;  // re the loudest moment
constexpr Seconds least_sound{2.0};

// From the first to the last moment that sounds.
Range<std::size_t> sounding_frames(const OnsetStrength& s) {
    const auto sounds = [](float level) { return level > silence_db; };
    const auto first = std::find_if(s.level.begin(), s.level.end(), sounds);
    if (first == s.level.end()) return {0, 0};
    const auto last = std::find_if(s.level.rbegin(), s.level.rend(), sounds);
    return {static_cast<std::size_t>(first - s.level.begin()),
            s.size() - static_cast<std::size_t>(last - s.level.rbegin())};
}

Metre metre_of(int beats_per_bar, bool three) {
    return three ? Metre{beats_per_bar * 3, 8} : Metre{beats_per_bar, 4};
}

// Beats a bar may have: three or four; in three, two (6/8) or four (12/8).
std::vector<int> choices_of(const BeatSettings& settings, bool three) {
    if (settings.metre) return {settings.metre->beats_per_bar()};
    return three ? std::vector<int>{4, 2} : std::vector<int>{4, 3};
}

}  // namespace

std::vector<Seconds> FollowedBeats::downbeat_times() const {
    std::vector<Seconds> times;
    for (const std::size_t i : downbeats)
        times.push_back(beats[i]);
    return times;
}

Result<FollowedBeats> follow_beats(const Audio& audio, const BeatSettings& settings,
                                   const Work& work) {
    if (settings.tempo_hint &&
        !(*settings.tempo_hint >= Tempo(30.0) && *settings.tempo_hint <= Tempo(320.0))) {
        return Failure{FailureKind::out_of_range,
                       "The tempo hint must lie between 30 and 320 beats a minute",
                       {}};
    }
    const auto strength = onset_strength(audio, work.part(0.0, 0.5));
    if (!strength) return strength.failure();
    const OnsetStrength& s = *strength;
    const Range<std::size_t> sounding = sounding_frames(s);
    const Failure too_short{
        FailureKind::empty,
        "The excerpt is too short or too quiet to have beats: choose at least a few bars, "
        "or tap them",
        {}};
    if (strength_hop * static_cast<double>(sounding.to - sounding.from) < least_sound)
        return too_short;
    const ChromaReader chroma(audio);
    if (!work.report(0.7)) return stopped_failure();
    const auto candidates = tempo_candidates(s, chroma, sounding, settings);
    if (candidates.empty()) return too_short;
    if (!work.report(0.8)) return stopped_failure();
    const std::vector<double>& frames = candidates.front().path.frames;

    FollowedBeats followed;
    followed.tempo = candidates.front().evidence.tempo;
    for (const double f : frames)
        followed.beats.push_back(s.time_of(f));
    const bool three = settings.metre ? settings.metre->compound() : in_three(s, frames);
    const Downbeats bars = find_downbeats(s, chroma, frames, choices_of(settings, three));
    followed.metre = settings.metre.value_or(metre_of(bars.beats_per_bar, three));
    for (std::size_t i = bars.first; i < frames.size();
         i += static_cast<std::size_t>(bars.beats_per_bar)) {
        followed.downbeats.push_back(i);
    }
    if (!three) {
        if (const auto share = off_beat(s, frames)) {
            followed.swing_ratio = std::clamp(*share / (1.0 - *share), 1.0, 4.0);
        }
    }
    if (!work.report(1.0)) return stopped_failure();
    return followed;
}

Result<BarMap> to_bar_map(const FollowedBeats& followed) {
    const std::size_t one = followed.downbeats.empty() ? 0 : followed.downbeats.front();
    return BarMap::from_beats(followed.beats, static_cast<int>(one), followed.metre);
}

}  // namespace bentline
