// One walk over the line for each thing that spans notes.
#include "engine/export/musicxml_line.h"

namespace bentline {
namespace {

template <class S>
bool has(const Head& head) {
    for (const Sign& sign : head.signs) {
        if (std::holds_alternative<S>(sign)) return true;
    }
    return false;
}

// Calls visit(place, event, grace or nullptr) for every grace note and head in the order played.
template <class Visit>
void walk(const Score& score, Visit visit) {
    for (std::size_t m = 0; m < score.measures.size(); ++m) {
        const auto& events = score.measures[m].events;
        for (std::size_t e = 0; e < events.size(); ++e) {
            if (!events[e].head) continue;
            const auto& graces = events[e].head->graces;
            for (std::size_t g = 0; g < graces.size(); ++g)
                visit(NotePlace{m, e, static_cast<int>(g)}, *events[e].head, &graces[g]);
            visit(NotePlace{m, e, -1}, *events[e].head, static_cast<const GraceNote*>(nullptr));
        }
    }
}

}  // namespace

ScoreLine::ScoreLine(const Score& score, const DraftFingering& fingering, bool plain)
    : plain_(plain) {
    find_spots(score, fingering);
    if (plain) return;
    find_slides(score, Staff::notation);
    find_slides(score, Staff::tablature);
    find_wavy(score);
}

std::optional<Spot> ScoreLine::spot(const NotePlace& place) const {
    const auto found = spots_.find(place);
    return found == spots_.end() ? std::nullopt : std::optional(found->second);
}

SlideEnds ScoreLine::slides(Staff staff, const NotePlace& place) const {
    const auto found = slides_.find({staff, place});
    return found == slides_.end() ? SlideEnds{} : found->second;
}

WavyEnds ScoreLine::wavy(const NotePlace& place) const {
    const auto found = wavy_.find(place);
    return found == wavy_.end() ? WavyEnds{} : found->second;
}

// Where a slide comes from: on the head's own string.
std::optional<Spot> ScoreLine::origin_spot(const Neck& neck, const Head& head,
                                           const GraceNote& grace,
                                           const DraftFingering& fingering) const {
    const FingeredNote* arrived = fingering.of(head.note);
    if (arrived == nullptr || !arrived->spot) return std::nullopt;
    Spot spot = *arrived->spot;
    spot.fret += grace.pitch.key().value() - head.pitch.key().value();
    if (spot.fret < 0 || spot.fret > neck.last_fret()) return std::nullopt;
    return spot;
}

void ScoreLine::find_spots(const Score& score, const DraftFingering& fingering) {
    std::map<NoteId, Spot> by_note;
    for (std::size_t i = 0; i < fingering.ids.size(); ++i) {
        if (const auto& spot = fingering.fingering.notes[i].spot)
            by_note.emplace(fingering.ids[i], *spot);
    }
    walk(score, [&](const NotePlace& place, const Head& head, const GraceNote* grace) {
        if (grace != nullptr && !grace->note) {
            if (const auto spot = origin_spot(fingering.neck, head, *grace, fingering))
                spots_.emplace(place, *spot);
            return;
        }
        const auto found = by_note.find(grace != nullptr ? *grace->note : head.note);
        if (found != by_note.end()) spots_.emplace(place, found->second);
    });
}

// A slide joins two written notes of one staff that follow each other; numbers 1 and 2 take turns,
// because one note may end a slide and begin the next.
void ScoreLine::find_slides(const Score& score, Staff staff) {
    std::optional<NotePlace> from;  // the note before, where it slides on
    int number = 1;
    walk(score, [&](const NotePlace& place, const Head& head, const GraceNote* grace) {
        const bool here = staff == Staff::notation || spots_.contains(place);
        if (from && here) {
            slides_[{staff, *from}].start = number;
            slides_[{staff, place}].stop = number;
            number = 3 - number;
        }
        from.reset();
        if (!here) return;
        const bool slides_on =
            grace != nullptr ? !grace->note && has<SlideInSign>(head) : has<SlideToNextSign>(head);
        if (slides_on) from = place;
    });
}

// Over all heads of a tie.
void ScoreLine::find_wavy(const Score& score) {
    bool open = false;
    walk(score, [&](const NotePlace& place, const Head& head, const GraceNote* grace) {
        if (grace != nullptr) return;
        const bool starts = has<WavyLineSign>(head);
        if (!head.tied_from_before) open = false;
        if (starts) wavy_[place].start = true;
        open = open || starts;
        if (open && !head.tied_to_next) wavy_[place].stop = true;
    });
}

}  // namespace bentline
