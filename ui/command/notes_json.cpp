// Notes and inflections to JSON.
#include "ui/command/notes_json.h"

#include <type_traits>

#include <nlohmann/json.hpp>

#include "ui/command/console.h"

namespace bentline::command {

namespace {

using Json = nlohmann::ordered_json;

constexpr int time_places = 4;  // 0.1 ms, well under what any onset is good for
constexpr int size_places = 1;  // 0.1 cent, 0.1 dB

void put_span(Json& j, const std::optional<SecondsRange>& span) {
    if (!span) return;
    j["start_s"] = rounded(span->from.value(), time_places);
    j["end_s"] = rounded(span->to.value(), time_places);
}

void put(Json& j, const SlideIn& s) {
    if (s.from) j["from_midi"] = s.from->value();
    put_span(j, s.span);
}
void put(Json& j, const SlideOut& s) {
    if (s.to) j["to_midi"] = s.to->value();
    put_span(j, s.span);
}
void put(Json& j, const SlideToNext& s) { put_span(j, s.span); }
void put(Json& j, const Bend& b) {
    j["cents"] = rounded(b.size.value(), size_places);
    if (b.start) j["start_s"] = rounded(b.start->value(), time_places);
    if (b.peak) j["peak_s"] = rounded(b.peak->value(), time_places);
    j["release"] = b.release;
    j["prebend"] = b.prebend;
}
void put(Json& j, const Vibrato& v) {
    j["rate_hz"] = rounded(v.rate.value(), 2);
    j["depth_cents"] = rounded(v.depth.value(), size_places);
    put_span(j, v.span);
}
void put(Json& j, const Trill& t) { j["semitones"] = t.semitones; }
void put(Json&, const Staccato&) {}
void put(Json&, const Accent&) {}

Json inflection_json(const Inflection& inflection) {
    Json j = {{"kind", kind_name(inflection.what)}};
    std::visit([&](const auto& what) { put(j, what); }, inflection.what);
    if (inflection.confidence) j["confidence"] = rounded(*inflection.confidence, 3);
    if (!inflection.reason.empty()) j["reason"] = inflection.reason;
    return j;
}

Json note_json(const Note& note) {
    Json j = {{"onset_s", rounded(note.onset.value(), time_places)},
              {"offset_s", rounded(note.offset.value(), time_places)},
              {"midi", note.key.value()}};
    if (note.cents) j["cents"] = rounded(note.cents->value(), size_places);
    if (note.level) j["level_db"] = rounded(note.level->value(), size_places);
    if (note.confidence) j["confidence"] = rounded(*note.confidence, 3);
    Json inflections = Json::array();
    for (const Inflection& i : note.inflections) inflections.push_back(inflection_json(i));
    j["inflections"] = std::move(inflections);
    return j;
}

}  // namespace

std::string notes_json(Cents tuning, const std::vector<Note>& notes) {
    Json list = Json::array();
    for (const Note& note : notes) list.push_back(note_json(note));
    const Json result = {{"tuning_cents", rounded(tuning.value(), size_places)},
                         {"notes", std::move(list)}};
    return result.dump(1) + "\n";
}

}  // namespace bentline::command
