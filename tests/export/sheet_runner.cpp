// Engraves generated choruses and looks them over: bentline_sheet_runner [count [first]]; with
// --draw FILE (.pdf or .svg) it draws one: --draw FILE seed [a4|letter] [plain].
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <map>

#include "engine/export/engraving/check.h"
#include "engine/export/sheet.h"
#include "tests/export/sheets.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

const engraving::Heading heading{
    "Lifted from a recording 12 c flat of A = 440 Hz", "",
    "A solo and a recording have owners: check the rights before you hand out copies"};

engraving::Sheet engraved(const SheetMix& mix, const engraving::Fonts& fonts,
                          const engraving::Settings& settings) {
    const EngravedDraft draft = chorus(mix);
    return engraving::engrave(draft.score, draft.tab, heading, fonts, settings).value();
}

int draw(int argc, char** argv) {
    const auto fonts = engraving::load_fonts().value();
    SheetMix mix = spread_of_choruses(std::strtoull(argv[3], nullptr, 10));
    engraving::Settings settings;
    for (int i = 4; i < argc; ++i) {
        const std::string word = argv[i];
        if (word == "letter") settings.paper = engraving::Paper::letter;
        if (word == "measured") settings.measured = true;
        if (word == "plain") settings.tab = false;
        if (word.rfind("bars=", 0) == 0) mix.bars = std::atoi(word.c_str() + 5);
        if (word.rfind("key=", 0) == 0) mix.key.fifths = std::atoi(word.c_str() + 4);
        if (word.rfind("signs=", 0) == 0) mix.signs = std::atof(word.c_str() + 6);
        if (word.rfind("strings=", 0) == 0) mix.strings = std::atoi(word.c_str() + 8);
        if (word == "12/8") mix.metre = {12, 8};
    }
    const auto sheet = engraved(mix, fonts, settings);
    for (const auto& c : engraving::find_collisions(sheet))
        std::printf("%s\n", engraving::to_text(c).c_str());
    const auto bytes =
        sheet_bytes(sheet, fonts, sheet_format(argv[2]).value(), "A Lantern for Marit");
    std::ofstream(argv[2], std::ios::binary) << bytes.value();
    return 0;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc > 3 && std::strcmp(argv[1], "--draw") == 0) return draw(argc, argv);
    const unsigned long count = argc > 1 ? std::strtoul(argv[1], nullptr, 10) : 300;
    const unsigned long first = argc > 2 ? std::strtoul(argv[2], nullptr, 10) : 0;
    const auto fonts = engraving::load_fonts().value();
    std::map<std::pair<engraving::Part, engraving::Part>, int> kinds;
    std::size_t all = 0, pages = 0;
    for (unsigned long i = first; i < first + count; ++i) {
        engraving::Settings settings;
        if (i % 2 == 1) settings.paper = engraving::Paper::letter;
        settings.measured = i % 6 == 2;
        settings.tab = i % 8 != 7;
        const auto sheet = engraved(spread_of_choruses(i), fonts, settings);
        pages += sheet.pages.size();
        const auto found = engraving::find_collisions(sheet);
        all += found.size();
        for (const auto& c : found) {
            int& n = kinds[{c.a, c.b}];
            if (n++ < 3) std::printf("chorus %lu, %s\n", i, engraving::to_text(c).c_str());
        }
    }
    for (const auto& [kind, n] : kinds)
        std::printf("%6d %s / %s\n", n, engraving::to_text(kind.first),
                    engraving::to_text(kind.second));
    std::printf("%lu choruses, %zu pages, %zu collisions\n", count, pages, all);
    return all == 0 ? 0 : 1;
}
