// What to practise, in which order, how fast to begin, and which inflections to copy. [any]
#pragma once

#include <string>
#include <vector>

#include "engine/draft/draft.h"
#include "engine/lesson/figures.h"

namespace bentline {

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

// A phrase as a student takes it up, short ones joined to a neighbour.
struct PhraseToPractise {
    std::size_t first = 0;  // indices of notes, [first, last)
    std::size_t last = 0;
    std::string where;        // "bars 3–4"
    double busiest = 0.0;     // notes a second, over its six closest notes
    std::vector<int> speeds;  // percent, in order
};

// Every note once: the phrase with the most time between its notes first, the fastest last; of two
// alike, the earlier one (common practice, no source). A phrase of fewer than four notes is taken
// up with the neighbour that it is nearer to.
std::vector<PhraseToPractise> phrases_in_order(const Draft& draft, const LessonFigures& figures);

// How a note is inflected, in words and measured figures: "bent up a ¼ tone (52 ± 4 c)". One for
// each inflection that has more to it than its sign (staccato and accent have not); "perhaps"
// before one whose figure is less than two standard errors.
std::vector<std::string> inflections_in_words(const Note& note, const std::optional<Key>& key);

}  // namespace bentline
