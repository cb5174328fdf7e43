// One list of columns; a column names itself and reads its cell.
#include "engine/export/measurements.h"

#include <functional>
#include <vector>

#include "engine/draft/edit.h"
#include "engine/export/handout.h"
#include "engine/export/number_text.h"

namespace bentline {
namespace {

struct Row {
    const Draft& draft;
    const DraftNote& note;
    const FingeredNote* fingered;  // nullptr: not asked for
};

struct Column {
    const char* name;
    std::function<std::string(const Row&)> cell;
};

std::string number(const std::optional<double>& value, int places) {
    return value ? fixed_text(*value, places) : "";
}
template <class Unit>
std::string number(const std::optional<Unit>& value, int places) {
    return value ? fixed_text(value->value(), places) : "";
}
std::string key_number(const std::optional<MidiKey>& key) {
    return key ? std::to_string(key->value()) : "";
}

std::string quoted(const std::string& text) {
    if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
    std::string out = "\"";
    for (const char c : text) {
        if (c == '"') out += '"';
        out += c;
    }
    return out + '"';
}

// A cell of an inflection's own figures; empty where the note has no such inflection.
template <class Kind, class Read>
Column of(const char* name, Read read) {
    return {name, [read](const Row& row) {
                const Kind* kind = find<Kind>(row.note.note);
                return kind ? std::string(read(*kind)) : std::string();
            }};
}
template <class Kind>
Column flag(const char* name) {
    return {name, [](const Row& row) { return find<Kind>(row.note.note) ? "1" : "0"; }};
}
template <class Kind>
Column confidence(const char* name) {
    return {name, [](const Row& row) {
                for (const Inflection& i : row.note.note.inflections) {
                    if (std::holds_alternative<Kind>(i.what)) return number(i.confidence, 3);
                }
                return std::string();
            }};
}
template <class Kind>
Column from(const char* name) {
    return of<Kind>(
        name, [](const Kind& k) { return k.span ? fixed_text(k.span->from.value(), 4) : ""; });
}
template <class Kind>
Column to(const char* name) {
    return of<Kind>(name,
                    [](const Kind& k) { return k.span ? fixed_text(k.span->to.value(), 4) : ""; });
}

template <class Kind>
Column error(const char* name) {
    return of<Kind>(name, [](const Kind& k) { return number(k.span_error, 4); });
}

std::vector<Column> note_columns() {
    const auto place = [](const Row& row) {
        return row.draft.bars->position_at(row.note.note.onset);
    };
    return {
        {"note_id", [](const Row& r) { return std::to_string(r.note.id.value); }},
        {"state", [](const Row& r) { return std::string(to_text(r.note.state)); }},
        {"bar", [=](const Row& r) { return r.draft.bars ? std::to_string(place(r).bar) : ""; }},
        {"beat",
         [=](const Row& r) {
             return r.draft.bars ? fixed_text(place(r).beat.value() + 1.0, 3) : "";
         }},
        {"onset_s", [](const Row& r) { return fixed_text(r.note.note.onset.value(), 4); }},
        {"offset_s", [](const Row& r) { return fixed_text(r.note.note.offset.value(), 4); }},
        {"length_s",
         [](const Row& r) {
             return fixed_text((r.note.note.offset - r.note.note.onset).value(), 4);
         }},
        {"midi", [](const Row& r) { return std::to_string(r.note.note.key.value()); }},
        {"pitch", [](const Row& r) { return plain_name(r.note.note.key); }},
        {"off_pitch_cents", [](const Row& r) { return number(r.note.note.cents, 1); }},
        {"off_pitch_error_cents", [](const Row& r) { return number(r.note.note.cents_error, 1); }},
        {"level_db", [](const Row& r) { return number(r.note.note.level, 1); }},
        {"confidence", [](const Row& r) { return number(r.note.note.confidence, 3); }},
        {"string",
         [](const Row& r) {
             return r.fingered && r.fingered->spot ? std::to_string(r.fingered->spot->string) : "";
         }},
        {"fret",
         [](const Row& r) {
             return r.fingered && r.fingered->spot ? std::to_string(r.fingered->spot->fret) : "";
         }},
    };
}

std::vector<Column> inflection_columns() {
    return {
        flag<SlideIn>("slide_in"),
        of<SlideIn>("slide_in_from_midi", [](const SlideIn& s) { return key_number(s.from); }),
        from<SlideIn>("slide_in_start_s"),
        to<SlideIn>("slide_in_end_s"),
        error<SlideIn>("slide_in_end_error_s"),
        confidence<SlideIn>("slide_in_confidence"),
        flag<SlideOut>("slide_out"),
        of<SlideOut>("slide_out_to_midi", [](const SlideOut& s) { return key_number(s.to); }),
        from<SlideOut>("slide_out_start_s"),
        error<SlideOut>("slide_out_start_error_s"),
        to<SlideOut>("slide_out_end_s"),
        confidence<SlideOut>("slide_out_confidence"),
        flag<SlideToNext>("slide_to_next"),
        from<SlideToNext>("slide_to_next_start_s"),
        error<SlideToNext>("slide_to_next_start_error_s"),
        to<SlideToNext>("slide_to_next_end_s"),
        confidence<SlideToNext>("slide_to_next_confidence"),
        of<Bend>("bend_cents", [](const Bend& b) { return fixed_text(b.size.value(), 1); }),
        of<Bend>("bend_error_cents", [](const Bend& b) { return number(b.size_error, 1); }),
        of<Bend>("bend_start_s", [](const Bend& b) { return number(b.start, 4); }),
        of<Bend>("bend_peak_s", [](const Bend& b) { return number(b.peak, 4); }),
        of<Bend>("bend_release", [](const Bend& b) { return b.release ? "1" : "0"; }),
        of<Bend>("bend_release_start_s",
                 [](const Bend& b) {
                     return b.release_span ? fixed_text(b.release_span->from.value(), 4) : "";
                 }),
        of<Bend>("bend_release_end_s",
                 [](const Bend& b) {
                     return b.release_span ? fixed_text(b.release_span->to.value(), 4) : "";
                 }),
        of<Bend>("bend_prebend", [](const Bend& b) { return b.prebend ? "1" : "0"; }),
        confidence<Bend>("bend_confidence"),
        of<Vibrato>("vibrato_rate_hz",
                    [](const Vibrato& v) { return fixed_text(v.rate.value(), 2); }),
        of<Vibrato>("vibrato_rate_error_hz",
                    [](const Vibrato& v) { return number(v.rate_error, 2); }),
        of<Vibrato>("vibrato_depth_cents",
                    [](const Vibrato& v) { return fixed_text(v.depth.value(), 1); }),
        of<Vibrato>("vibrato_depth_error_cents",
                    [](const Vibrato& v) { return number(v.depth_error, 1); }),
        from<Vibrato>("vibrato_start_s"),
        to<Vibrato>("vibrato_end_s"),
        confidence<Vibrato>("vibrato_confidence"),
        of<Trill>("trill_semitones", [](const Trill& t) { return std::to_string(t.semitones); }),
        confidence<Trill>("trill_confidence"),
        flag<Staccato>("staccato"),
        confidence<Staccato>("staccato_confidence"),
        flag<Accent>("accent"),
        confidence<Accent>("accent_confidence"),
        {"reason", [](const Row& r) { return r.note.note.reason; }},
    };
}

}  // namespace

Result<std::string> measurements_csv(const Draft& draft, WhichNotes which,
                                     const DraftFingering& fingering) {
    std::vector<Column> columns = note_columns();
    for (Column& column : inflection_columns())
        columns.push_back(std::move(column));
    std::string text;
    for (const Column& column : columns)
        text += (text.empty() ? "" : ",") + std::string(column.name);
    text += '\n';
    std::size_t rows = 0;
    for (const DraftNote& note : draft.notes) {
        if (which == WhichNotes::inked && !note.inked()) continue;
        const Row row{draft, note, fingering.of(note.id)};
        for (std::size_t i = 0; i < columns.size(); ++i)
            text += (i == 0 ? "" : ",") + quoted(columns[i].cell(row));
        text += '\n';
        ++rows;
    }
    if (rows == 0) return nothing_to_hand_out(draft, which);
    return text;
}

}  // namespace bentline
