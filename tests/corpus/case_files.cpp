// WAV and JSON of one take.
#include "tests/corpus/case_files.h"

#include <fstream>
#include <string>
#include <type_traits>

#include <nlohmann/json.hpp>

#include "engine/recording/wav_file.h"

namespace bentline::corpus {

namespace {

using nlohmann::json;

void write_span(json& j, const std::optional<SecondsRange>& span) {
    if (!span) return;
    j["start_s"] = span->from.value();
    j["end_s"] = span->to.value();
}

json inflection_json(const Inflection& i) {
    json j{{"kind", kind_name(i.what)}};
    std::visit(
        [&j](const auto& k) {
            using K = std::decay_t<decltype(k)>;
            if constexpr (std::is_same_v<K, SlideIn>) {
                if (k.from) j["from_midi"] = k.from->value();
                write_span(j, k.span);
            } else if constexpr (std::is_same_v<K, SlideOut>) {
                if (k.to) j["to_midi"] = k.to->value();
                write_span(j, k.span);
            } else if constexpr (std::is_same_v<K, SlideToNext>) {
                write_span(j, k.span);
            } else if constexpr (std::is_same_v<K, Bend>) {
                j["cents"] = k.size.value();
                if (k.start) j["start_s"] = k.start->value();
                if (k.peak) j["peak_s"] = k.peak->value();
                j["release"] = k.release;
                j["prebend"] = k.prebend;
            } else if constexpr (std::is_same_v<K, Vibrato>) {
                j["rate_hz"] = k.rate.value();
                j["depth_cents"] = k.depth.value();
                write_span(j, k.span);
            } else if constexpr (std::is_same_v<K, Trill>) {
                j["semitones"] = k.semitones;
            }
        },
        i.what);
    if (i.confidence) j["confidence"] = *i.confidence;
    if (!i.reason.empty()) j["reason"] = i.reason;
    return j;
}

json notes_json(const std::vector<Note>& notes) {
    json all = json::array();
    for (const Note& n : notes) {
        json j{
            {"onset_s", n.onset.value()}, {"offset_s", n.offset.value()}, {"midi", n.key.value()}};
        if (n.cents) j["cents"] = n.cents->value();
        if (n.level) j["level_db"] = n.level->value();
        if (n.confidence) j["confidence"] = *n.confidence;
        if (!n.reason.empty()) j["reason"] = n.reason;
        j["inflections"] = json::array();
        for (const Inflection& i : n.inflections)
            j["inflections"].push_back(inflection_json(i));
        all.push_back(std::move(j));
    }
    return all;
}

json rows_json(const PitchRows& rows) {
    json all = json::array();
    for (const auto& r : rows)
        all.push_back(r ? r->value() : 0.0);
    return all;
}

}  // namespace

Result<Done> save_case(const std::filesystem::path& folder, int number, const Take& take,
                       const Heard& heard) {
    std::error_code trouble;
    std::filesystem::create_directories(folder, trouble);
    const std::string stem = "take_" + std::to_string(number);
    auto written = write_wav(folder / (stem + ".wav"), take.audio);
    if (!written) return written.failure();
    const json j{{"name", take.name},
                 {"truth",
                  {{"tuning_cents", take.truth.tuning.value()},
                   {"notes", notes_json(take.truth.notes)},
                   {"f0_hz", rows_json(take.truth.rows)}}},
                 {"heard",
                  {{"tuning_cents", heard.tuning.value()},
                   {"notes", notes_json(heard.notes)},
                   {"f0_hz", rows_json(heard.rows)}}}};
    std::ofstream out(folder / (stem + ".json"));
    out << j.dump(1) << '\n';
    if (!out) {
        return Failure{FailureKind::cannot_write,
                       "cannot write " + (folder / (stem + ".json")).string() +
                           ": is the folder writable and the disk not full?",
                       {}};
    }
    return Done{};
}

}  // namespace bentline::corpus
