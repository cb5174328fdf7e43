// Beats from JSON to a bar map.
#include "ui/command/beats_file.h"

#include <cmath>

#include <nlohmann/json.hpp>

#include "ui/command/console.h"

namespace bentline::command {

namespace {

Failure refuse(const std::filesystem::path& path, const std::string& what) {
    return Failure{FailureKind::out_of_range,
                   path.string() + ": " + what +
                       "; it should hold \"beats\" and \"downbeats\", rising times in seconds",
                   {path.string(), {}, {}}};
}

// The index of the beat that lies nearest to the downbeat.
int nearest_beat(const std::vector<Seconds>& beats, Seconds downbeat) {
    std::size_t best = 0;
    for (std::size_t i = 1; i < beats.size(); ++i) {
        if (std::abs((beats[i] - downbeat).value()) < std::abs((beats[best] - downbeat).value())) {
            best = i;
        }
    }
    return static_cast<int>(best);
}

// The map of the beats; what is wrong with them is said of the file.
Result<BarMap> map_of(const std::filesystem::path& path, const std::vector<Seconds>& beats,
                      int first, Metre metre) {
    auto map = BarMap::from_beats(beats, first, metre);
    if (!map) return refuse(path, map.failure().sentence);
    return map;
}

}  // namespace

Result<BarMap> read_beats_file(const std::filesystem::path& path, const std::optional<Metre>& metre,
                               const std::optional<Seconds>& bar_one) {
    auto text = read_text(path);
    if (!text) return text.failure();
    const auto json = nlohmann::json::parse(*text, nullptr, false);
    if (!json.is_object()) return refuse(path, "this is no JSON object");
    const auto times = [&](const char* name) -> std::optional<std::vector<Seconds>> {
        const auto found = json.find(name);
        if (found == json.end() || !found->is_array()) return std::nullopt;
        std::vector<Seconds> list;
        for (const auto& t : *found) {
            if (!t.is_number() || !std::isfinite(t.get<double>())) return std::nullopt;
            list.emplace_back(t.get<double>());
        }
        return list;
    };
    const auto beats = times("beats");
    if (!beats || beats->size() < 2)
        return refuse(path, "\"beats\" is not a list of two times or more");
    const auto downbeats = times("downbeats");
    if (!downbeats || downbeats->empty())
        return refuse(path, "\"downbeats\" is not a list of times");

    const int first = nearest_beat(*beats, bar_one.value_or(downbeats->front()));
    Metre chosen = metre.value_or(Metre{});
    if (const auto named = json.find("metre");
        !metre && named != json.end() && named->is_string()) {
        auto parsed = parse_metre(named->get<std::string>());
        if (!parsed) return refuse(path, "\"metre\" is no time signature");
        return map_of(path, *beats, first, *parsed);
    }
    const auto count = json.find("beats_per_bar");
    if (!metre && count != json.end()) {
        if (!count->is_number_integer() || *count < 1 || *count > 32) {
            return refuse(path, "\"beats_per_bar\" is not a whole number from 1 to 32");
        }
        chosen.count = count->get<int>();
    }
    return map_of(path, *beats, first, chosen);
}

}  // namespace bentline::command
