// musicxml, by others' word: the W3C's schema, and two readers that know nothing of us.
#include <filesystem>
#include <fstream>

#include <doctest/doctest.h>
#include <unistd.h>

#include "engine/export/musicxml.h"
#include "tests/export/check_chorus.h"
#include "tests/export/small_drafts.h"

using namespace bentline;
using namespace bentline::testing;
namespace fs = std::filesystem;

namespace {

// A few choruses, and drafts at the edges.
struct Made {
    Made()
        : folder(fs::temp_directory_path() / ("bentline-outside-" + std::to_string(::getpid()))) {
        fs::create_directories(folder);
        for (int i = 0; i < 4; ++i)
            add(made_chorus(i, 4));
        add(inked(in_four_four(), {on_beat(0, 1, 60)}));
        add(made_chorus(4, 5), true);
        Draft odd = in_four_four();
        odd.title = "Fish & <Chips> \u266d \x01";
        odd.players = "J\u00fcrgen \xff";
        odd.form = {{"<A>", 1, 2}};
        odd.chords = {"E\u266d7 <&>", "C/E"};
        odd.neck = eight_string_neck();
        odd.bars = BarMap::constant(Tempo(90.0), Seconds(1.0), Metre{7, 8}).value();
        add(inked(odd, {on_beat(0, 1, 33), on_beat(1, 3, 20), on_beat(3, 9, 61)}));
    }
    ~Made() {
        std::error_code ignored;
        fs::remove_all(folder, ignored);
    }
    Made(const Made&) = delete;
    Made& operator=(const Made&) = delete;

    // `modulate`: at its second and third bar, to two sharps and to none.
    void add(const Draft& draft, bool modulate = false) {
        Score score = write_score(draft, WhichNotes::inked).value();
        if (modulate) {
            score.measures.at(1).key = Key{2, true};
            score.measures.at(2).key = Key{0, false};
        }
        texts.push_back(musicxml_text(score, finger_draft(draft, WhichNotes::inked).value()));
        files.push_back(folder / (std::to_string(files.size()) + ".musicxml"));
        std::ofstream(files.back()) << texts.back();
    }

    fs::path folder;
    std::vector<std::string> texts;
    std::vector<fs::path> files;
};

}  // namespace

TEST_CASE("outside: valid against the schema of MusicXML 4.0 [W3C, by xmllint]") {
    if (const std::string why = no_schema(); !why.empty()) {
        MESSAGE("skipped: ", why);
        return;
    }
    Made made;
    CHECK(schema_faults(made.files) == "");
    // And the check can fail.
    const fs::path bad = made.folder / "bad.musicxml";
    std::string text = made.texts[0];
    text.replace(text.find("<voice>"), 7, "<vioce>");
    text.replace(text.find("</voice>"), 8, "</vioce>");
    std::ofstream(bad) << text;
    CHECK(schema_faults({bad}) != "");
}

TEST_CASE(
    "outside: two readers load it, count the same and draw it [opensheetmusicdisplay, verovio]") {
    if (const std::string why = no_readers(); !why.empty()) {
        MESSAGE("skipped: ", why);
        return;
    }
    const Made made;
    const auto readings = read_outside(made.files);
    REQUIRE(readings.size() == made.files.size());
    for (std::size_t i = 0; i < readings.size(); ++i) {
        CAPTURE(i);
        CHECK(fault_of_reading(readings[i].first, made.texts[i]) == "");
        CHECK(fault_of_reading(readings[i].second, made.texts[i]) == "");
    }
}
