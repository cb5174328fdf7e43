// Reads and writes the window's memory.
#include "ui/window/remember.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>

#include <nlohmann/json.hpp>

#include "engine/recording/atomic_file.h"

namespace bentline::window {
namespace {

using nlohmann::json;

template <class T>
void read(const json& from, const char* name, T& value) {
    const auto it = from.find(name);
    if (it == from.end()) return;
    try {
        it->get_to(value);
    } catch (const json::exception&) {  // another type than ours: as if it were not there
    }
}

}  // namespace

std::filesystem::path remembered_file() {
    // Read at the start, before other threads run; nothing here sets them.
    // NOLINTNEXTLINE(concurrency-mt-unsafe)
    const char* config = std::getenv("XDG_CONFIG_HOME");
    if (config != nullptr && *config == '/') {
        return std::filesystem::path(config) / "bentline" / "window.json";
    }
    if (const char* home = std::getenv("HOME"); home != nullptr && *home == '/') {  // NOLINT
        return std::filesystem::path(home) / ".config" / "bentline" / "window.json";
    }
    return {};
}

Remembered read_remembered(const std::filesystem::path& file) {
    Remembered r;
    std::ifstream in(file);
    const json all = json::parse(in, nullptr, false);
    if (!all.is_object()) return r;
    read(all, "recent", r.recent);
    read(all, "keys", r.keys);
    read(all, "dark", r.dark);
    read(all, "scale", r.scale);
    read(all, "level_db", r.level_db);
    read(all, "device", r.device);
    read(all, "manuscript", r.manuscript);
    std::map<std::string, std::vector<double>> places;
    read(all, "places", places);
    for (const auto& [path, p] : places) {
        // Five figures were written before the speed was among them.
        const bool whole =
            (p.size() == 5 || p.size() == 6) && std::all_of(p.begin(), p.end(), [](double v) {
                return std::isfinite(v) && v >= 0.0 && v < 1e6;
            });
        if (whole) r.places[path] = {p[0], p[1], p[2], p[3], p[4], p.size() == 6 ? p[5] : 1.0};
    }
    if (!(r.scale >= 0.5 && r.scale <= 4.0)) r.scale = 1.0;
    if (!(r.level_db >= -60.0 && r.level_db <= 0.0)) r.level_db = Remembered{}.level_db;
    if (r.recent.size() > 12) r.recent.resize(12);
    return r;
}

Result<Done> write_remembered(const std::filesystem::path& file, const Remembered& what) {
    std::error_code error;
    std::filesystem::create_directories(file.parent_path(), error);
    std::map<std::string, std::vector<double>> places;
    for (const auto& [path, p] : what.places)
        places[path] = {p.at_s, p.look_from_s, p.look_to_s, p.loop_from_s, p.loop_to_s, p.speed};
    const json all{
        {"recent", what.recent},         {"keys", what.keys},         {"dark", what.dark},
        {"scale", what.scale},           {"level_db", what.level_db}, {"device", what.device},
        {"manuscript", what.manuscript}, {"places", places}};
    return write_file(file, all.dump(2, ' ', false, json::error_handler_t::replace) + "\n");
}

}  // namespace bentline::window
