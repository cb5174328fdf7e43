// command: bars, beats and charts: what is mended, what is refused in one sentence, and what still
// works without any.
#include <cmath>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "engine/draft/draft_file.h"
#include "engine/draft/edit.h"
#include "tests/command/program.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

// Inked quarters up and down E flat major at 120 beats a minute, bar 1 at 2 s; `bars` bars and the
// first `pickup` beats before bar 1. From bar 9 on, where there are more than 8, in A flat.
Draft quarters(int bars, int pickup = 0) {
    static constexpr int scale[] = {63, 65, 67, 70, 72, 70, 68, 67};
    std::vector<Note> notes;
    for (int beat = -pickup; beat < 4 * bars; ++beat) {
        Note n;
        n.onset = Seconds(2.0 + 0.5 * beat);
        n.offset = n.onset + Seconds(0.45);
        n.key = MidiKey(scale[(beat + 64) % 8] + (beat >= 32 ? 5 : 0));
        notes.push_back(n);
    }
    Draft draft;
    draft.bars = BarMap::constant(Tempo(120.0), Seconds(2.0)).value();
    draft = pencil(std::move(draft), notes).value();
    std::vector<NoteId> ids;
    for (const DraftNote& n : draft.notes)
        ids.push_back(n.id);
    return apply(draft, Ink{ids}).value();
}

void save(const Workplace& folder, const Draft& draft) {
    REQUIRE(save_draft(draft, folder.path("d.bentline")).ok());
}

Draft opened(const Workplace& folder, const std::string& name = "d.bentline") {
    return load_draft(folder.path(name)).value().draft;
}

}  // namespace

TEST_CASE("command: bars are mended one by one, and no note moves") {
    const Workplace folder;
    Draft before = quarters(8);
    save(folder, before);
    const auto run = [&](const std::string& options) {
        const Outcome o = folder.run("bars d.bentline --quiet " + options);
        CHECK_MESSAGE(o.code == 0, options, ": ", o.err);
        const Draft now = opened(folder);
        CHECK(now.notes == before.notes);
        return now;
    };
    CHECK(run("--beat 2:1=4.1").bars->time_of(BarBeat{2, Beats(0.0)}) == Seconds(4.1));
    CHECK(run("--bar-one 2:1").bars->time_of(BarBeat{1, Beats(0.0)}) == Seconds(4.1));
    CHECK(run("--bar-one 2.1").bars->time_of(BarBeat{1, Beats(0.0)}) == Seconds(2.0));
    CHECK(run("--pickup 2").bars->pickup() == 2);
    CHECK(run("--bar-metre 3=2/4").bars->metre_at(3) == Metre{2, 4});
    CHECK(run("--bar-metre 3=4/4").bars->single_metre());
    CHECK(run("--insert-bar 4").bars->bar_span(6).from == Seconds(10.0));
    CHECK(run("--drop-bar 4").bars->bar_span(5).from == Seconds(10.0));
    CHECK(run("--without-pulse 3-4").bars->free_at(4));
    CHECK_FALSE(run("--with-pulse 4").bars->free_at(4));
    CHECK(run("--double-time").bars->tempo_at(Beats(40.0)).value() == doctest::Approx(240.0));
    CHECK(run("--half-time").bars->tempo_at(Beats(40.0)).value() == doctest::Approx(120.0));
    CHECK(to_text(run("--form AABA --key 'Eb, B in Ab'").keys()) == "Eb major, B in Ab major");
    const Draft twice = run("--times 2");
    CHECK(to_text(twice.form) == "AABAAABA");
    CHECK(twice.form[6].key == Key{-4, false});
    CHECK(to_text(run("--form 'AB x3'").form) == "ABABAB");
    const Outcome said = folder.run("bars d.bentline --out e.bentline");
    CHECK(said.err.find("Bar 1 at 2.000 s in 4/4") != std::string::npos);
    CHECK(opened(folder, "e.bentline") == opened(folder));
}

TEST_CASE("command: bars that cannot be are refused in one sentence, and the draft stays") {
    const Workplace folder;
    save(folder, quarters(8));
    const std::string before = folder.text_of("d.bentline");
    const std::vector<std::pair<std::string, std::string>> cases = {
        {"--beat 2:1", "7:2=12.34"},
        {"--beat 2:1.5=4", "between two beats"},
        {"--beat 2:1=9", "between its neighbours"},
        {"--beat 2:1=nan", "not a time"},
        {"--bar-one 3:9", "no beat 9"},
        {"--pickup 4", "shorter than a bar"},
        {"--insert-bar 0", "before bar 1"},
        {"--drop-bar -3", "before bar 1"},
        {"--bar-metre 3", "5=2/4"},
        {"--bar-metre 3=2/5", "2/5"},
        {"--bar-metre x=2/4", "no bar"},
        {"--without-pulse 4-3", "no bars"},
        {"--form 8A", "not a form"},
        {"--form 'AABA x0'", "times over"},
        {"--form 'AABA x101'", "times over"},
        {"--times 2", "no form"},
        {"--key 'Eb, B in Ab'", "no section 'B'"},
    };
    for (const auto& [options, named] : cases) {
        CAPTURE(options);
        const Outcome o = folder.run("bars d.bentline " + options);
        CHECK(o.code == 1);
        CHECK(o.error_lines() == 1);
        CHECK_MESSAGE(o.err.find(named) != std::string::npos, o.err);
        CHECK(folder.text_of("d.bentline") == before);
    }
}

