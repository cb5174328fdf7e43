// A take as the engine hears it, beside what is true of it.
#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "engine/notes/weighing.h"
#include "engine/pitch/tracker.h"
#include "tests/corpus/metrics.h"
#include "tests/corpus/scoreboard.h"
#include "tests/corpus/take.h"

namespace bentline::testing {

struct Listened {
    PitchCurve curve;
    std::vector<notes::WeighedNote> weighed;
};

inline std::optional<Listened> listen_to(const corpus::Take& take) {
    auto curve = track_pitch(take.audio, Focus{});
    if (!curve) return std::nullopt;
    auto weighed = notes::weigh_notes(take.audio, *curve, Focus{}, {}, {}, {});
    if (!weighed) return std::nullopt;
    return Listened{std::move(*curve), std::move(*weighed)};
}

// Which true note each of these is, by mir_eval's onset and pitch; -1 for none.
inline std::vector<int> partners(const corpus::Take& take, const std::vector<Note>& found,
                                 Cents tuning) {
    std::vector<corpus::ScoredNote> truth;
    std::vector<corpus::ScoredNote> heard;
    for (const Note& n : take.truth.notes)
        truth.push_back(corpus::scored(n, take.truth.tuning));
    for (const Note& n : found)
        heard.push_back(corpus::scored(n, tuning));
    std::vector<int> partner(found.size(), -1);
    for (const auto& [t, h] : corpus::match_notes(truth, heard, {}))
        partner[h] = static_cast<int>(t);
    return partner;
}

}  // namespace bentline::testing
