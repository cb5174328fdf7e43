// Measured times of gestures, and the usual ones in their place.
#include "engine/notes/gesture_spans.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <numbers>

namespace bentline {

namespace {

constexpr Seconds usual_slide_step{0.03};  // a semitone of a slide
constexpr double most_of_slide = 0.4;      // of the note's length, for a slide so filled in
constexpr Seconds usual_bend_rise{0.12};
constexpr double usual_release = 0.3;       // of the note's length, at its end
constexpr Seconds usual_vibrato_wait{0.1};  // of plain note before a vibrato

Seconds usual_slide(const Note& note, int semitones) {
    return std::min(usual_slide_step * std::abs(semitones),
                    (note.offset - note.onset) * most_of_slide);
}

}  // namespace

SecondsRange slide_in_span(const Note& note, const SlideIn& slide, int semitones) {
    if (slide.span && !slide.span->empty()) {
        // The pluck is where the slide begins.
        return {note.onset, std::clamp(slide.span->to, note.onset + Seconds(0.001), note.offset)};
    }
    return {note.onset, note.onset + usual_slide(note, semitones)};
}

SecondsRange slide_away_span(const Note& note, const std::optional<SecondsRange>& measured,
                             int semitones) {
    if (measured && !measured->empty() && measured->from < note.offset) {
        return {std::max(measured->from, note.onset), note.offset};
    }
    return {note.offset - usual_slide(note, semitones), note.offset};
}

BendSpans bend_spans(const Note& note, const Bend& bend) {
    const Seconds length = note.offset - note.onset;
    BendSpans spans{{note.onset, note.onset}, {}};
    if (!bend.prebend) {
        const Seconds start = std::clamp(bend.start.value_or(note.onset), note.onset, note.offset);
        const Seconds usual_peak = start + std::min(usual_bend_rise, length * 0.5);
        spans.rise = {start, std::clamp(bend.peak.value_or(usual_peak), start, note.offset)};
    }
    if (bend.release) {
        const SecondsRange fall = bend.release_span.value_or(
            SecondsRange{note.offset - length * usual_release, note.offset});
        const Seconds from = std::max(fall.from, spans.rise.to);
        spans.fall = SecondsRange{from, std::max(fall.to, from)};
    }
    return spans;
}

SecondsRange vibrato_span(const Note& note, const Vibrato& vibrato) {
    const Seconds wait = std::min(usual_vibrato_wait, (note.offset - note.onset) * 0.25);
    return vibrato.span.value_or(SecondsRange{note.onset + wait, note.offset});
}

double eased(double share) {
    return 0.5 - 0.5 * std::cos(std::numbers::pi * std::clamp(share, 0.0, 1.0));
}

double eased(Seconds t, const SecondsRange& over) {
    if (t <= over.from) return 0.0;
    return t >= over.to ? 1.0 : eased((t - over.from) / (over.to - over.from));
}

}  // namespace bentline
