// Beat following, step by step.
#include "engine/bars/beats.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/bars/clues.h"
#include "engine/bars/onset_strength.h"
#include "engine/bars/swing.h"
#include "engine/bars/tempo.h"
#include "engine/median.h"

namespace bentline {
namespace {

constexpr float silence_db = -60.0F;  // re the loudest moment
constexpr Seconds least_sound{2.0};
// The middle moment of a click track is silence but for its noise; a band rings on.
constexpr float clicks_alone_db = -40.0F;
// A band's beats are struck at 2 to 7 times the strength's RMS; a held note has nothing on them.
constexpr double least_on = 1.0;

Failure too_short() {
    return {FailureKind::empty,
            "The excerpt is too short or too quiet to have beats: choose at least a few bars, or "
            "tap them",
            {}};
}

// From the first to the last moment that sounds.
Range<std::size_t> sounding_frames(const OnsetStrength& s) {
    const auto sounds = [](float level) { return level > silence_db; };
    const auto first = std::find_if(s.level.begin(), s.level.end(), sounds);
    if (first == s.level.end()) return {0, 0};
    const auto last = std::find_if(s.level.rbegin(), s.level.rend(), sounds);
    return {static_cast<std::size_t>(first - s.level.begin()),
            s.size() - static_cast<std::size_t>(last - s.level.rbegin())};
}

float median_between(const std::vector<float>& row, double from, double to) {
    const auto first = static_cast<std::size_t>(std::max(0.0, from));
    const auto last = std::min(row.size(), static_cast<std::size_t>(std::max(0.0, to)));
    if (first >= last) return -80.0F;
    std::vector<float> values(row.begin() + static_cast<std::ptrdiff_t>(first),
                              row.begin() + static_cast<std::ptrdiff_t>(last));
    return median(std::move(values));
}

std::vector<Metre> metres_of(const BeatSettings& settings) {
    if (settings.metre) return {*settings.metre};
    return {{4, 4}, {3, 4}, {6, 8}, {12, 8}};
}

bool mostly_between(const Clues& clues) {
    return clues[static_cast<std::size_t>(Clue::on)] <
           0.4 * clues[static_cast<std::size_t>(Clue::half)];
}

// How many of the first bars hold a count-in: no bass, and nothing that lasts between the strokes.
// Four bars at most: what is longer is music.
std::size_t count_in_bars(const OnsetStrength& s, const BeatRow& row,
                          const std::vector<std::size_t>& downbeats) {
    constexpr float without_bass = 12.0F;  // dB below the usual bar, and
    constexpr float without_tone = 10.0F;
    constexpr std::size_t most = 4;
    if (downbeats.size() < 4) return 0;
    std::vector<float> low;
    std::vector<float> lasting;
    for (std::size_t i = 0; i + 1 < downbeats.size(); ++i) {
        const double from = row[downbeats[i]];
        const double to = row[downbeats[i + 1]] - 3.0;  // the bass may come in early by a hair
        low.push_back(median_between(s.low_level, from, to));
        lasting.push_back(median_between(s.level, from, to));
    }
    const auto size = static_cast<double>(low.size());
    const float usual_low = median_between(low, 0.0, size);
    const float usual_lasting = median_between(lasting, 0.0, size);
    std::size_t bars = 0;
    while (bars < low.size() && low[bars] < usual_low - without_bass &&
           lasting[bars] < usual_lasting - without_tone) {
        ++bars;
    }
    return bars <= most && bars + 2 < downbeats.size() ? bars : 0;
}

}  // namespace

std::vector<Seconds> FollowedBeats::downbeat_times() const {
    std::vector<Seconds> times;
    for (const std::size_t i : downbeats)
        times.push_back(beats[i]);
    return times;
}

Result<Heard> hear(const Audio& audio, const Work& work) {
    auto strength = onset_strength(audio, work.part(0.0, 0.7));
    if (!strength) return strength.failure();
    const Range<std::size_t> sounding = sounding_frames(*strength);
    if (strength_hop * static_cast<double>(sounding.to - sounding.from) < least_sound)
        return too_short();
    ChromaReader chroma(audio);
    if (!work.report(1.0)) return stopped_failure();
    const bool tonal = median_between(strength->level, static_cast<double>(sounding.from),
                                      static_cast<double>(sounding.to)) > clicks_alone_db;
    return Heard{std::move(strength).value(), std::move(chroma), sounding, tonal};
}

std::vector<RowReadings> all_readings(const Heard& heard, const BeatSettings& settings) {
    std::vector<RowReadings> all;
    for (BeatRow& row : beat_rows(heard, settings)) {
        auto readings = readings_of(heard, row, metres_of(settings));
        // Off-beats may be struck harder than beats, but beats are struck.
        if (!readings.empty() && !mostly_between(readings.front().clues))
            all.push_back({std::move(row), std::move(readings)});
    }
    return all;
}

Result<FollowedBeats> follow_beats(const Audio& audio, const BeatSettings& settings,
                                   const Work& work) {
    if (settings.tempo_hint &&
        !(*settings.tempo_hint >= Tempo(30.0) && *settings.tempo_hint <= Tempo(320.0))) {
        return Failure{FailureKind::out_of_range,
                       "The tempo hint must lie between 30 and 320 beats a minute",
                       {}};
    }
    const auto heard = hear(audio, work.part(0.0, 0.7));
    if (!heard) return heard.failure();
    const auto all = all_readings(*heard, settings);
    const BeatRow* row = nullptr;
    const Reading* best = nullptr;
    for (const RowReadings& r : all) {
        for (const Reading& reading : r.readings) {
            if (best == nullptr || reading.score > best->score) {
                best = &reading;
                row = &r.row;
            }
        }
    }
    if (best == nullptr) return too_short();
    if (best->clues[static_cast<std::size_t>(Clue::on)] < least_on) {
        return Failure{FailureKind::empty,
                       "Nobody keeps a beat here: choose a stretch with the band, or tap the beats",
                       {}};
    }
    if (!work.report(0.9)) return stopped_failure();

    FollowedBeats followed;
    followed.tempo = tempo_of(strength_hop * median_length(*row));
    followed.metre = settings.metre.value_or(best->metre());
    for (const double f : *row)
        followed.beats.push_back(heard->strength.time_of(f));
    for (std::size_t i = best->first; i < row->size();
         i += static_cast<std::size_t>(best->beats_per_bar)) {
        followed.downbeats.push_back(i);
    }
    const std::size_t counted = count_in_bars(heard->strength, *row, followed.downbeats);
    if (counted > 0) {
        followed.downbeats.erase(followed.downbeats.begin(),
                                 followed.downbeats.begin() + static_cast<std::ptrdiff_t>(counted));
        followed.count_in = static_cast<int>(followed.downbeats.front());
    }
    if (!best->threes) {
        if (const auto share = off_beat(heard->strength, *row)) {
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
