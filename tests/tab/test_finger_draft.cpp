// fingering of a draft: its guitar and its pins reach the tablature, through the file too.
#include <doctest/doctest.h>

#include "engine/draft/draft_json.h"
#include "engine/draft/edit.h"
#include "engine/tab/finger_draft.h"
#include "tests/tab/lines.h"

using namespace bentline;
using bentline::testing::plain_note;

namespace {

// C4 E4 G4 C5, a quarter of a second each.
Draft arpeggio() {
    return pencil(Draft{}, {plain_note(60, 0.0, 0.2), plain_note(64, 0.25, 0.2),
                            plain_note(67, 0.5, 0.2), plain_note(72, 0.75, 0.2)})
        .value();
}

Draft after(const Draft& draft, const Edit& edit) {
    auto changed = apply(draft, edit);
    REQUIRE(changed.ok());
    return std::move(changed).value();
}

}  // namespace

TEST_CASE("finger draft: every note sounds its pitch in the draft's own tuning") {
    const Draft plain = arpeggio();
    const Draft open_g = after(plain, SetNeck{parse_tuning("D G D G B D", 2, 24).value()});
    for (const Draft& draft : {plain, open_g}) {
        const auto made = finger_draft(draft, WhichNotes::inked_and_pencilled);
        REQUIRE(made.ok());
        CHECK(made->left_out() == 0);
        for (const DraftNote& n : draft.notes) {
            const FingeredNote* answer = made->of(n.id);
            REQUIRE(answer != nullptr);
            REQUIRE(answer->spot.has_value());
            CHECK(key_at(draft.neck, *answer->spot) == n.note.key);
        }
    }
}

TEST_CASE("finger draft: only inked notes where only they are asked for") {
    const Draft draft = after(arpeggio(), Ink{{NoteId{2}}});
    const auto made = finger_draft(draft, WhichNotes::inked);
    REQUIRE(made.ok());
    CHECK(made->ids == std::vector<NoteId>{NoteId{2}});
    CHECK(made->of(NoteId{1}) == nullptr);
}

TEST_CASE("finger draft: pins are kept, the impossible is left out and says why") {
    Draft draft = after(arpeggio(), SetPin{{NoteId{2}}, Pin{4, {}}});
    draft = after(draft, SetPin{{NoteId{3}}, Pin{7, {}}});
    draft = after(draft, Retune{{NoteId{4}}, 40});
    const auto made = finger_draft(draft, WhichNotes::inked_and_pencilled);
    REQUIRE(made.ok());
    CHECK(made->of(NoteId{2})->spot == Spot{4, 14});  // E4 is 14 frets above the open D3
    CHECK_FALSE(made->of(NoteId{3})->spot.has_value());
    CHECK(made->of(NoteId{3})->problem.find("string 7") != std::string::npos);
    CHECK_FALSE(made->of(NoteId{4})->spot.has_value());
    CHECK_FALSE(made->of(NoteId{4})->problem.empty());
    CHECK(made->left_out() == 2);
}

TEST_CASE("finger draft: the guitar is kept in the draft's file, and a wrong one is refused") {
    const Draft draft = after(arpeggio(), SetNeck{parse_tuning("D A D G B E", 3, 21).value()});
    const auto read = read_draft_text(draft_text(draft), "made.bentline");
    REQUIRE(read.ok());
    CHECK(read->neck == draft.neck);
    CHECK(to_text(read->neck) == "D2 A2 D3 G3 B3 E4, capo 3, 21 frets");
    Neck five;
    five.open.resize(5);
    CHECK_FALSE(apply(draft, SetNeck{five}).ok());
    std::string text = draft_text(draft);
    const auto at = text.find("\"capo\":3");
    REQUIRE(at != std::string::npos);
    text.replace(at, 8, "\"capo\":33");
    const auto refused = read_draft_text(text, "made.bentline");
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.failure().sentence.find("guitar") != std::string::npos);
}
