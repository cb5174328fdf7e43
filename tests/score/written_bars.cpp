// Prints a draft's bars as they are written, the truth beside them.
//   bentline_written_bars DRAFT.bentline WRITTEN.json [--notes NOTES.json] [--all]
// WRITTEN.json: a row for each true note, with bar, beat and duration in quarters and name (as in
// demo_audio). --notes: the draft's bars, but these notes (JSON as `bentline notes` writes it), so
// that rhythm can be told from hearing. Bars that agree are only counted, unless --all.
#include <cmath>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <map>
#include <string>

#include <nlohmann/json.hpp>

#include "engine/draft/draft_file.h"
#include "engine/draft/edit.h"
#include "engine/score/write_score.h"
#include "tests/score/true_notes.h"

using namespace bentline;

namespace {

// Beat (in eighths of a triplet's exactness) and length to "beat:name/length" words of a bar.
using Bars = std::map<int, std::string>;

std::string word(double beat, double length, const std::string& name) {
    char text[64];
    if (length < 1e-6) {
        std::snprintf(text, sizeof text, "{%s} ", name.c_str());
    } else {
        std::snprintf(text, sizeof text, "%.4g:%s/%.3g ", 1.0 + std::round(beat * 1000.0) / 1000.0,
                      name.c_str(), length);
    }
    return text;
}

double number(const nlohmann::json& value) {
    if (value.is_number()) return value.get<double>();
    const auto fraction = value.get<std::string>();
    const auto slash = fraction.find('/');
    const double above = std::stod(fraction.substr(0, slash));
    return slash == std::string::npos ? above : above / std::stod(fraction.substr(slash + 1));
}

Bars true_bars(const char* path) {
    Bars bars;
    const auto json = nlohmann::json::parse(std::ifstream(path));
    for (const auto& n : json["notes"]) {
        bars[n["bar"].get<int>()] +=
            word(number(n["beat"]), number(n["duration"]), n["name"].get<std::string>());
    }
    return bars;
}

Bars written_bars(const Score& score) {
    struct Row {
        int bar;
        double beat;
        double length;
        std::string name;
    };
    std::vector<Row> rows;
    for (const Measure& m : score.measures) {
        for (const Event& e : m.events) {
            if (!e.head) continue;
            if (!e.head->tied_from_before) {
                const double beat = (m.skipped + e.start) / quarter;
                for (const GraceNote& g : e.head->graces) {
                    if (g.note) rows.push_back({m.number, beat, 0.0, to_text(g.pitch)});
                }
                rows.push_back({m.number, beat, 0.0, to_text(e.head->pitch)});
            }
            rows.back().length += e.length / quarter;
        }
    }
    Bars bars;
    for (const Row& r : rows)
        bars[r.bar] += word(r.beat, r.length, r.name);
    return bars;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 3) {
        std::fprintf(stderr, "bentline_written_bars DRAFT WRITTEN.json [--notes F.json] [--all]\n");
        return 2;
    }
    const char* notes = nullptr;
    bool all = false;
    for (int i = 3; i < argc; ++i) {
        if (std::strcmp(argv[i], "--all") == 0) all = true;
        if (std::strcmp(argv[i], "--notes") == 0 && i + 1 < argc) notes = argv[++i];
    }
    auto loaded = load_draft(argv[1]);
    if (!loaded) {
        std::fprintf(stderr, "%s\n", loaded.failure().sentence.c_str());
        return 1;
    }
    Draft draft = loaded->draft;
    if (notes != nullptr) {
        draft.notes = {};
        draft =
            pencil(draft, testing::true_notes(nlohmann::json::parse(std::ifstream(notes)))).value();
    }
    const auto score = write_score(draft, WhichNotes::inked_and_pencilled);
    if (!score) {
        std::fprintf(stderr, "%s\n", score.failure().sentence.c_str());
        return 1;
    }
    const Bars truth = true_bars(argv[2]);
    Bars written = written_bars(*score);
    int same = 0;
    for (const auto& [bar, text] : truth) {
        const bool right = written[bar] == text;
        same += right ? 1 : 0;
        if (right && !all) continue;
        std::printf("| %d | %s| %s| %s |\n", bar, written[bar].c_str(), text.c_str(),
                    right ? "same" : "differs");
    }
    std::printf("%d of %zu bars as they were composed; swing %.2f, late %.0f ms, key %s\n", same,
                truth.size(), score->swing.value_or(1.0), 1000.0 * score->late.value(),
                to_text(score->key).c_str());
    return 0;
}
