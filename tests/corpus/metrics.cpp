// mir_eval's measures of melody and transcription.
#include "tests/corpus/metrics.h"

#include <algorithm>
#include <cmath>

namespace bentline::corpus {

namespace {

// mir_eval rounds times to four decimals before comparing, so that "exactly 50 ms" counts.
double rounded(double seconds) {
    return std::round(seconds * 1e4) / 1e4;
}

bool fits(const ScoredNote& t, const ScoredNote& e, const NoteTolerance& tolerance) {
    if (rounded(std::abs((t.onset - e.onset).value())) > tolerance.onset.value()) return false;
    if (std::abs(interval(t.pitch, e.pitch).value()) > tolerance.pitch.value()) return false;
    if (!tolerance.offsets) return true;
    const double allowed = std::max(0.2 * (t.offset - t.onset).value(), 0.05);
    return rounded(std::abs((t.offset - e.offset).value())) <= allowed;
}

// Kuhn's augmenting paths: finds a place for true note t, moving others if need be.
bool place(std::size_t t, const std::vector<std::vector<std::size_t>>& fitting,
           std::vector<bool>& tried, std::vector<std::optional<std::size_t>>& taken_by) {
    for (std::size_t e : fitting[t]) {
        if (tried[e]) continue;
        tried[e] = true;
        if (!taken_by[e] || place(*taken_by[e], fitting, tried, taken_by)) {
            taken_by[e] = t;
            return true;
        }
    }
    return false;
}

}  // namespace

MelodyScore score_melody(const PitchRows& truth, const PitchRows& estimate) {
    const std::size_t rows = std::min(truth.size(), estimate.size());
    double voiced = 0, silent = 0, within_50 = 0, within_25 = 0, within_10 = 0, chroma = 0,
           recalled = 0, alarms = 0, right = 0;
    for (std::size_t i = 0; i < rows; ++i) {
        const bool heard = estimate[i].has_value();
        if (!truth[i]) {
            ++silent;
            heard ? ++alarms : ++right;
            continue;
        }
        ++voiced;
        if (!heard) continue;
        ++recalled;
        const double off = std::abs(interval(*truth[i], *estimate[i]).value());
        if (off < 50.0) ++within_50, ++right;
        if (off < 25.0) ++within_25;
        if (off < 10.0) ++within_10;
        if (std::abs(off - 1200.0 * std::floor(off / 1200.0 + 0.5)) < 50.0) ++chroma;
    }
    MelodyScore s;
    if (rows == 0) return s;
    if (voiced > 0) {
        s.raw_pitch_50 = within_50 / voiced;
        s.raw_pitch_25 = within_25 / voiced;
        s.raw_pitch_10 = within_10 / voiced;
        s.raw_chroma = chroma / voiced;
    }
    s.voicing_recall = voiced > 0 ? recalled / voiced : 1.0;
    s.false_alarm = silent > 0 ? alarms / silent : 0.0;
    s.overall = right / static_cast<double>(rows);
    return s;
}

std::vector<std::pair<std::size_t, std::size_t>> match_notes(std::span<const ScoredNote> truth,
                                                             std::span<const ScoredNote> estimate,
                                                             const NoteTolerance& tolerance) {
    std::vector<std::vector<std::size_t>> fitting(truth.size());
    for (std::size_t t = 0; t < truth.size(); ++t) {
        for (std::size_t e = 0; e < estimate.size(); ++e) {
            if (fits(truth[t], estimate[e], tolerance)) fitting[t].push_back(e);
        }
        // Of several largest matchings, one whose onsets lie close.
        std::stable_sort(fitting[t].begin(), fitting[t].end(), [&](std::size_t a, std::size_t b) {
            return std::abs((estimate[a].onset - truth[t].onset).value()) <
                   std::abs((estimate[b].onset - truth[t].onset).value());
        });
    }
    std::vector<std::optional<std::size_t>> taken_by(estimate.size());
    for (std::size_t t = 0; t < truth.size(); ++t) {
        std::vector<bool> tried(estimate.size(), false);
        place(t, fitting, tried, taken_by);
    }
    std::vector<std::pair<std::size_t, std::size_t>> pairs;
    for (std::size_t e = 0; e < estimate.size(); ++e) {
        if (taken_by[e]) pairs.emplace_back(*taken_by[e], e);
    }
    std::sort(pairs.begin(), pairs.end());
    return pairs;
}

Hits hits(std::size_t matched, std::size_t of_truth, std::size_t of_estimate) {
    Hits h;
    if (of_truth == 0 || of_estimate == 0) return h;
    h.precision = static_cast<double>(matched) / static_cast<double>(of_estimate);
    h.recall = static_cast<double>(matched) / static_cast<double>(of_truth);
    if (matched > 0) h.f1 = 2.0 * h.precision * h.recall / (h.precision + h.recall);
    return h;
}

Hits score_notes(std::span<const ScoredNote> truth, std::span<const ScoredNote> estimate,
                 const NoteTolerance& tolerance) {
    return hits(match_notes(truth, estimate, tolerance).size(), truth.size(), estimate.size());
}

}  // namespace bentline::corpus
