// sheet: PDF and SVG as other programs see them.
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>
#include <unistd.h>

#include "engine/export/draft_sheet.h"
#include "engine/export/engraving/spacing.h"
#include "tests/export/sheets.h"
#include "tests/support/folder.h"

using namespace bentline;
namespace fs = std::filesystem;
using bentline::testing::chorus;
using bentline::testing::EngravedDraft;

namespace {

const engraving::Fonts& fonts() {
    static const engraving::Fonts loaded = engraving::load_fonts().value();
    return loaded;
}

std::string drawn(SheetFormat format, engraving::Paper paper = engraving::Paper::a4) {
    const EngravedDraft draft = chorus({.seed = 3, .bars = 32, .signs = 0.4});
    engraving::Settings settings;
    settings.paper = paper;
    const auto sheet = engraving::engrave(draft.score, draft.tab, {}, fonts(), settings).value();
    return sheet_bytes(sheet, fonts(), format, draft.score.title).value();
}

std::string read(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream all;
    all << in.rdbuf();
    return all.str();
}

// What a command prints; "FAILED" where it does not end well.
std::string said(const testing::Folder& folder, const std::string& command) {
    const fs::path out = folder / "said";
    const int status = std::system((command + " >" + out.string() + " 2>&1").c_str());  // NOLINT
    return status == 0 ? read(out) : "FAILED " + read(out);
}

bool has(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("sheet: poppler opens the PDF, with the paper's size in points") {
    if (std::system("command -v pdfinfo >/dev/null") != 0) {  // NOLINT
        MESSAGE("skipped: poppler-utils is not installed");
        return;
    }
    const testing::Folder folder("sheet");
    const fs::path file = folder / "sheet.pdf";
    // ISO 216: A4 is 210 by 297 mm, 595.276 by 841.890 points; ANSI: Letter is 8.5 by 11 in, 612 by
    // 792 points.
    for (const auto& [paper, size] : {std::pair{engraving::Paper::a4, "595.276 x 841.89 pts"},
                                      std::pair{engraving::Paper::letter, "612 x 792 pts"}}) {
        std::ofstream(file, std::ios::binary) << drawn(SheetFormat::pdf, paper);
        const std::string info = said(folder, "pdfinfo " + file.string());
        CHECK_MESSAGE(has(info, size), info);
        CHECK(has(info, "A Lantern for Marit"));
        CHECK_FALSE(has(info, "CreationDate"));
        CHECK_FALSE(has(info, "Error"));
    }
    const std::string words = said(folder, "pdftotext -layout " + file.string() + " -");
    CHECK_MESSAGE(has(words, "A Lantern for Marit"), words);
    CHECK(has(words, "Ole Brekke"));
    const EngravedDraft draft = chorus({.seed = 3, .bars = 32, .signs = 0.4});
    for (const Measure& measure : draft.score.measures) {
        for (const ChordSymbol& chord : measure.chords)
            CHECK_MESSAGE(has(words, engraving::printed_chord(chord.text)), chord.text);
    }
    CHECK(said(folder, "pdftoppm -r 30 -png " + file.string() + " " + (folder / "page").string()) ==
          "");
    CHECK(fs::exists(folder / "page-1.png"));
}

TEST_CASE("sheet: the SVG is well formed") {
    if (std::system("command -v xmllint >/dev/null") != 0) {  // NOLINT
        MESSAGE("skipped: libxml2-utils is not installed");
        return;
    }
    const testing::Folder folder("sheet");
    const fs::path file = folder / "sheet.svg";
    std::ofstream(file, std::ios::binary) << drawn(SheetFormat::svg);
    CHECK(said(folder, "xmllint --noout " + file.string()) == "");
}

TEST_CASE("sheet: the same draft gives the same bytes") {
    CHECK(drawn(SheetFormat::pdf) == drawn(SheetFormat::pdf));
    CHECK(drawn(SheetFormat::svg) == drawn(SheetFormat::svg));
}

TEST_CASE("sheet: a format is known by the ending of the name") {
    CHECK(sheet_format("a.pdf").value() == SheetFormat::pdf);
    CHECK(sheet_format("b/c.SVG").value() == SheetFormat::svg);
    CHECK(sheet_format("a.png").failure().kind == FailureKind::out_of_range);
}

TEST_CASE("sheet: a plain sheet keeps dots and accents, and drops what bends and slides") {
    const EngravedDraft draft = chorus({.seed = 4, .bars = 16, .signs = 1.0});
    int kept = 0, dropped = 0;
    const auto count = [&](const Score& score) {
        kept = dropped = 0;
        for (const Measure& measure : score.measures) {
            for (const Event& event : measure.events) {
                if (!event.head) continue;
                for (const Sign& sign : event.head->signs) {
                    const bool stays = std::holds_alternative<DotSign>(sign) ||
                                       std::holds_alternative<AccentSign>(sign);
                    ++(stays ? kept : dropped);
                }
            }
        }
    };
    count(draft.score);
    const int before = kept;
    REQUIRE(dropped > 10);
    REQUIRE(before > 0);
    count(without_inflections(draft.score));
    CHECK(dropped == 0);
    CHECK(kept == before);
}

TEST_CASE("sheet: the title block tells the tuning of guitar and recording") {
    Draft draft;
    CHECK(heading_of(draft).tuning.empty());
    CHECK(heading_of(draft).recording.empty());
    draft.neck = drop_d_neck();
    draft.neck.capo = 2;
    draft.tuning = Cents(-12.4);
    CHECK(heading_of(draft).tuning == "Tuning D A D G B E   Capo 2");
    CHECK(heading_of(draft).recording == "The recording sounds 12 cents below A = 440 Hz");
}
