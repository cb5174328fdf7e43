// command: finger gives strings and frets, and keeps the guitar and the pins in the draft.
#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "engine/draft/draft_file.h"
#include "engine/draft/edit.h"
#include "tests/command/program.h"

using namespace bentline;
using namespace bentline::testing;
using nlohmann::json;

namespace {

// Eighths of G major from G3 up two octaves, 120 a minute, bar 1 at 0.
void save_scale(const Workplace& folder) {
    std::vector<Note> notes;
    int i = 0;
    for (const int key : {55, 57, 59, 60, 62, 64, 66, 67, 69, 71, 72, 74, 76, 78, 79}) {
        Note n;
        n.onset = Seconds(0.25 * i);
        n.offset = Seconds(0.25 * i + 0.24);
        n.key = MidiKey(key);
        notes.push_back(n);
        ++i;
    }
    Draft draft;
    draft.bars = BarMap::constant(Tempo(120.0), Seconds(0.0)).value();
    REQUIRE(save_draft(pencil(std::move(draft), notes).value(), folder.path("d.bentline")).ok());
}

json fingered(const Workplace& folder, const std::string& options) {
    const Outcome o = folder.run("finger d.bentline " + options);
    REQUIRE_MESSAGE(o.code == 0, o.err);
    return json::parse(o.out);
}

}  // namespace

TEST_CASE("command: finger sets tuning, capo and pins, and they stay") {
    const Workplace folder;
    save_scale(folder);
    const json plain = fingered(folder, "");
    CHECK(plain.at("guitar") == "E2 A2 D3 G3 B3 E4");
    CHECK(plain.at("left_out") == 0);
    REQUIRE(plain.at("notes").size() == 15);
    CHECK(plain.at("notes")[0].at("place") == "1:1");
    fingered(folder, "--tuning 'D A D G B E' --capo 2 --pin 1:2=4 --pin 2:1=2");
    const json kept = fingered(folder, "");
    CHECK(kept.at("guitar") == "D2 A2 D3 G3 B3 E4, capo 2");
    // The second beat holds B3 (59): D string, capo on 2 sounds E3 (52): fret 7.
    CHECK(kept.at("notes")[2].at("string") == 4);
    CHECK(kept.at("notes")[2].at("fret") == 7);
    CHECK(kept.at("notes")[8].at("string") == 2);
    const json freed = fingered(folder, "--free 1:2");
    CHECK_FALSE(freed.at("notes")[2].contains("pinned"));
    CHECK(freed.at("notes")[8].at("pinned") == 2);
}

TEST_CASE("command: finger gives really different ways for a passage") {
    const Workplace folder;
    save_scale(folder);
    const json j = fingered(folder, "--ways 3 --from 2:1 --to 3:1");
    REQUIRE(j.at("ways").size() == 3);
    const auto strings = [](const json& way) {
        std::vector<int> s;
        for (const json& n : way.at("notes"))
            s.push_back(n.at("string").get<int>());
        return s;
    };
    for (std::size_t a = 0; a < 3; ++a) {
        const auto first = strings(j.at("ways")[a]);
        CHECK(first.size() == 7);  // 69 to 79
        for (std::size_t b = a + 1; b < 3; ++b) {
            const auto second = strings(j.at("ways")[b]);
            int differ = 0;
            for (std::size_t i = 0; i < first.size(); ++i)
                differ += first[i] != second[i] ? 1 : 0;
            CHECK(differ >= 2);  // a quarter of seven, rounded up
        }
        if (a > 0)
            CHECK(j.at("ways")[a].at("effort").get<double>() >=
                  j.at("ways")[a - 1].at("effort").get<double>());
    }
}

TEST_CASE("command: finger refuses what the guitar or the line does not have") {
    const Workplace folder;
    save_scale(folder);
    const std::string before = folder.text_of("d.bentline");
    const struct {
        const char* options;
        const char* named;
    } cases[] = {{"--pin 1:2=7", "1:2=7"},
                 {"--pin 1:2", "1:2"},
                 {"--pin 9:1=3", "9:1"},
                 {"--tuning 'E A D'", "3 strings"},
                 {"--tuning 'E A D G H E'", "H"},
                 {"--capo 20", "20"},
                 {"--ways 2 --from 8:1 --to 9:1", "--from"}};
    for (const auto& c : cases) {
        CAPTURE(c.options);
        const Outcome o = folder.run(std::string("finger d.bentline ") + c.options);
        CHECK(o.code == 1);
        CHECK(o.error_lines() == 1);
        CHECK_MESSAGE(o.err.find(c.named) != std::string::npos, o.err);
        CHECK(folder.text_of("d.bentline") == before);
    }
    CHECK(folder.run("finger d.bentline --from 2:1").code == 2);
}
