// Random edits over the whole variety.
#include "drafts.h"

namespace bentline::testing {

NoteId EditMaker::any_id(const Draft& draft) {
    if (draft.notes.empty()) return NoteId{1};
    return draft.notes[static_cast<std::size_t>(whole(0, static_cast<int>(draft.notes.size()) - 1))]
        .id;
}

Edit EditMaker::make(const Draft& draft) {
    const NoteId id = any_id(draft);
    const DraftNote* n = draft.notes.find(id);
    const Seconds at = n ? n->note.onset : Seconds(0.0);
    switch (whole(0, 23)) {
        case 0:
            return Ink{{id, any_id(draft), any_id(draft)}};
        case 1:
            return Pencil{{id}};
        case 2:
            return Discard{{id}};
        case 3:
        case 4:
            return Move{{id}, Seconds(uniform(-0.1, 0.1))};
        case 5:
            return Resize{id,
                          {at + Seconds(uniform(-0.05, 0.05)), at + Seconds(uniform(0.05, 0.6))}};
        case 6:
            return Retune{{id, any_id(draft)}, whole(-12, 12)};
        case 7:
            return Split{id, at + Seconds(uniform(0.0, 0.2))};
        case 8: {
            const auto i = draft.notes.index_of(id);
            const bool last = !i || *i + 1 >= draft.notes.size();
            return Join{id, last ? id : draft.notes[*i + 1].id};
        }
        case 9: {
            const double t = uniform(-1.0, 30.0);
            return AddNote{note(t, t + uniform(0.02, 0.5), whole(40, 88))};
        }
        case 10:
            return SetInflection{
                id, {Bend{Cents(uniform(20.0, 200.0)), at, {}, false, false, {}}, {}, ""}};
        case 11:
            return SetInflection{id, {Staccato{}, {}, ""}};
        case 12:
            return RemoveInflection{id, Bend{}};
        case 13:
            return SetPin{{id}, Pin{whole(1, 6), whole(0, 22)}};
        case 14: {
            const double t = uniform(0.0, 20.0);
            std::vector<Note> anew;
            for (double s = t; s < t + 2.0; s += 0.21)
                anew.push_back(note(s, s + 0.2, whole(50, 70)));
            return Repencil{{Seconds(t), Seconds(t + 2.0)}, anew};
        }
        case 15:
            return SetBars{BarMap::constant(Tempo(uniform(60.0, 240.0)), at).value(), ""};
        case 16:
            return SetMetre{Metre{whole(2, 5), 4}};
        case 17:
            return SetKey{Key{whole(-6, 6), whole(0, 1) == 1}};
        case 18:
            return SetForm{parse_form(whole(0, 1) == 0 ? "AABA" : "A12").value()};
        case 19:
            return SetChord{whole(1, 32), "Eb6 C7"};
        case 20:
            return SetTuning{Cents(uniform(-50.0, 50.0))};
        case 22: {
            const bool known = whole(0, 1) == 0;
            return MarkHere{at, known ? std::optional(MidiKey(whole(40, 88))) : std::nullopt};
        }
        case 21:
            return SetNeck{make_neck(Neck{}.open, whole(0, 7), whole(19, 24)).value()};
        default:
            return SetHeading{"Harbour Lights Out", std::to_string(whole(0, 99))};
    }
}

}  // namespace bentline::testing
