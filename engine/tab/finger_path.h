// The path of least effort through the ways of all notes. Inside engine/tab only.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "engine/tab/finger_rules.h"

namespace bentline {

// Which earlier answers a path must differ from: on at least `least` notes of `passage` by string,
// from each of them.
struct Difference {
    NoteSpan passage;
    int least = 0;
    std::vector<std::vector<int>>
        strings;  // of each earlier answer, one a note; at most two answers
};

struct FingerPath {
    std::vector<Way> ways;  // one a note
    double effort = 0.0;
};

// choices[i]: the ways of note i to choose from. Empty where no path keeps the rules. Failure:
// stopped. Exact: no path within the choices that keeps the rules and differs as asked has less
// effort.
Result<std::optional<FingerPath>> least_effort(const FingerRules& rules,
                                               const std::vector<std::vector<Way>>& choices,
                                               const Difference& difference, const Work& work);

}  // namespace bentline
