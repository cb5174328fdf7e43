// draft reader, fuzzed: whatever the bytes, it reads a sound draft or refuses with a sentence; it
// never crashes and never lets a broken draft in. Seeded, so that a failure can be had again.
#include <doctest/doctest.h>

#include "drafts.h"
#include "engine/draft/draft_json.h"

using namespace bentline;
using bentline::testing::Dice;

namespace {

// One small damage: a byte changed, a piece cut out, doubled or moved, a number or a word
// exchanged.
std::string damaged(std::string text, Dice& dice) {
    static const char* const pieces[] = {
        "null", "true",      "-1",        "1e308", "-0.0", "\"\"",     "[]",
        "{}",   "[[",        "}",         "\\u",   "NaN",  "1e-400",   "99999999999999999999",
        "\xff", "\"notes\"", "\"id\":1,", ",",     "0.5",  "\"inked\""};
    const int rounds = dice.whole(1, 2);
    for (int i = 0; i < rounds && !text.empty(); ++i) {
        const auto at = static_cast<std::size_t>(dice.whole(0, static_cast<int>(text.size()) - 1));
        const auto length = static_cast<std::size_t>(dice.whole(1, 40));
        switch (dice.whole(0, 5)) {
            case 0:
                text[at] = static_cast<char>(dice.whole(0, 255));
                break;
            case 1:
                text.erase(at, length);
                break;
            case 2:
                text.insert(at, text.substr(at, length));
                break;
            case 3:
                text.insert(at, dice.pick(pieces));
                break;
            case 4: {  // a whole value after a colon
                const auto colon = text.find(':', at);
                if (colon == std::string::npos) break;
                const auto end = text.find_first_of(",}]\n", colon);
                text.replace(colon + 1, end == std::string::npos ? end : end - colon - 1,
                             dice.pick(pieces));
                break;
            }
            default:
                text.resize(at);
        }
    }
    return text;
}

}  // namespace

TEST_CASE("draft fuzz: 6000 damaged files are read soundly or refused") {
    Dice dice(2024);
    testing::EditMaker maker(1);
    Draft draft = testing::steady_line(6);
    for (int i = 0; i < 40; ++i) {
        if (auto next = apply(draft, maker.make(draft))) draft = std::move(next).value();
    }
    const std::string good = draft_text(draft);
    int read = 0;
    int refused = 0;
    for (int i = 0; i < 6000; ++i) {
        const std::string text = damaged(good, dice);
        const auto result = read_draft_text(text, "x");
        if (!result) {
            ++refused;
            REQUIRE(result.failure().kind == FailureKind::bad_draft);
            REQUIRE(result.failure().sentence.size() > 30);
            continue;
        }
        ++read;
        // What was let in is sound: it can be written, read and edited like any other.
        const auto again = read_draft_text(draft_text(*result), "x");
        REQUIRE_MESSAGE(again.ok(), text);
        REQUIRE(*again == *result);
        const auto row = result->notes.handles();
        REQUIRE(NoteList::make(std::vector<NoteList::Handle>(row.begin(), row.end())).ok());
        (void)describe(*result, maker.make(*result));
        (void)apply(*result, maker.make(*result));
    }
    // Both ways are taken often enough to mean something.
    CHECK(read > 300);
    CHECK(refused > 2000);
}
