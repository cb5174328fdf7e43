// draft: every change of the bars is an edit: it moves no note, can be undone, and is saved.
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "drafts.h"
#include "engine/bars/bar_edits.h"
#include "engine/draft/draft_json.h"
#include "engine/draft/history.h"

using namespace bentline;
using bentline::testing::steady_line;

namespace {

// 32 bars that breathe, over a line of 240 notes, a form, keys and chords.
Draft tune() {
    Draft d = steady_line(240);
    std::vector<Seconds> beats;
    for (int b = 0; b < 130; ++b)
        beats.push_back(Seconds(0.5 * b + 0.04 * std::sin(0.3 * b)));
    d.bars = BarMap::from_beats(beats, 2).value();
    d.form = parse_form("A4B4A4").value();
    d.form[1].key = Key{-4, false};
    d.key = Key{-3, false};
    d.chords = {"Eb6", "Fm7 Bb7"};
    return d;
}

struct BarChange {
    const char* what;
    std::function<Edit(const Draft&)> edit;
};

Edit bars(Result<BarMap> map) {
    return SetBars{std::move(map).value(), ""};
}

const std::vector<BarChange>& changes() {
    static const std::vector<BarChange> all = {
        {"tap along, one tap missed",
         [](const Draft& d) {
             std::vector<Seconds> taps, onsets;
             for (const DraftNote& n : d.notes)
                 onsets.push_back(n.note.onset);
             for (int b = 0; b < 40; ++b) {
                 if (b != 17) taps.push_back(Seconds(3.02 + 0.5 * b));
             }
             return bars(tap_along(taps, onsets, Metre{4, 4}));
         }},
        {"drag one beat",
         [](const Draft& d) { return bars(drag_beat(*d.bars, 9, d.bars->time_of(Beats(9.2)))); }},
        {"bar 1 is here", [](const Draft& d) { return bars(bar_one_here(*d.bars, Seconds(5.1))); }},
        {"bar 1 is exactly here",
         [](const Draft& d) { return bars(bar_one_exactly_here(*d.bars, Seconds(5.1))); }},
        {"pickup", [](const Draft& d) { return bars(d.bars->with_pickup(2)); }},
        {"insert a bar", [](const Draft& d) { return bars(insert_bar(*d.bars, 5)); }},
        {"drop a bar", [](const Draft& d) { return bars(drop_bar(*d.bars, 5)); }},
        {"one bar of two",
         [](const Draft& d) {
             return bars(set_bar_metre(*d.bars, 3, Metre{2, 4}));
         }},
        {"rubato",
         [](const Draft& d) {
             return bars(set_free(*d.bars, {3, 6}, true));
         }},
        {"rubato taken back",
         [](const Draft& d) {
             return bars(set_free(set_free(*d.bars, {3, 6}, true).value(), {4, 5}, false));
         }},
        {"double time", [](const Draft& d) { return bars(double_time(*d.bars)); }},
        {"half time", [](const Draft& d) { return bars(half_time(*d.bars)); }},
        {"metre",
         [](const Draft&) {
             return Edit(SetMetre{Metre{3, 4}});
         }},
        {"no bars",
         [](const Draft&) {
             return Edit(SetBars{std::nullopt, ""});
         }},
        {"repeat the form", [](const Draft& d) { return Edit(SetForm{repeated(d.form, 3)}); }},
        {"keys",
         [](const Draft& d) {
             return Edit(SetKeys{parse_keys("G, 5 in C minor", d.form).value()});
         }},
        {"chord",
         [](const Draft&) {
             return Edit(SetChord{7, "Abm6"});
         }},
    };
    return all;
}

}  // namespace

TEST_CASE("draft bars: each change moves no note, is undone and redone exactly, and is saved") {
    for (const BarChange& change : changes()) {
        CAPTURE(change.what);
        const Draft before = tune();
        History history(before);
        REQUIRE(history.edit(change.edit(before)).ok());
        const Draft now = history.now();
        CHECK_FALSE(now == before);
        CHECK(now.notes == before.notes);
        CHECK_FALSE(history.step(0).words.empty());
        const auto opened = read_draft_text(draft_text(now), "x");
        REQUIRE(opened.ok());
        CHECK(*opened == now);
        history.undo();
        CHECK(history.now() == before);
        history.redo();
        CHECK(history.now() == now);
    }
}

TEST_CASE("draft bars: all changes after one another, and all of them undone") {
    History history(tune());
    std::vector<Draft> states{history.now()};
    for (const BarChange& change : changes()) {
        if (std::string(change.what) == "no bars") continue;
        CAPTURE(change.what);
        // Half and double time want one metre throughout.
        if (!history.now().bars->single_metre() &&
            std::string(change.what).find("time") != std::string::npos)
            continue;
        REQUIRE(history.edit(change.edit(history.now())).ok());
        if (history.done() == states.size()) states.push_back(history.now());
        CHECK(history.now().notes == states.front().notes);
    }
    CHECK(states.size() > 12);
    CHECK(read_draft_text(draft_text(history.now()), "x").value() == history.now());
    while (history.can_undo()) {
        history.undo();
        CHECK(history.now() == states[history.done()]);
    }
    CHECK(history.now() == tune());
}
