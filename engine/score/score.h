// The score: one solo as it stands on paper, a plain value that the window draws and exports write.
//
// A score is a row of measures; a measure is a row of events (heads and rests) whose lengths add up
// to the measure's exactly. One voice: a single line has no chords. Everything is counted in ticks,
// so sums are exact. Pitches are as they sound; written guitar music stands an octave higher, which
// a clef or a reader of this value does. Measures own what stands over or under the staff at a
// place: chord symbols, section letters, dynamics. Every head and grace note names its draft note.
// [any]
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "engine/bars/form.h"
#include "engine/bars/metre.h"
#include "engine/draft/note_list.h"
#include "engine/units.h"

namespace bentline {

// Written time. 480 ticks are a quarter: halves to sixty-fourths, triplets and sextuplets of them
// are whole numbers of ticks.
using Ticks = Quantity<struct TicksTag, std::int64_t>;
inline constexpr Ticks quarter{480};

// A spelled pitch. octave: scientific, middle C = C4 (B#3 sounds the same, Cb4 a semitone lower).
struct SpelledPitch {
    char step = 'C';  // 'A' to 'G'
    int alter = 0;    // semitones: -2 double flat … 2 double sharp
    int octave = 4;
    MidiKey key() const;
    friend bool operator==(const SpelledPitch&, const SpelledPitch&) = default;
};
// "Eb4", "F#3", "Bbb5".
std::string to_text(const SpelledPitch& pitch);

// The shape of a head or rest: 1 whole, 2 half, 4 quarter … 128; dots 0 to 2. In a tuplet it sounds
// shorter than it looks.
struct NoteShape {
    int denominator = 4;
    int dots = 0;
    friend bool operator==(const NoteShape&, const NoteShape&) = default;
};
// Outside tuplets.
Ticks length_of(const NoteShape& shape);

// Signs of how a note is played. Figures measured on the recording stay with them, for small type.
struct BendSign {
    double semitones = 1.0;  // to the nearest quarter tone: 0.5 is written ¼, 1 ½, 2 "full" (1)
    Cents measured{0.0};
    bool release = false;
    bool prebend = false;
    friend bool operator==(const BendSign&, const BendSign&) = default;
};
// From nowhere into the note: the slide's origin was not heard or is too close to matter.
struct ScoopSign {
    bool from_above = false;
    friend bool operator==(const ScoopSign&, const ScoopSign&) = default;
};
// A line into the head from the grace note before it.
struct SlideInSign {
    friend bool operator==(const SlideInSign&, const SlideInSign&) = default;
};
// A line to the next head, which is not struck.
struct SlideToNextSign {
    friend bool operator==(const SlideToNextSign&, const SlideToNextSign&) = default;
};
// Away to nowhere at the end. semitones: how far it went, if heard.
struct FallSign {
    bool upward = false;
    std::optional<int> semitones;
    friend bool operator==(const FallSign&, const FallSign&) = default;
};
struct WavyLineSign {
    bool wide = false;  // drawn with taller waves
    Hertz rate{0.0};
    Cents depth{0.0};
    friend bool operator==(const WavyLineSign&, const WavyLineSign&) = default;
};
struct TrillSign {
    SpelledPitch with;
    friend bool operator==(const TrillSign&, const TrillSign&) = default;
};
struct DotSign {
    friend bool operator==(const DotSign&, const DotSign&) = default;
};
struct AccentSign {
    friend bool operator==(const AccentSign&, const AccentSign&) = default;
};
using Sign = std::variant<BendSign, ScoopSign, SlideInSign, SlideToNextSign, FallSign, WavyLineSign,
                          TrillSign, DotSign, AccentSign>;

enum class Dynamic { pp, p, mp, mf, f, ff };
const char* to_text(Dynamic dynamic);

// A small note before a head, without time of its own. A draft note where one was played; empty for
// the origin of a slide, which belongs to the head's note.
struct GraceNote {
    SpelledPitch pitch;
    bool show_accidental = false;
    std::optional<NoteId> note;
    friend bool operator==(const GraceNote&, const GraceNote&) = default;
};

// One beam level of a head: level 1 joins eighths, 2 sixteenths. Hooks are half beams.
enum class Beam { none, begin, on, end, forward_hook, backward_hook };

struct Head {
    SpelledPitch pitch;
    NoteId note;  // the draft note; heads tied together share it
    bool show_accidental = false;
    bool tied_from_before = false;
    bool tied_to_next = false;
    std::vector<Beam> beams;        // [level - 1]; empty: flags or none
    std::vector<GraceNote> graces;  // in the order played, on the first head of a tie only
    std::vector<Sign> signs;  // falls and slides to the next on a tie's last head, all else on
                              // its first; a wavy line may run over the whole tie
    friend bool operator==(const Head&, const Head&) = default;
};

// A head or, without one, a rest.
struct Event {
    Ticks start;   // from where the measure's writing begins
    Ticks length;  // sounding: already shortened in a tuplet
    NoteShape shape;
    bool whole_measure = false;  // the rest that fills any measure
    std::optional<Head> head;
    friend bool operator==(const Event&, const Event&) = default;
};

// `actual` in the time of `normal`: 3:2, 6:4, 2:3.
struct Tuplet {
    int actual = 3;
    int normal = 2;
    std::size_t first = 0;  // events of the measure, [first, last]
    std::size_t last = 0;
    friend bool operator==(const Tuplet&, const Tuplet&) = default;
};

struct ChordSymbol {
    Ticks at;
    std::string text;  // as typed
    friend bool operator==(const ChordSymbol&, const ChordSymbol&) = default;
};
struct DynamicMark {
    Ticks at;
    Dynamic dynamic = Dynamic::mf;
    friend bool operator==(const DynamicMark&, const DynamicMark&) = default;
};

struct Measure {
    int number = 1;  // the bar map's; 0 and below lie before bar 1
    Metre metre;
    Ticks length;   // shorter than the metre says only in a pickup
    Ticks skipped;  // a pickup: how much of the bar before its first event is not written
    Seconds from;   // where it lies in the recording
    Seconds to;
    std::string section;     // letter that begins here, or empty
    std::optional<Key> key;  // that begins here, where the music changes to another one
    // The feel that begins here, where it changes: long : short, 1 is straight.
    std::optional<double> swing;
    std::vector<ChordSymbol> chords;
    std::vector<DynamicMark> dynamics;
    std::vector<Event> events;
    std::vector<Tuplet> tuplets;
    friend bool operator==(const Measure&, const Measure&) = default;
};

// Grows or fades from one head to another; measure and event count from 0.
struct Hairpin {
    bool grows = true;
    std::size_t first_measure = 0, first_event = 0;
    std::size_t last_measure = 0, last_event = 0;
    friend bool operator==(const Hairpin&, const Hairpin&) = default;
};

struct Score {
    std::string title;
    std::string players;
    Key key;                 // of the first measure
    bool key_given = false;  // else guessed from the notes
    Tempo tempo;             // the middle of the beats that are written
    // Written eighths are played long-short in this ratio, from the first measure on; empty:
    // straight.
    std::optional<double> swing;
    Seconds late;  // how far the soloist leans back behind the beat (negative: pushes)
    std::vector<Measure> measures;
    std::vector<Hairpin> hairpins;
    friend bool operator==(const Score&, const Score&) = default;
};
// The key that a measure (from 0) stands in: the last one that began at it or before.
Key key_at(const Score& score, std::size_t measure);

}  // namespace bentline
