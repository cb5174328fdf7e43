// Our own files, checked against each other and against arithmetic.
#include "tests/export/check_chorus.h"

#include "engine/export/midi.h"
#include "engine/export/musicxml.h"
#include "engine/score/write_score.h"
#include "tests/export/musicxml_reading.h"

namespace bentline::testing {

ChorusChecked check_chorus(const Draft& draft) {
    ChorusChecked checked;
    const auto score = write_score(draft, WhichNotes::inked);
    const auto fingering = finger_draft(draft, WhichNotes::inked);
    const auto midi = midi_bytes(draft);
    if (!score || !fingering || !midi) {
        checked.fault = "it could not be made";
        return checked;
    }
    checked.notes = static_cast<int>(fingering->ids.size());
    checked.without_spot = fingering->left_out();
    for (std::size_t i = 0; i < fingering->ids.size(); ++i) {
        const auto& spot = fingering->fingering.notes[i].spot;
        if (!spot) continue;
        const bool there = 1 <= spot->string && spot->string <= draft.neck.strings() &&
                           0 <= spot->fret && spot->fret <= draft.neck.last_fret();
        const MidiKey key = draft.notes.find(fingering->ids[i])->note.key;
        if (!there || key_at(draft.neck, *spot) != key) ++checked.impossible;
    }
    checked.xml = musicxml_text(*score, *fingering);
    checked.fault = fault_of_musicxml(checked.xml);
    if (!checked.fault.empty()) return checked;
    // Origins of slides are grace notes that MIDI does not strike: leave them out.
    MusicXmlSettings plain;
    plain.plain = true;
    const auto written = read_musicxml(musicxml_text(*score, *fingering, plain)).keys(1);
    if (written != midi_keys(*midi)) checked.fault = "MIDI and MusicXML have other notes";
    return checked;
}

std::string fault_of_reading(const Reading& reading, const std::string& xml) {
    if (!reading.error.empty()) return reading.error;
    const XmlPiece piece = read_musicxml(xml);
    std::vector<int> keys;
    for (const XmlNote& n : piece.notes) {
        if (n.staff == 1 && !n.rest) keys.push_back(n.key);
    }
    const auto differ = [](const char* what, int a, int b) {
        return std::string(what) + ": " + std::to_string(a) + " for " + std::to_string(b);
    };
    if (reading.bars != piece.measures) return differ("bars", reading.bars, piece.measures);
    if (reading.notes != piece.heads(1)) return differ("notes", reading.notes, piece.heads(1));
    if (reading.tab_notes != piece.heads(2))
        return differ("tablature notes", reading.tab_notes, piece.heads(2));
    if (reading.keys != keys) return "other sounding pitches";
    const int all = piece.heads(1) + piece.heads(2);
    if (reading.drawn && *reading.drawn != all)
        return differ("drawn heads and frets", *reading.drawn, all);
    return "";
}

}  // namespace bentline::testing
