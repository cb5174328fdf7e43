// A draft to the text of its file, and back.
#include "engine/draft/draft_json.h"

#include <array>
#include <climits>
#include <functional>

#include "engine/draft/bar_one.h"
#include "engine/draft/byte_text.h"
#include "engine/draft/edit.h"
#include "engine/draft/note_json.h"

namespace bentline {
namespace {

constexpr const char* format_name = "bentline draft";
constexpr int deepest = 32;  // levels of brackets: far beyond any draft, far below any stack

// Bytes that are not UTF-8 are written as replacement characters.
std::string dump(const Json& j) {
    return j.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Json unread_of(const std::string& text) {
    // Only ever text that was JSON when it was read.
    if (text.empty()) return Json::object();
    return Json::parse(text);
}

Json write(const BarMap& bars) {
    const BarMap::Parts& parts = bars.parts();
    Json out;
    Json& anchors = out["anchors"] = Json::array();
    for (const BarMap::Anchor& a : parts.anchors)
        anchors.push_back({a.beat, a.time.value()});
    out["beat_before_s"] = parts.beat_before.value();
    out["beat_after_s"] = parts.beat_after.value();
    Json& metres = out["metres"] = Json::array();
    for (const BarMap::MetreFrom& m : parts.metres) {
        metres.push_back({{"bar", m.bar}, {"metre", to_text(m.metre)}});
    }
    out["pickup"] = parts.pickup;
    Json& free = out["free_bars"] = Json::array();
    for (const Range<int>& r : parts.free_bars)
        free.push_back({r.from, r.to});
    return out;
}

Json write(const Neck& neck) {
    Json out;
    Json& open = out["open_midi"] = Json::array();  // string 1 first
    for (const MidiKey key : neck.open)
        open.push_back(key.value());
    out["capo"] = neck.capo;
    out["frets"] = neck.frets;
    return out;
}

// Everything but the notes. Fields of a newer revision come last.
Json write_rest(const Draft& d) {
    Json out;
    out["title"] = d.title;
    out["players"] = d.players;
    out["recording"]["path"] = d.recording.path;
    // JSON holds UTF-8 alone: a path of other bytes stands beside it, too, byte by byte.
    if (!is_utf8(d.recording.path)) out["recording"]["path_hex"] = to_hex(d.recording.path);
    if (d.recording.fingerprint)
        out["recording"]["fingerprint"] = to_string(*d.recording.fingerprint);
    if (d.chorus)
        out["chorus"] = {{"from_s", d.chorus->from.value()}, {"to_s", d.chorus->to.value()}};
    out["tuning_cents"] = d.tuning.value();
    out["focus"] = {{"lowest", d.focus.lowest.value()},
                    {"highest", d.focus.highest.value()},
                    {"place", d.focus.place},
                    {"width", d.focus.width}};
    if (d.bars) out["bars"] = write(*d.bars);
    if (d.key) out["key"] = to_text(*d.key);
    Json& form = out["form"] = Json::array();
    for (const Section& s : d.form) {
        form.push_back({{"letter", s.letter}, {"first_bar", s.first_bar}, {"bars", s.bars}});
        if (s.key) form.back()["key"] = to_text(*s.key);
    }
    out["chords"] = d.chords;
    out["guitar"] = write(d.neck);
    if (!d.here.empty()) out["here"] = to_json(d.here);
    if (!d.not_these.empty()) out["not_these"] = to_json(d.not_these);
    out["next_id"] = d.next_id.value;
    const Json unread = unread_of(d.unread);
    for (const auto& [name, value] : unread.items())
        out[name] = value;
    return out;
}

Json write_note(const DraftNote& n) {
    Json out;
    out["id"] = n.id.value;
    out["state"] = to_text(n.state);
    const Json measured = to_json(n.note);
    for (const auto& [name, value] : measured.items())
        out[name] = value;
    if (n.pin) {
        out["pin"]["string"] = n.pin->string;
        if (n.pin->fret) out["pin"]["fret"] = *n.pin->fret;
    }
    const Json unread = unread_of(n.unread);
    for (const auto& [name, value] : unread.items()) {
        if (name == "inflections") {
            for (const Json& i : value)
                out[name].push_back(i);
        } else {
            out[name] = value;
        }
    }
    return out;
}

NoteId read_id(Fields& f, const char* name) {
    return NoteId{static_cast<std::uint32_t>(f.need(f.whole(name, 1, INT_MAX), name))};
}

DraftNote read_draft_note(Fields f) {
    DraftNote n;
    n.id = read_id(f, "id");
    const std::string state = f.need(f.text("state"), "state");
    if (state != "inked" && state != "pencilled") f.misfit("state", "should be inked or pencilled");
    n.state = state == "inked" ? NoteState::inked : NoteState::pencilled;
    Json unknown = Json::array();
    n.note = read_note(f, unknown);
    if (auto pin = f.object("pin")) {
        n.pin = Pin{pin->need(pin->whole("string", 1, 12), "string"), pin->whole("fret", 0, 36)};
    }
    n.unread = f.unread();
    if (!unknown.empty()) {
        Json kept = unread_of(n.unread);
        kept["inflections"] = std::move(unknown);
        n.unread = dump(kept);
    }
    return n;
}

BarMap read_bars(Fields f) {
    BarMap::Parts parts;
    const Json anchors = f.need(f.array("anchors"), "anchors");
    for (const Json& a : anchors) {
        const bool fits =
            a.is_array() && a.size() == 2 && a[0].is_number_integer() && a[1].is_number();
        if (!fits || a[0].get<std::int64_t>() < -1000000 || a[0].get<std::int64_t>() > 1000000) {
            f.misfit("anchors", "should hold pairs of a beat and a time");
        }
        parts.anchors.push_back({a[0].get<int>(), Seconds(a[1].get<double>())});
    }
    parts.beat_before = f.need(f.seconds("beat_before_s"), "beat_before_s");
    parts.beat_after = f.need(f.seconds("beat_after_s"), "beat_after_s");
    parts.metres.clear();
    const Json metres = f.need(f.array("metres"), "metres");
    for (std::size_t i = 0; i < metres.size(); ++i) {
        Fields m(metres[i], element(f.place() + ".metres", i));
        const auto metre = parse_metre(m.need(m.text("metre"), "metre"));
        if (!metre) m.misfit("metre", "should be a metre such as 4/4");
        parts.metres.push_back({m.need(m.whole("bar", 1, 1000000), "bar"), *metre});
    }
    parts.pickup = f.whole("pickup", 0, 32).value_or(0);
    const Json free = f.array("free_bars").value_or(Json::array());
    for (const Json& r : free) {
        const bool fits =
            r.is_array() && r.size() == 2 && r[0].is_number_integer() && r[1].is_number_integer();
        if (!fits) f.misfit("free_bars", "should hold pairs of bars");
        parts.free_bars.push_back({r[0].get<int>(), r[1].get<int>()});
    }
    auto bars = BarMap::make(std::move(parts));
    if (!bars) throw Misfit{f.place(), bars.failure().sentence};
    return std::move(bars).value();
}

Focus read_focus(Fields f) {
    Focus focus;
    focus.lowest = Pitch(f.need(f.number("lowest"), "lowest"));
    focus.highest = Pitch(f.need(f.number("highest"), "highest"));
    focus.place = f.need(f.number("place"), "place");
    focus.width = f.need(f.number("width"), "width");
    return focus;
}

Key read_key(const Fields& f, const std::string& text) {
    const auto key = parse_key(text);
    if (!key) f.misfit("key", "should be a key such as Eb major");
    return *key;
}

Form read_form(const Json& list) {
    Form form;
    for (std::size_t i = 0; i < list.size(); ++i) {
        Fields s(list[i], element("form", i));
        form.push_back({s.need(s.text("letter"), "letter"),
                        s.need(s.whole("first_bar", 1, 1000000), "first_bar"),
                        s.need(s.whole("bars", 1, 1000000), "bars"),
                        {}});
        if (const auto key = s.text("key")) form.back().key = read_key(s, *key);
    }
    return form;
}

Neck read_neck(Fields f) {
    Neck neck;
    neck.open.clear();
    const Json open = f.need(f.array("open_midi"), "open_midi");
    for (const Json& key : open) {
        if (!key.is_number_integer())
            f.misfit("open_midi", "should hold a MIDI key for each string");
        const auto value = key.get<std::int64_t>();
        neck.open.emplace_back(value < 0 || value > 127 ? -1 : static_cast<int>(value));
    }
    neck.capo = f.need(f.whole("capo", 0, most_frets), "capo");
    neck.frets = f.need(f.whole("frets", 0, most_frets), "frets");
    return neck;
}

// What no edit would let in, no file brings in.
void check_rest(const Draft& d) {
    const std::array<std::pair<const char*, Edit>, 5> settings = {
        {{"focus", SetFocus{d.focus}},
         {"tuning_cents", SetTuning{d.tuning}},
         {"chorus", SetChorus{d.chorus}},
         {"form", SetForm{d.form}},
         {"guitar", SetNeck{d.neck}}}};
    for (const auto& [place, edit] : settings) {
        if (const auto set = apply(d, edit); !set)
            throw Misfit{place, "does not fit: " + set.failure().sentence};
    }
}

// Takes everything but the notes; what is left is unread.
Draft read_rest(Fields& f) {
    Draft d;
    d.title = f.text("title").value_or("");
    d.players = f.text("players").value_or("");
    if (auto r = f.object("recording")) {
        d.recording.path = r->text("path").value_or("");
        if (const auto hex = r->text("path_hex")) {
            const auto bytes = from_hex(*hex);
            if (!bytes) r->misfit("path_hex", "should hold two digits of base 16 for each byte");
            d.recording.path = *bytes;
        }
        if (const auto mark = r->text("fingerprint")) {
            d.recording.fingerprint = parse_fingerprint(*mark);
            if (!d.recording.fingerprint) r->misfit("fingerprint", "is no fingerprint");
        }
    }
    if (auto c = f.object("chorus")) {
        d.chorus = SecondsRange{c->need(c->seconds("from_s"), "from_s"),
                                c->need(c->seconds("to_s"), "to_s")};
    }
    d.tuning = Cents(f.number("tuning_cents").value_or(0.0));
    if (auto focus = f.object("focus")) d.focus = read_focus(std::move(*focus));
    if (auto bars = f.object("bars")) d.bars = read_bars(std::move(*bars));
    if (const auto key = f.text("key")) d.key = read_key(f, *key);
    d.form = read_form(f.array("form").value_or(Json::array()));
    const Json chords = f.array("chords").value_or(Json::array());
    for (const Json& c : chords) {
        if (!c.is_string()) f.misfit("chords", "should hold a text for each bar");
        d.chords.push_back(c.get<std::string>());
    }
    if (auto guitar = f.object("guitar")) d.neck = read_neck(std::move(*guitar));
    d.here = read_here(f);
    d.not_these = read_not_these(f);
    d.next_id = read_id(f, "next_id");
    check_rest(d);
    return d;
}

NoteList read_notes(const Json& list, NoteId next_id) {
    std::vector<DraftNote> notes;
    notes.reserve(list.size());
    for (std::size_t i = 0; i < list.size(); ++i) {
        notes.push_back(read_draft_note(Fields(list[i], element("notes", i))));
        if (notes.back().id >= next_id)
            throw Misfit{element("notes", i) + ".id", "is above next_id"};
    }
    auto row = NoteList::make(std::move(notes));
    if (!row) throw Misfit{"notes", row.failure().sentence};
    return std::move(row).value();
}

Draft read_draft(Json json) {
    Fields f(std::move(json), "");
    if (f.text("format").value_or("") != format_name) {
        throw Misfit{"format", "does not say that this is a draft"};
    }
    const int version = f.need(f.whole("version", 1, INT_MAX), "version");
    if (version > draft_version) {
        throw Misfit{"version", "is " + std::to_string(version) +
                                    ", made by a newer program; this one reads " +
                                    std::to_string(draft_version) + ": update it"};
    }
    (void)f.whole("revision", 0, INT_MAX);
    const Json notes = f.array("notes").value_or(Json::array());
    Draft d = read_rest(f);
    d.notes = read_notes(notes, d.next_id);
    if (const auto near = check_bar_one(d); !near)
        throw Misfit{"bars", "does not fit: " + near.failure().sentence};
    d.unread = f.unread();
    return d;
}

// "line 12, column 4" of a byte, counting from 1.
std::string line_and_column(std::string_view text, std::size_t byte) {
    std::size_t line = 1;
    std::size_t column = 1;
    for (std::size_t i = 0; i + 1 < byte && i < text.size(); ++i) {
        column = text[i] == '\n' ? 1 : column + 1;
        line += text[i] == '\n' ? 1 : 0;
    }
    return "line " + std::to_string(line) + ", column " + std::to_string(column);
}

Failure bad(const std::string& name, const std::string& place, const std::string& sentence) {
    Failure failure{
        FailureKind::bad_draft, name + " cannot be read as a draft: " + place + " " + sentence, {}};
    failure.place.path = name;
    return failure;
}

Json parse(std::string_view text) {
    return Json::parse(text, [](int depth, Json::parse_event_t, Json&) {
        if (depth > deepest) throw Misfit{"a field", "lies too deep in brackets"};
        return true;
    });
}

// Runs a reader and turns what it throws into a Failure.
template <class T>
Result<T> guarded(std::string_view text, const std::string& name,
                  const std::function<T(Json)>& read) {
    try {
        return read(parse(text));
    } catch (const Misfit& m) {
        return bad(name, m.place.empty() ? "the file" : m.place, m.sentence);
    } catch (const Json::parse_error& e) {
        const bool ended = e.byte > text.size();
        return bad(name, line_and_column(text, e.byte),
                   ended
                       ? "is where it ends too early: it was cut off; take a copy of it from before"
                       : "is damaged; take a copy of it from before");
    } catch (const Json::exception&) {
        return bad(name, "it", "holds a value that is no draft's; take a copy of it from before");
    }
}

}  // namespace

std::string draft_text(const Draft& d) {
    std::string text = "{\n\"format\": " + dump(format_name) +
                       ",\n\"version\": " + std::to_string(draft_version) +
                       ",\n\"revision\": " + std::to_string(draft_revision);
    const Json rest = write_rest(d);
    for (const auto& [name, value] : rest.items())
        text += ",\n" + dump(name) + ": " + dump(value);
    text += ",\n\"notes\": [";
    const char* separator = "\n";
    for (const DraftNote& n : d.notes) {
        text += separator + dump(write_note(n));
        separator = ",\n";
    }
    return text + "\n]\n}\n";
}

Result<Draft> read_draft_text(std::string_view text, const std::string& name) {
    return guarded<Draft>(text, name, read_draft);
}

std::string rest_text(const Draft& draft) {
    return dump(write_rest(draft));
}

std::string note_text(const DraftNote& note) {
    return dump(write_note(note));
}

Result<Draft> read_rest_text(std::string_view text) {
    return guarded<Draft>(text, "the journal", [](Json json) {
        Fields f(std::move(json), "");
        Draft d = read_rest(f);
        d.unread = f.unread();
        return d;
    });
}

Result<DraftNote> read_note_text(std::string_view text) {
    return guarded<DraftNote>(text, "the journal", [](Json json) {
        return read_draft_note(Fields(std::move(json), "note"));
    });
}

}  // namespace bentline
