// Reads the beats and the chords beside a recording.
#include "ui/window/beside.h"

#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "engine/bars/chart.h"

namespace bentline::window {
namespace {

namespace fs = std::filesystem;

std::string text_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

void take_what_lies_beside(Draft& draft, const fs::path& recording) {
    const fs::path stem = recording.parent_path() / recording.stem();
    if (const std::string text = text_of(stem.string() + ".beats.json"); !text.empty()) {
        const auto all = nlohmann::json::parse(text, nullptr, false);
        if (all.is_object() && all.contains("beats") && all["beats"].is_array()) {
            std::vector<Seconds> beats;
            for (const auto& b : all["beats"]) {
                if (b.is_number()) beats.emplace_back(b.get<double>());
            }
            std::size_t bar_one = 0;
            if (const auto downs = all.find("downbeats"); downs != all.end() && downs->is_array() &&
                                                          !downs->empty() &&
                                                          downs->front().is_number()) {
                const Seconds first(downs->front().get<double>());
                while (bar_one + 1 < beats.size() && beats[bar_one + 1] <= first + Seconds(0.01))
                    ++bar_one;
            }
            const Result<BarMap> map = BarMap::from_beats(beats, static_cast<int>(bar_one));
            if (map) draft.bars = *map;
        }
    }
    if (const std::string text = text_of(stem.string() + ".chords.txt"); !text.empty()) {
        const Result<Chart> chart = parse_chart(text);
        if (chart) {
            draft.chords = chart->bars;
            draft.form = chart->form;
        }
    }
}

}  // namespace bentline::window
