// How far measured figures may be off: standard errors of pitches, sizes, rates and times.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "engine/notes/fine_line.h"
#include "engine/notes/note.h"
#include "engine/notes/note_settings.h"
#include "engine/notes/reading.h"

namespace bentline::notes {

// Each error is the root of two squares: what the scatter of the line says (least-squares theory),
// times a factor for what theory leaves out, and a least error that no steadiness of the line takes
// away (a sample's own drift, a hand that is no cosine). Both were fitted on generated takes, apart
// for notes that sound alone and for those among others, so that 68 of 100 true values lie within
// one error, among the sure ones as among the unsure (tests/notes/fit_models.cpp errors).
struct ErrorScale {
    double factor = 1.0;
    double least = 0.0;  // in the figure's unit
};
enum class Measured : std::size_t { cents, bend, rate, depth, arrival, leaving, leaving_on, count };
// Notes whose sound is at least this much like itself one lag on (the mean over the note) sound
// alone.
inline constexpr double alone_likeness = 0.85;
const ErrorScale& error_scale(Measured figure, bool alone);

// Sets every `_error` of a note whose figures are set. note: made from `read`.
void state_errors(Note& note, const ReadNote& read, const FineLine& line,
                  const std::vector<double>& weights, const NoteSettings& settings);

}  // namespace bentline::notes
