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

}  // namespace bentline
