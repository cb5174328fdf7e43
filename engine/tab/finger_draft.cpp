// A draft's notes, guitar and pins as a request for a fingering.
#include "engine/tab/finger_draft.h"

#include <algorithm>

namespace bentline {
namespace {

int unplaced(const Fingering& fingering) {
    return static_cast<int>(std::count_if(fingering.notes.begin(), fingering.notes.end(),
                                          [](const FingeredNote& n) { return !n.spot; }));
}

bool chosen(const DraftNote& note, WhichNotes which) {
    return which == WhichNotes::inked_and_pencilled || note.inked();
}

}  // namespace

const FingeredNote* DraftFingering::of(NoteId id) const {
    const auto at = std::find(ids.begin(), ids.end(), id);
    if (at == ids.end()) return nullptr;
    return &fingering.notes[static_cast<std::size_t>(at - ids.begin())];
}

int DraftFingering::left_out() const {
    return unplaced(fingering);
}

FingeringRequest fingering_request(const Draft& draft, WhichNotes which) {
    FingeringRequest request;
    request.neck = draft.neck;
    for (const DraftNote& n : draft.notes) {
        if (!chosen(n, which)) continue;
        if (n.pin && n.pin->string <= draft.neck.strings())
            request.pins.push_back({request.notes.size(), n.pin->string});
        request.notes.push_back(n.note);
    }
    request.sweeps = find_sweeps(request.notes, request.neck);
    std::erase_if(request.sweeps, [&](const NoteSpan& sweep) {
        return std::any_of(request.pins.begin(), request.pins.end(), [&](const StringPin& pin) {
            return sweep.first <= pin.note && pin.note < sweep.last;
        });
    });
    request.unison_bends = find_unison_bends(request.notes);
    return request;
}

Result<DraftFingering> finger_draft(const Draft& draft, WhichNotes which,
                                    const FingeringSettings& settings, const Work& work) {
    FingeringRequest request = fingering_request(draft, which);
    auto fingering = find_fingering(request, settings, work.part(0.0, 0.5));
    if (!fingering) return fingering.failure();
    if (!request.sweeps.empty() && unplaced(*fingering) > 0) {
        request.sweeps.clear();
        auto plain = find_fingering(request, settings, work.part(0.5, 1.0));
        if (!plain) return plain.failure();
        if (unplaced(*plain) < unplaced(*fingering)) fingering = std::move(plain);
    }
    DraftFingering made{draft.neck, {}, std::move(fingering).value()};
    for (const DraftNote& n : draft.notes) {
        if (!chosen(n, which)) continue;
        FingeredNote& answer = made.fingering.notes[made.ids.size()];
        made.ids.push_back(n.id);
        if (n.pin && n.pin->string > draft.neck.strings()) {
            answer.spot.reset();
            answer.finger = 0;
            answer.problem = "it is pinned to string " + std::to_string(n.pin->string) +
                             ", which this guitar does not have";
        }
    }
    return made;
}

}  // namespace bentline
