// Says in words what an edit does, for the history list and the status line.
#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "engine/draft/draft_hints.h"
#include "engine/draft/edit.h"

namespace bentline {
namespace {

// `decimals` (0 to 3) digits behind the point, independent of the locale.
std::string number(double value, int decimals) {
    static constexpr std::array<int, 4> powers = {1, 10, 100, 1000};
    const int power = powers.at(static_cast<std::size_t>(decimals));
    const auto scaled = std::llround(std::abs(value) * power);
    std::string text = value < 0 && scaled > 0 ? "-" : "";
    text += std::to_string(scaled / power);
    if (decimals > 0) text += "." + std::to_string(power + scaled % power).substr(1);
    return text;
}

std::string count(std::size_t n, const char* one) {
    return std::to_string(n) + " " + one + (n == 1 ? "" : "s");
}

std::string semitones(int steps) {
    return number(steps, 0) + (std::abs(steps) == 1 ? " semitone" : " semitones");
}

// "bar 7" or "12.3 s": enough to find the place in a list.
std::string around(Seconds t, const Draft& d) {
    if (d.bars) return "bar " + std::to_string(d.bars->position_at(t).bar);
    return number(t.value(), 1) + " s";
}

std::string size_of(const InflectionKind& what) {
    if (const auto* b = std::get_if<Bend>(&what)) {
        return number(b->size.value(), 0) + " c" + (b->release ? " released" : "") +
               (b->prebend ? " pre-bent" : "");
    }
    if (const auto* v = std::get_if<Vibrato>(&what)) {
        return number(v->rate.value(), 1) + " Hz, " + number(v->depth.value(), 0) + " c";
    }
    if (const auto* t = std::get_if<Trill>(&what)) return semitones(t->semitones);
    if (const auto* s = std::get_if<SlideIn>(&what))
        return s->from ? "from " + plain_name(*s->from) : "";
    if (const auto* s = std::get_if<SlideOut>(&what))
        return s->to ? "to " + plain_name(*s->to) : "";
    return "";
}

std::string name_of(const InflectionKind& what) {
    std::string name = kind_name(what);
    std::replace(name.begin(), name.end(), '_', ' ');
    return name;
}

std::string with_size(const std::string& name, const std::string& size) {
    return size.empty() ? name : name + " " + size;
}

std::string change_of_size(const std::string& name, const std::string& from,
                           const std::string& to) {
    if (from == to || from.empty()) return with_size(name, to);
    return name + " " + from + " -> " + (to.empty() ? "unmeasured" : to);
}

// "bar 7: Eb4" for one note, "bar 7: 8 notes" or "bars 7 to 9: 24 notes" for more.
std::string who(const Draft& d, const std::vector<NoteId>& ids) {
    const DraftNote *first = nullptr, *last = nullptr;
    const std::set<NoteId> meant(ids.begin(), ids.end());
    for (const DraftNote& n : d.notes) {
        if (!meant.contains(n.id)) continue;
        if (first == nullptr) first = &n;
        last = &n;
    }
    if (first == nullptr) return count(ids.size(), "note");
    const std::string place = around(first->note.onset, d);
    if (ids.size() == 1) return place + ": " + plain_name(first->note.key);
    const std::string end = around(last->note.onset, d);
    if (place == end) return place + ": " + count(ids.size(), "note");
    if (!d.bars) return place + " to " + end + ": " + count(ids.size(), "note");
    return "bars " + place.substr(4) + " to " + end.substr(4) + ": " + count(ids.size(), "note");
}

std::string who(const Draft& d, NoteId id) {
    return who(d, std::vector<NoteId>{id});
}

std::string place_of(const Draft& d, NoteId id) {
    const DraftNote* n = d.notes.find(id);
    return n ? around(n->note.onset, d) + ": " : "";
}

std::string quoted_or_none(const std::string& text) {
    return text.empty() ? "none" : text;
}

std::string said(const Draft& d, const Ink& e) {
    return who(d, e.ids) + " inked";
}
std::string said(const Draft& d, const Pencil& e) {
    return who(d, e.ids) + " back to pencil";
}
std::string said(const Draft& d, const Discard& e) {
    return who(d, e.ids) + " discarded";
}
std::string said(const Draft& d, const Move& e) {
    return who(d, e.ids) + " moved " + number(std::abs(e.by.value()) * 1000.0, 0) + " ms " +
           (e.by < Seconds(0.0) ? "earlier" : "later");
}
std::string said(const Draft& d, const Resize& e) {
    const DraftNote* n = d.notes.find(e.id);
    const std::string to = number((e.span.to - e.span.from).value(), 3) + " s";
    if (!n) return "a note lasts " + to;
    return who(d, e.id) + " lasts " + number((n->note.offset - n->note.onset).value(), 3) +
           " s -> " + to;
}
std::string said(const Draft& d, const Retune& e) {
    const std::string steps = (e.semitones > 0 ? "+" : "") + semitones(e.semitones);
    const DraftNote* n = e.ids.size() == 1 ? d.notes.find(e.ids[0]) : nullptr;
    if (!n) return who(d, e.ids) + " " + steps;
    return who(d, e.ids) + " -> " + plain_name(MidiKey(n->note.key.value() + e.semitones));
}
std::string said(const Draft& d, const Split& e) {
    return who(d, e.id) + " split at " + place_name(e.at, d.bars);
}
std::string said(const Draft& d, const Join& e) {
    return who(d, e.first) + " joined with the next note";
}
std::string said(const Draft& d, const AddNote& e) {
    return around(e.note.onset, d) + ": " + plain_name(e.note.key) + " added";
}
std::string said(const Draft& d, const SetInflection& e) {
    const std::string name = name_of(e.inflection.what);
    const std::string to = size_of(e.inflection.what);
    const DraftNote* n = d.notes.find(e.id);
    if (n) {
        for (const Inflection& i : n->note.inflections) {
            if (i.what.index() != e.inflection.what.index()) continue;
            return place_of(d, e.id) + change_of_size(name, size_of(i.what), to);
        }
    }
    return place_of(d, e.id) + with_size(name, to) + " added";
}
std::string said(const Draft& d, const RemoveInflection& e) {
    return place_of(d, e.id) + name_of(e.like) + " taken away";
}
std::string said(const Draft& d, const TakeAlternative& e) {
    const DraftNote* n = d.notes.find(e.id);
    if (!n || e.which >= n->note.alternatives.size()) return who(d, e.id) + ": another reading";
    return who(d, e.id) + " read anew: " + n->note.alternatives[e.which].reason;
}
std::string said(const Draft& d, const SetPin& e) {
    if (!e.pin) return who(d, e.ids) + " on any string";
    std::string text = who(d, e.ids) + " on string " + std::to_string(e.pin->string);
    if (e.pin->fret) text += " fret " + std::to_string(*e.pin->fret);
    return text;
}
std::string said(const Draft& d, const Repencil& e) {
    return "notes pencilled anew from " + place_name(e.range.from, d.bars) + " to " +
           place_name(e.range.to, d.bars);
}
std::string said(const Draft& d, const MarkHere& e) {
    const bool more = with_mark_turned(d, {e.at, e.key}).here.size() > d.here.size();
    return place_name(e.at, d.bars) + (more ? ": a note is here" : ": mark taken away");
}
std::string said(const Draft& d, const SetBars& e) {
    if (!e.words.empty()) return e.words;
    if (!e.bars) return "bars taken away";
    std::string text = d.bars ? "bars changed: " : "bars placed: ";
    text += to_text(e.bars->metre()) + ", bar 1 at " +
            place_name(e.bars->time_of(BarBeat{1, Beats(0.0)}), std::nullopt);
    if (e.bars->constant_tempo()) {
        text += ", " + number(e.bars->tempo_at(Beats(0.0)).value(), 1) + " beats a minute";
    }
    return text;
}
std::string said(const Draft& d, const SetMetre& e) {
    return "metre " + (d.bars ? to_text(d.bars->metre()) + " -> " : "") + to_text(e.metre);
}
std::string said(const Draft& d, const SetKey& e) {
    return "key " + (d.key ? to_text(*d.key) : "none") + " -> " +
           (e.key ? to_text(*e.key) : "none");
}
std::string said(const Draft& d, const SetForm& e) {
    return "form " + quoted_or_none(to_text(d.form)) + " -> " + quoted_or_none(to_text(e.form));
}
std::string said(const Draft& d, const SetKeys& e) {
    return "key " + (d.key ? to_text(d.keys()) : "none") + " -> " + quoted_or_none(to_text(e.keys));
}
std::string said(const Draft& d, const SetChord& e) {
    const auto bar = static_cast<std::size_t>(std::max(e.bar, 1));
    const std::string old = bar <= d.chords.size() ? d.chords[bar - 1] : "";
    return "bar " + std::to_string(e.bar) + ": chords " + quoted_or_none(old) + " -> " +
           quoted_or_none(e.text);
}
std::string said(const Draft&, const SetChords& e) {
    return "chords of " + count(e.chords.size(), "bar");
}
std::string register_words(const Focus& focus) {
    return plain_name(nearest_key(focus.lowest)) + " to " + plain_name(nearest_key(focus.highest));
}
std::string stage_words(const Focus& focus) {
    if (focus.whole_stage()) return "all of it";
    const double off = std::round(100.0 * focus.place);
    return number(50.0 * focus.width, 0) + " % around " +
           (off == 0 ? "the middle"
                     : (off < 0 ? "left " : "right ") + number(std::abs(off), 0) + " %");
}
std::string said(const Draft& d, const SetFocus& e) {
    std::string text;
    if (register_words(d.focus) != register_words(e.focus))
        text = "register " + register_words(d.focus) + " -> " + register_words(e.focus);
    if (text.empty() || stage_words(d.focus) != stage_words(e.focus))
        text += (text.empty() ? "stage: " : ", stage: ") + stage_words(d.focus) + " -> " +
                stage_words(e.focus);
    return text;
}
std::string said(const Draft& d, const SetTuning& e) {
    return "tuning " + number(d.tuning.value(), 1) + " c -> " + number(e.tuning.value(), 1) + " c";
}
std::string said(const Draft&, const SetChorus& e) {
    if (!e.chorus) return "the whole recording is the chorus";
    return "chorus from " + place_name(e.chorus->from, std::nullopt) + " to " +
           place_name(e.chorus->to, std::nullopt);
}
std::string said(const Draft&, const SetNeck& e) {
    return "guitar: " + to_text(e.neck);
}
std::string said(const Draft&, const SetHeading& e) {
    if (e.title.empty() && e.players.empty()) return "no heading";
    return "heading: " + e.title + (e.title.empty() || e.players.empty() ? "" : ", ") + e.players;
}
std::string said(const Draft&, const SetRecording& e) {
    return "recording: " + e.recording.path;
}

}  // namespace

std::string describe(const Draft& before, const Edit& edit) {
    return std::visit([&](const auto& e) { return said(before, e); }, edit.what);
}

std::string plain_name(MidiKey key) {
    static constexpr std::array<const char*, 12> names = {"C",  "Db", "D",  "Eb", "E",  "F",
                                                          "Gb", "G",  "Ab", "A",  "Bb", "B"};
    const int k = key.value();
    const int octave = (k + 1200) / 12 - 101;
    return names.at(static_cast<std::size_t>((k % 12 + 12) % 12)) + std::to_string(octave);
}

}  // namespace bentline