TEST_CASE("command: files of beats that are none, and charts of nonsense") {
    const Workplace folder;
    folder.write_wav("tone.wav", audio_of(sine(Hertz(440.0), Seconds(0.5), SampleRate(44100)),
                                          SampleRate(44100)));
    const std::vector<std::pair<std::string, std::string>> files = {
        {R"({"beats":[1,3,2],"downbeats":[1]})", "out of order"},
        {R"({"beats":[1,2,2,3],"downbeats":[1]})", "out of order"},
        {R"({"beats":[1,2,NaN],"downbeats":[1]})", "no JSON"},
        {R"({"beats":[1,2,1e999],"downbeats":[1]})", "no JSON"},
        {R"({"beats":[1,"two"],"downbeats":[1]})", "\"beats\""},
        {R"({"beats":[1,2]})", "\"downbeats\""},
        {R"({"beats":[1,2],"downbeats":[]})", "\"downbeats\""},
        {R"({"beats":[1,2],"downbeats":[1],"beats_per_bar":0})", "\"beats_per_bar\""},
        {R"({"beats":[1,2],"downbeats":[1],"metre":"4/5"})", "\"metre\""},
        {R"([1,2,3])", "no JSON object"},
        {R"({"beats":{}})", "\"beats\""},
    };
    for (const auto& [text, named] : files) {
        CAPTURE(text);
        folder.write("b.json", text);
        const Outcome o = folder.run("draft tone.wav --beats b.json --out d.bentline");
        CHECK(o.code == 1);
        CHECK(o.error_lines() == 1);
        CHECK_MESSAGE(o.err.find(named) != std::string::npos, o.err);
        CHECK_FALSE(std::filesystem::exists(folder.path("d.bentline")));
    }
    // A beat before the recording's start is no mistake: the first note may be a pickup.
    folder.write("b.json", R"({"beats":[-0.5,0,0.5,1],"downbeats":[-0.5],"beats_per_bar":2})");
    CHECK(folder.run("draft tone.wav --beats b.json --out d.bentline").code == 0);
    CHECK(opened(folder).bars->time_of(Beats(0.0)) == Seconds(-0.5));
    // Nonsense in a chart is kept as text and reported with its line; what is no chart is refused.
    folder.write("c.txt", "A\n| Eb6 wobble | \xf0\x9f\x8e\xb8 |\nB in Ab\n| Ab6 |\n");
    const Outcome kept =
        folder.run("draft tone.wav --beats b.json --chords c.txt --key Eb --out d.bentline");
    CHECK(kept.code == 0);
    CHECK(kept.err.find("line 2: 'wobble'") != std::string::npos);
    CHECK(opened(folder).chords[0] == "Eb6 wobble");
    CHECK(opened(folder).chords[1] == "\xf0\x9f\x8e\xb8");
    CHECK(to_text(opened(folder).keys()) == "Eb major, B in Ab major");
    folder.write("c.txt", "B in Q\n| Ab6 |\n");
    const Outcome refused = folder.run("draft tone.wav --chords c.txt --out e.bentline");
    CHECK(refused.code == 1);
    CHECK(refused.error_lines() == 1);
    CHECK(refused.err.find("line 1") != std::string::npos);
}

TEST_CASE("command: a draft without bars inks, plays, fingers, explains and exports in seconds") {
    const Workplace folder;
    Draft draft = quarters(4);
    draft.bars.reset();
    save(folder, draft);
    for (const char* line :
         {"ink d.bentline", "ink d.bentline --from 2.0 --to 3.0", "finger d.bentline --out f.json",
          "play d.bentline --as-wav p.wav", "lesson d.bentline --out l.html",
          "lesson d.bentline --out l.json", "export d.bentline --midi m.mid --csv m.csv"}) {
        const Outcome o = folder.run(line);
        CHECK_MESSAGE(o.code == 0, line, ": ", o.err);
    }
    for (const char* line : {"ink d.bentline --bars 1-2", "export d.bentline --musicxml x.musicxml",
                             "export d.bentline --sheet x.pdf", "bars d.bentline --pickup 1",
                             "play d.bentline --from 1:1 --as-wav x.wav"}) {
        const Outcome o = folder.run(line);
        CHECK_MESSAGE(o.code == 1, line);
        CHECK_MESSAGE(o.error_lines() == 1, line, ": ", o.err);
        CHECK_MESSAGE(o.err.find("bar") != std::string::npos, o.err);
    }
    CHECK(opened(folder).notes == draft.notes);
}

TEST_CASE("command: notes before bar 1, a metre that changes, 500 bars") {
    const Workplace folder;
    Draft draft = quarters(500, 2);
    draft.bars = BarMap::constant(Tempo(120.0), Seconds(2.0)).value();
    BarMap::Parts parts = draft.bars->parts();
    parts.metres = {{1, Metre{4, 4}}, {200, Metre{3, 4}}, {300, Metre{6, 8}}, {400, Metre{4, 4}}};
    draft.bars = BarMap::make(parts).value();
    save(folder, draft);
    const Outcome o = folder.run(
        "export d.bentline --midi d.mid --musicxml d.musicxml --csv d.csv --text-tab d.txt");
    CHECK_MESSAGE(o.code == 0, o.err);
    // The 2002 notes, each once, the first two before bar 1.
    const std::string csv = folder.text_of("d.csv");
    CHECK(std::count(csv.begin(), csv.end(), '\n') == 2003);
    CHECK(csv.find("\n1,inked,0,3.000,") != std::string::npos);
    const Outcome lesson = folder.run("lesson d.bentline --from 1:1 --to 9:1 --out l.html");
    CHECK_MESSAGE(lesson.code == 0, lesson.err);
    CHECK(folder.run("ink d.bentline --bars 0-500").err.find("notes") != std::string::npos);
    CHECK(opened(folder).notes == draft.notes);
}
