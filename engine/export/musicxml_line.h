// What spans several notes of a score: slides, wavy lines, and the spots on the neck. Worked out
// once, before the notes are written. Inside engine/export only.
#pragma once

#include <map>
#include <optional>
#include <tuple>

#include "engine/export/musicxml_note.h"
#include "engine/tab/finger_draft.h"

namespace bentline {

// A head (grace -1) or one of its grace notes, by measure and event.
struct NotePlace {
    std::size_t measure = 0;
    std::size_t event = 0;
    int grace = -1;
    friend auto operator<=>(const NotePlace&, const NotePlace&) = default;
};

class ScoreLine {
  public:
    ScoreLine(const Score& score, const DraftFingering& fingering, bool plain);

    // Whether a grace note is written: the origin of a slide is not where slides are left out.
    bool written(const GraceNote& grace) const { return !plain_ || grace.note.has_value(); }
    std::optional<Spot> spot(const NotePlace& place) const;
    SlideEnds slides(Staff staff, const NotePlace& place) const;
    WavyEnds wavy(const NotePlace& place) const;

  private:
    void find_spots(const Score& score, const DraftFingering& fingering);
    void find_slides(const Score& score, Staff staff);
    void find_wavy(const Score& score);
    std::optional<Spot> origin_spot(const Neck& neck, const Head& head, const GraceNote& grace,
                                    const DraftFingering& fingering) const;

    bool plain_;
    std::map<NotePlace, Spot> spots_;
    std::map<std::pair<Staff, NotePlace>, SlideEnds> slides_;
    std::map<NotePlace, WavyEnds> wavy_;
};

}  // namespace bentline
