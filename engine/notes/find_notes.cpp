// The note stage from end to end: of all that may be notes, those that are likely enough.
#include "engine/notes/find_notes.h"

#include <algorithm>
#include <cmath>

#include "engine/notes/alternatives.h"
#include "engine/notes/arrivals.h"
#include "engine/notes/confidence_model.h"
#include "engine/notes/weighing.h"
#include "engine/notes/weight.h"

namespace bentline {

namespace {

double chance(double odds) {
    return 1.0 / (1.0 + std::exp(-std::clamp(odds, -8.0, 8.0)));
}

// A rise that is no bend was the attack's: the note is what it then holds, where that is longer.
void take_held_pitch(Note& note, const Bend& bend) {
    constexpr Seconds longest_attack{0.06};  // before it rises; chosen
    if (bend.prebend || bend.release || !bend.start || !bend.peak) return;
    if (*bend.start - note.onset > longest_attack) return;
    if (note.offset - *bend.peak <= *bend.peak - note.onset) return;
    const double held =
        100.0 * note.key.value() + note.cents.value_or(Cents(0.0)).value() + bend.size.value();
    const MidiKey key(std::clamp(static_cast<int>(std::lround(held / 100.0)), 0, 127));
    if (key == note.key) return;
    note.key = key;
    note.cents.reset();
    note.cents_error.reset();
}

}  // namespace

Result<std::vector<Note>> find_notes(const Audio& audio, const PitchCurve& curve,
                                     const Focus& focus, const NoteSettings& settings,
                                     const Work& work) {
    return find_notes(audio, curve, focus, Hints{}, settings, work);
}

Result<std::vector<Note>> find_notes(const Audio& audio, const PitchCurve& curve,
                                     const Focus& focus, const Hints& hints,
                                     const NoteSettings& settings, const Work& work) {
    auto weighed = notes::weigh_notes(audio, curve, focus, hints, settings, work.part(0.0, 0.99));
    if (!weighed) return weighed.failure();
    std::vector<Note> found;
    std::vector<notes::TellingVector> telling;
    std::vector<double> struck;
    std::vector<Seconds> perhaps;
    for (notes::WeighedNote& w : *weighed) {
        if (*w.note.confidence < settings.least_confidence) {
            if (*w.note.confidence >= settings.least_doubt) perhaps.push_back(w.note.onset);
            continue;
        }
        // A slip of the parting between two strokes.
        if (w.note.offset - w.note.onset < shortest_note) continue;
        found.push_back(std::move(w.note));
        telling.push_back(w.telling);
        struck.push_back(w.struck_level);
    }
    notes::read_arrivals(found);
    notes::read_weight(found, struck, perhaps, settings);
    std::vector<std::vector<Inflection>> dropped(found.size());
    for (std::size_t n = 0; n < found.size(); ++n) {
        std::vector<double> chances;
        for (const Inflection& i : found[n].inflections) {
            chances.push_back(chance(notes::inflection_log_odds(
                i.what.index(), notes::telling_of_inflection(found, telling, n, i))));
        }
        std::vector<Inflection> likely;
        for (std::size_t k = 0; k < chances.size(); ++k) {
            Inflection& i = found[n].inflections[k];
            i.confidence = chances[k];
            (chances[k] >= settings.least_inflection ? likely : dropped[n]).push_back(std::move(i));
        }
        for (const Inflection& i : dropped[n]) {
            if (const auto* bend = std::get_if<Bend>(&i.what)) take_held_pitch(found[n], *bend);
        }
        found[n].inflections = std::move(likely);
    }
    notes::add_alternatives(found, telling, dropped, curve, focus);
    if (!work.report(1.0)) return stopped_failure();
    return among_inked(found, hints.inked);
}

}  // namespace bentline
