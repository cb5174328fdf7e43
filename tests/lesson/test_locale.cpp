// locale: what is handed out is the same to the byte where numbers are written with a comma.
#include <algorithm>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

#include <doctest/doctest.h>

#include "engine/draft/draft_json.h"
#include "engine/export/handout.h"
#include "engine/lesson/lesson_html.h"
#include "engine/lesson/lesson_json.h"
#include "tests/draft/drafts.h"
#include "tests/support/comma_locale.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

// Notes with fractions in every figure, an hour into the recording, so that thousands of seconds
// are written, too.
Draft measured() {
    std::vector<Note> notes;
    for (int i = 0; i < 24; ++i) {
        Note n = note(3600.1 + 0.53 * i, 3600.5 + 0.53 * i, 52 + i);
        n.cents = Cents(-3.7 + 0.25 * i);
        n.inflections.push_back({Bend{Cents(101.5), {}, {}, i % 2 == 0, false, {}}, 0.87, "why"});
        if (i % 3 == 0) {
            n.inflections = {{Vibrato{Hertz(5.6), Cents(34.5), {}}, 0.75, "why"}};
        }
        notes.push_back(n);
    }
    Draft d;
    d.title = "Low Water";
    d.tuning = Cents(-12.25);
    d.bars = BarMap::constant(Tempo(113.21), Seconds(3600.1)).value();
    d = pencil(std::move(d), notes).value();
    std::vector<DraftNote> inked(d.notes.begin(), d.notes.end());
    for (DraftNote& n : inked)
        n.state = NoteState::inked;
    d.notes = NoteList::make(std::move(inked)).value();
    return d;
}

std::string bytes_of(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return std::move(text).str();
}

// Everything that is written of a draft, by its form.
std::map<std::string, std::string> written(const Draft& draft) {
    const Folder folder("handout");
    Handout handout;
    handout.midi = folder / "solo.mid";
    handout.musicxml = folder / "solo.musicxml";
    handout.csv = folder / "solo.csv";
    handout.text_tab = folder / "solo.txt";
    handout.sheet = folder / "solo.svg";
    handout.engraving.measured = true;
    REQUIRE(hand_out(draft, handout).ok());
    std::map<std::string, std::string> all;
    for (const auto& path : targets_of(handout))
        all[path.extension().string()] = bytes_of(path);
    handout = {};
    handout.sheet = folder / "solo.pdf";
    REQUIRE(hand_out(draft, handout).ok());
    all[".pdf"] = bytes_of(*handout.sheet);
    all["lesson.html"] = lesson_html(draft, WhichNotes::inked);
    all["lesson.json"] = lesson_json(draft, WhichNotes::inked);
    all["draft"] = draft_text(draft);
    return all;
}

}  // namespace

TEST_CASE("locale: every handout has the same bytes under a decimal comma") {
    const Draft draft = measured();
    const auto plain = written(draft);
    CHECK(plain.size() == 9);
    CHECK(plain.at(".csv").find("3600.1") != std::string::npos);
    const CommaLocale comma;
    std::ostringstream shown;
    shown << 1234.5;
    REQUIRE(shown.str() == "1.234,5");  // the locale holds
    if (comma.in_c())
        CHECK(std::string(std::localeconv()->decimal_point) == ",");
    else
        MESSAGE("only C++ streams: no locale with a decimal comma can be made here");
    const auto under_comma = written(draft);
    for (const auto& [form, bytes] : plain) {
        CAPTURE(form);
        CHECK(bytes.size() > 100);
        // The first place that differs tells more than two whole files.
        const auto& there = under_comma.at(form);
        const auto differ = std::mismatch(bytes.begin(), bytes.end(), there.begin(), there.end());
        const auto at = static_cast<std::size_t>(differ.first - bytes.begin());
        CHECK_MESSAGE(there == bytes, bytes.substr(at, 80), " became ", there.substr(at, 80));
    }
    CHECK(read_draft_text(plain.at("draft"), "x").value() == draft);
}
