// The notes of a file of notes, as far as writing them needs: times, keys, staccato.
#pragma once

#include <algorithm>
#include <vector>

#include <nlohmann/json.hpp>

#include "engine/notes/note.h"

namespace bentline::testing {

inline std::vector<Note> true_notes(const nlohmann::json& file) {
    std::vector<Note> notes;
    for (const auto& n : file["notes"]) {
        Note note;
        note.onset = Seconds(n["onset_s"]);
        note.offset = Seconds(n["offset_s"]);
        note.key = MidiKey(n["midi"]);
        for (const auto& i : n["inflections"]) {
            if (i["kind"] == "staccato") note.inflections.push_back({Staccato{}, {}, ""});
        }
        if (!notes.empty()) notes.back().offset = std::min(notes.back().offset, note.onset);
        notes.push_back(note);
    }
    return notes;
}

}  // namespace bentline::testing
