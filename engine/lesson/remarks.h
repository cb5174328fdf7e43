// What a teacher would say about the solo: sentences, each with where it happens and its figure.
// [any]
#pragma once

#include <string>
#include <vector>

#include "engine/draft/draft.h"
#include "engine/lesson/figures.h"

namespace bentline {

struct Remark {
    std::string topic;     // "phrases", "density", "register", "dynamics", "insistence", "sweeps",
                           // "call and answer", "inflections", "harmony", "rhythm"
    std::string sentence;  // in words
    std::string figure;    // what was measured
    std::vector<Seconds> places;
    std::string where;  // the places in words; empty where it is the whole solo
};

// In the order of the topics above; only what happens.
std::vector<Remark> remarks_on(const Draft& draft, const LessonFigures& figures);

// Something to practise, bound to a span.
struct Exercise {
    std::string where;  // "bars 3–4"
    SecondsRange span;
    std::string what;
    std::vector<int> speeds;  // percent, in order
};

// The hardest places: the fastest bars, bends to tune, sweeps, wide vibrato. At most six.
std::vector<Exercise> exercises_for(const Draft& draft, const LessonFigures& figures);

// Speeds from where at most four notes a second come (but at least 40 %, at most 80 %) up to 100 %
// in steps of 10 (common practice, no source).
std::vector<int> speed_steps(double notes_per_second);

}  // namespace bentline
