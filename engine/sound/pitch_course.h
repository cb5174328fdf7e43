// The pitch of one note from moment to moment: its key and what its inflections do to it.
//
// A plain value of fixed size, read on the audio thread. Times are recording time. A bend rises and
// falls as a raised cosine through its measured start, peak and release; a slide steps through the
// frets in equal times or glides; vibrato is a sine of its rate and depth, let in and out over a
// quarter of a cycle; a trill steps to its neighbour and back. What was not measured but is needed
// to sound it is filled in by engine/notes/gesture_spans.h; a slide from or to nowhere gets a usual
// distance.
#pragma once

#include <optional>

#include "engine/notes/note.h"
#include "engine/units.h"

namespace bentline {

// How a slide passes the frets: in steps, as fingers do on a fretted neck, or without steps.
enum class SlideManner { stepped, gliding };

class PitchCourse {
  public:
    PitchCourse() = default;
    // next: the key that a slide to the next note arrives at, if that note follows.
    PitchCourse(const Note& note, std::optional<MidiKey> next, SlideManner manner);
    // The bare key, without inflections.
    explicit PitchCourse(MidiKey key) : base_(key) {}

    // The pitch at a time; before the note as at its onset, after it as at its end. Steps from fret
    // to fret take `ramp`, centred on their moment, so that they do not click. ramp > 0. [audio]
    Pitch at(Seconds t, Seconds ramp) const;
    // Slides away to nowhere: the sound dies on the way, from `from` on by `dies` until the end.
    std::optional<SecondsRange> dying() const;

    friend bool operator==(const PitchCourse&, const PitchCourse&) = default;

  private:
    // Through the frets from `from` to `to`, both semitones from the key.
    struct Run {
        bool there = false;
        SecondsRange span;
        int from = 0;
        int to = 0;
        bool sounds_last = false;  // its end sounds as long as the other steps
        friend bool operator==(const Run&, const Run&) = default;
    };
    struct BendLine {
        bool there = false;
        double size = 0.0;  // cents
        bool prebent = false;
        SecondsRange rise;
        bool released = false;
        SecondsRange fall;
        friend bool operator==(const BendLine&, const BendLine&) = default;
    };
    struct Shake {
        double depth = 0.0;  // cents; 0: none
        double rate = 0.0;   // Hz
        SecondsRange span;
        friend bool operator==(const Shake&, const Shake&) = default;
    };

    void add_slides(const Note& note, std::optional<MidiKey> next);
    void add_bend(const Note& note, const Bend& bend);
    double run_at(const Run& run, Seconds t, Seconds ramp) const;

    Pitch base_;
    SlideManner manner_ = SlideManner::stepped;
    Run in_;
    Run out_;
    bool to_nowhere_ = false;
    BendLine bend_;
    Shake shake_;
    int trill_ = 0;  // semitones; 0: none
    SecondsRange sounds_;
};

}  // namespace bentline
