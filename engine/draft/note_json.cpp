// Notes to JSON and back.
#include "engine/draft/note_json.h"

#include <functional>
#include <map>

namespace bentline {
namespace {

void put(Json& out, const char* name, const std::optional<Seconds>& t) {
    if (t) out[name] = t->value();
}
void put_span(Json& out, const char* from, const char* to,
              const std::optional<SecondsRange>& span) {
    if (!span) return;
    out[from] = span->from.value();
    out[to] = span->to.value();
}

template <class T>
void put_error(Json& out, const char* name, const std::optional<T>& error) {
    if (error) out[name] = error->value();
}

struct Writer {
    Json& out;
    void operator()(const SlideIn& s) const {
        if (s.from) out["from_midi"] = s.from->value();
        put_span(out, "start_s", "end_s", s.span);
        put_error(out, "end_error_s", s.span_error);
    }
    void operator()(const SlideOut& s) const {
        if (s.to) out["to_midi"] = s.to->value();
        put_span(out, "start_s", "end_s", s.span);
        put_error(out, "start_error_s", s.span_error);
    }
    void operator()(const SlideToNext& s) const {
        put_span(out, "start_s", "end_s", s.span);
        put_error(out, "start_error_s", s.span_error);
    }
    void operator()(const Bend& b) const {
        out["cents"] = b.size.value();
        put_error(out, "cents_error", b.size_error);
        put(out, "start_s", b.start);
        put(out, "peak_s", b.peak);
        out["release"] = b.release;
        out["prebend"] = b.prebend;
        put_span(out, "release_start_s", "release_end_s", b.release_span);
    }
    void operator()(const Vibrato& v) const {
        out["rate_hz"] = v.rate.value();
        out["depth_cents"] = v.depth.value();
        put_error(out, "rate_error_hz", v.rate_error);
        put_error(out, "depth_error_cents", v.depth_error);
        put_span(out, "start_s", "end_s", v.span);
    }
    void operator()(const Trill& t) const { out["semitones"] = t.semitones; }
    void operator()(const Staccato&) const {}
    void operator()(const Accent&) const {}
};

std::optional<SecondsRange> read_span(Fields& f, const char* from, const char* to) {
    const auto start = f.seconds(from);
    const auto end = f.seconds(to);
    if (!start || !end) return std::nullopt;
    return SecondsRange{*start, *end};
}

std::optional<MidiKey> read_key(Fields& f, const char* name) {
    const auto key = f.whole(name, 0, 127);
    if (!key) return std::nullopt;
    return MidiKey(*key);
}

// The fields of a kind that this version knows; nothing for one that it does not.
std::optional<InflectionKind> read_kind(const std::string& kind, Fields& f) {
    if (kind == "slide_in")
        return SlideIn{read_key(f, "from_midi"), read_span(f, "start_s", "end_s"),
                       f.seconds("end_error_s")};
    if (kind == "slide_out")
        return SlideOut{read_key(f, "to_midi"), read_span(f, "start_s", "end_s"),
                        f.seconds("start_error_s")};
    if (kind == "slide_to_next")
        return SlideToNext{read_span(f, "start_s", "end_s"), f.seconds("start_error_s")};
    if (kind == "bend") {
        Bend b;
        b.size = Cents(f.need(f.number("cents"), "cents"));
        if (const auto e = f.number("cents_error")) b.size_error = Cents(*e);
        b.start = f.seconds("start_s");
        b.peak = f.seconds("peak_s");
        b.release = f.flag("release").value_or(false);
        b.prebend = f.flag("prebend").value_or(false);
        b.release_span = read_span(f, "release_start_s", "release_end_s");
        return b;
    }
    if (kind == "vibrato") {
        Vibrato v;
        v.rate = Hertz(f.need(f.number("rate_hz"), "rate_hz"));
        v.depth = Cents(f.need(f.number("depth_cents"), "depth_cents"));
        if (const auto e = f.number("rate_error_hz")) v.rate_error = Hertz(*e);
        if (const auto e = f.number("depth_error_cents")) v.depth_error = Cents(*e);
        v.span = read_span(f, "start_s", "end_s");
        return v;
    }
    if (kind == "trill") return Trill{f.need(f.whole("semitones", -24, 24), "semitones")};
    if (kind == "staccato") return Staccato{};
    if (kind == "accent") return Accent{};
    return std::nullopt;
}

Json to_json(const std::vector<Inflection>& inflections) {
    Json list = Json::array();
    for (const Inflection& i : inflections) {
        Json one;
        one["kind"] = kind_name(i.what);
        std::visit(Writer{one}, i.what);
        if (i.confidence) one["confidence"] = *i.confidence;
        if (!i.reason.empty()) one["reason"] = i.reason;
        list.push_back(std::move(one));
    }
    return list;
}

std::vector<Inflection> read_inflections(Fields& f, Json& unknown) {
    std::vector<Inflection> all;
    const Json list = f.array("inflections").value_or(Json::array());
    const std::string place = f.place() + ".inflections";
    for (std::size_t i = 0; i < list.size(); ++i) {
        Fields one(list[i], element(place, i));
        const std::string kind = one.need(one.text("kind"), "kind");
        Inflection inflection;
        if (auto what = read_kind(kind, one)) {
            inflection.what = *what;
            inflection.confidence = one.number("confidence");
            inflection.reason = one.text("reason").value_or("");
            all.push_back(std::move(inflection));
        } else {
            unknown.push_back(list[i]);
        }
    }
    return all;
}

}  // namespace

Json to_json(const Note& note) {
    Json out;
    out["onset_s"] = note.onset.value();
    out["offset_s"] = note.offset.value();
    out["midi"] = note.key.value();
    if (note.cents) out["cents"] = note.cents->value();
    if (note.level) out["level_db"] = note.level->value();
    if (note.confidence) out["confidence"] = *note.confidence;
    if (!note.reason.empty()) out["reason"] = note.reason;
    out["inflections"] = to_json(note.inflections);
    if (note.cents_error) out["cents_error"] = note.cents_error->value();
    if (!note.alternatives.empty()) {
        Json& list = out["alternatives"] = Json::array();
        for (const Alternative& a : note.alternatives) {
            Json one;
            if (a.key) one["midi"] = a.key->value();
            one["probability"] = a.probability;
            one["reason"] = a.reason;
            if (a.key) one["inflections"] = to_json(a.inflections);
            list.push_back(std::move(one));
        }
    }
    return out;
}

Note read_note(Fields& f, Json& unknown) {
    Note note;
    note.onset = f.need(f.seconds("onset_s"), "onset_s");
    note.offset = f.need(f.seconds("offset_s"), "offset_s");
    note.key = MidiKey(f.need(f.whole("midi", 0, 127), "midi"));
    if (const auto cents = f.number("cents")) note.cents = Cents(*cents);
    if (const auto level = f.number("level_db")) note.level = Decibels(*level);
    note.confidence = f.number("confidence");
    note.reason = f.text("reason").value_or("");
    note.inflections = read_inflections(f, unknown);
    if (const auto e = f.number("cents_error")) note.cents_error = Cents(*e);
    const Json others = f.array("alternatives").value_or(Json::array());
    for (std::size_t i = 0; i < others.size(); ++i) {
        Fields one(others[i], element(f.place() + ".alternatives", i));
        Alternative a;
        a.key = read_key(one, "midi");
        a.probability = one.need(one.number("probability"), "probability");
        a.reason = one.text("reason").value_or("");
        Json none;  // an alternative of a kind that is not known cannot be offered in full
        a.inflections = read_inflections(one, none);
        if (none.empty()) note.alternatives.push_back(std::move(a));
    }
    return note;
}

Json to_json(const std::vector<NoteHere>& here) {
    Json list = Json::array();
    for (const NoteHere& mark : here) {
        Json one{{"at_s", mark.at.value()}};
        if (mark.key) one["midi"] = mark.key->value();
        list.push_back(std::move(one));
    }
    return list;
}

Json to_json(const std::vector<NotThis>& not_these) {
    Json list = Json::array();
    for (const NotThis& n : not_these) {
        Json one;
        put_span(one, "from_s", "to_s", n.span);
        one["midi"] = n.key.value();
        list.push_back(std::move(one));
    }
    return list;
}

std::vector<NoteHere> read_here(Fields& f) {
    const Json list = f.array("here").value_or(Json::array());
    std::vector<NoteHere> marks;
    for (std::size_t i = 0; i < list.size(); ++i) {
        Fields mark(list[i], element("here", i));
        const Seconds at = mark.need(mark.seconds("at_s"), "at_s");
        marks.push_back({at, read_key(mark, "midi")});
    }
    return marks;
}

std::vector<NotThis> read_not_these(Fields& f) {
    const Json list = f.array("not_these").value_or(Json::array());
    std::vector<NotThis> all;
    for (std::size_t i = 0; i < list.size(); ++i) {
        Fields n(list[i], element("not_these", i));
        const SecondsRange span{n.need(n.seconds("from_s"), "from_s"),
                                n.need(n.seconds("to_s"), "to_s")};
        all.push_back({span, MidiKey(n.need(n.whole("midi", 0, 127), "midi"))});
    }
    return all;
}

}  // namespace bentline
