// command: export hands out all that was asked for, or nothing.
#include <sstream>
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

// Four quarter notes at 120 a minute, bar 1 at 0: C4, D4 bent, E4, G4; all inked.
Draft four_notes() {
    std::vector<Note> notes;
    const int keys[] = {60, 62, 64, 67};
    for (int i = 0; i < 4; ++i) {
        Note n;
        n.onset = Seconds(0.5 * i);
        n.offset = Seconds(0.5 * i + 0.45);
        n.key = MidiKey(keys[i]);
        n.level = Decibels(-12.5);
        notes.push_back(n);
    }
    notes[1].cents = Cents(-3.28);
    notes[1].cents_error = Cents(1.54);
    notes[1].reason = "rose 14 dB, then held";
    notes[1].inflections.push_back(
        {Bend{Cents(98.0), Seconds(0.6), Seconds(0.7), false, false, {}, Cents(4.26)}, 0.8, ""});
    Draft draft;
    draft.title = "Harbour Lights Out";
    draft.bars = BarMap::constant(Tempo(120.0), Seconds(0.0)).value();
    draft = pencil(std::move(draft), notes).value();
    std::vector<NoteId> ids;
    for (const DraftNote& n : draft.notes)
        ids.push_back(n.id);
    return apply(draft, Ink{ids}).value();
}

void save(const Workplace& folder, const Draft& draft, const std::string& name = "d.bentline") {
    REQUIRE(save_draft(draft, folder.path(name)).ok());
}

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);)
        lines.push_back(line);
    return lines;
}

}  // namespace

TEST_CASE("command: export without anything to hand out is wrong usage") {
    const Workplace folder;
    save(folder, four_notes());
    for (const char* line : {"export d.bentline", "export d.bentline --plain --force"}) {
        const Outcome o = folder.run(line);
        CHECK(o.code == 2);
        CHECK(o.error_lines() == 1);
    }
}

TEST_CASE("command: several exports from one command") {
    const Workplace folder;
    save(folder, four_notes());
    const Outcome o = folder.run("export d.bentline --midi d.mid --csv d.csv");
    CHECK(o.code == 0);
    CHECK(o.out.empty());
    CHECK(o.err.find("d.mid: 4 notes") != std::string::npos);
    CHECK(o.err.find("rights") != std::string::npos);
    CHECK(folder.text_of("d.mid").substr(0, 4) == "MThd");
    CHECK(lines_of(folder.text_of("d.csv")).size() == 5);
    CHECK(folder.files() == 3);
    CHECK(folder.run("export d.bentline --midi d.mid --csv d.csv --quiet --force").err.empty());
}

TEST_CASE("command: when one export fails, none is made") {
    const Workplace folder;
    save(folder, four_notes());
    folder.write("taken.csv", "mine");
    const std::size_t files = folder.files();
    for (const char* line :
         {"export d.bentline --midi d.mid --csv gone/d.csv",
          "export d.bentline --midi gone/d.mid --csv d.csv",
          "export d.bentline --midi d.mid --csv taken.csv",
          "export d.bentline --midi d.mid --csv .", "export d.bentline --midi same --csv same"}) {
        CAPTURE(line);
        const Outcome o = folder.run(line);
        CHECK(o.code == 1);
        CHECK(o.error_lines() == 1);
        CHECK(folder.files() == files);
    }
    CHECK(folder.text_of("taken.csv") == "mine");
    // A disk that takes 4 blocks of 1024 bytes a file [POSIX ulimit -f counts 512; bash 1024].
    const Outcome full =
        folder.run("info --help >/dev/null; ulimit -f 0; trap '' XFSZ; '" BENTLINE_PROGRAM
                   "' export d.bentline --midi d.mid --csv d.csv");
    CHECK(full.code != 0);
    CHECK_FALSE(std::filesystem::exists(folder.path("d.mid")));
    CHECK_FALSE(std::filesystem::exists(folder.path("d.csv")));
}

TEST_CASE("command: the table of measurements has a row a note and its unit in every name") {
    const Workplace folder;
    save(folder, four_notes());
    REQUIRE(folder.run("export d.bentline --csv d.csv").code == 0);
    const auto lines = lines_of(folder.text_of("d.csv"));
    REQUIRE(lines.size() == 5);
    const std::string& head = lines[0];
    for (const char* name :
         {"onset_s", "offset_s", "midi", "off_pitch_cents", "level_db", "bend_cents",
          "vibrato_rate_hz", "vibrato_depth_cents", "off_pitch_error_cents", "bend_error_cents",
          "vibrato_rate_error_hz", "vibrato_depth_error_cents", "slide_in_end_error_s"}) {
        CHECK_MESSAGE(head.find(name) != std::string::npos, name);
    }
    // Bar 1 beat 2 of 120 a minute is at half a second; D4 is 62.
    CHECK(lines[2].substr(0, 57) == "2,inked,1,2.000,0.5000,0.9500,0.4500,62,D4,-3.3,1.5,-12.5");
    CHECK(lines[2].find(",98.0,4.3,0.6000,0.7000,0,,,0,0.800,") != std::string::npos);
    // A reason with a comma is one field [RFC 4180, 2.6].
    CHECK(lines[2].find(",\"rose 14 dB, then held\"") != std::string::npos);
    const auto fields = [](const std::string& line) {
        bool quoted = false;
        int n = 1;
        for (const char c : line) {
            quoted = c == '"' ? !quoted : quoted;
            n += c == ',' && !quoted ? 1 : 0;
        }
        return n;
    };
    for (const std::string& line : lines)
        CHECK(fields(line) == fields(head));
}

TEST_CASE("command: a part of a draft is handed out and explained by its places") {
    const Workplace folder;
    save(folder, four_notes());
    // Quarter notes on the four beats of bar 1: from beat 2 to before beat 4 are two of them.
    REQUIRE(folder.run("export d.bentline --csv d.csv --from 1:2 --to 1:4").code == 0);
    const auto lines = lines_of(folder.text_of("d.csv"));
    REQUIRE(lines.size() == 3);
    CHECK(lines[1].find(",62,D4,") != std::string::npos);
    CHECK(lines[2].find(",64,E4,") != std::string::npos);
    REQUIRE(folder.run("lesson d.bentline --out l.json --from 1:2 --to 1:4").code == 0);
    CHECK(folder.text_of("l.json").find("\"notes\": 2") != std::string::npos);
    const Outcome backwards = folder.run("export d.bentline --midi d.mid --from 2:1 --to 1:1");
    CHECK(backwards.code == 1);
    CHECK(backwards.error_lines() == 1);
    CHECK_FALSE(std::filesystem::exists(folder.path("d.mid")));
}

TEST_CASE("command: everything from one command, and the same bytes the next time") {
    const Workplace folder;
    const SampleRate rate{22050};
    folder.write_wav("take.wav", audio_of(sine(Hertz(220.0), Seconds(3.0), rate, 0.3), rate));
    Draft draft = four_notes();
    draft.recording.path = folder.path("take.wav").string();
    save(folder, draft);
    const std::string all =
        "export d.bentline --midi d.mid --musicxml d.musicxml --csv d.csv --text-tab d.txt "
        "--clips clips --force";
    const Outcome o = folder.run(all);
    REQUIRE_MESSAGE(o.code == 0, o.err);
    const char* const names[] = {"d.mid",
                                 "d.musicxml",
                                 "d.csv",
                                 "d.txt",
                                 "clips/bars-01-01-50.wav",
                                 "clips/bars-01-01-75.wav",
                                 "clips/bars-01-01-100.wav"};
    std::vector<std::string> before;
    for (const char* name : names) {
        before.push_back(folder.text_of(name));
        CHECK_MESSAGE(before.back().size() > 100, name);
    }
    CHECK(folder.files() == 7);  // the take, the draft, four files and the folder of clips
    CHECK(before[1].find("<score-partwise version=\"4.0\">") != std::string::npos);
    CHECK(before[3].find("|") != std::string::npos);
    REQUIRE(folder.run(all).code == 0);
    for (std::size_t i = 0; i < std::size(names); ++i)
        CHECK_MESSAGE(folder.text_of(names[i]) == before[i], names[i]);

    // A clip's name that is taken stops everything, too.
    const Outcome taken = folder.run("export d.bentline --midi new.mid --clips clips");
    CHECK(taken.code == 1);
    CHECK(taken.err.find("bars-01-01-50.wav") != std::string::npos);
    CHECK_FALSE(std::filesystem::exists(folder.path("new.mid")));

    REQUIRE(folder.run("export d.bentline --musicxml d.mxl").code == 0);
    CHECK(folder.text_of("d.mxl").substr(0, 2) == "PK");
    // Endings may be in capitals.
    REQUIRE(folder.run("export d.bentline --musicxml E.MXL --sheet E.SVG").code == 0);
    CHECK(folder.text_of("E.MXL") == folder.text_of("d.mxl"));
    CHECK(folder.text_of("E.SVG").find("<svg") != std::string::npos);
    REQUIRE(folder.run("lesson d.bentline --out L.HTML").code == 0);
    CHECK(folder.text_of("L.HTML").find("<html") != std::string::npos);
    REQUIRE(folder.run("lesson d.bentline --out L.Json").code == 0);
    CHECK(folder.text_of("L.Json").substr(0, 1) == "{");
    CHECK(folder.run("lesson d.bentline --out L.HTM").code == 1);
    const Outcome printed = folder.run("export d.bentline --text-tab - --quiet");
    CHECK(printed.code == 0);
    CHECK(printed.out == before[3]);
    CHECK(printed.err.empty());
}

TEST_CASE("command: an empty draft, nothing inked, a recording that is gone") {
    const Workplace folder;
    Draft empty;
    save(folder, empty, "empty.bentline");
    Draft pencilled = four_notes();
    pencilled = apply(pencilled, Pencil{{NoteId{1}, NoteId{2}, NoteId{3}, NoteId{4}}}).value();
    save(folder, pencilled, "pencilled.bentline");
    const std::size_t files = folder.files();
    for (const char* draft : {"empty.bentline", "pencilled.bentline"}) {
        for (const char* form : {"--midi o.mid", "--musicxml o.musicxml", "--csv o.csv",
                                 "--text-tab o.txt", "--text-tab -", "--clips o"}) {
            CAPTURE(draft);
            CAPTURE(form);
            const Outcome o = folder.run(std::string("export ") + draft + " " + form);
            CHECK(o.code == 1);
            CHECK(o.error_lines() == 1);
            CHECK(o.out.empty());
            CHECK(folder.files() == files);
        }
    }
    CHECK(folder.run("export empty.bentline --midi o.mid").err.find("has no notes") !=
          std::string::npos);
    CHECK(folder.run("export pencilled.bentline --pencilled --midi o.mid --musicxml o.musicxml")
              .code == 0);
}

TEST_CASE("command: without bars what counts in seconds is still handed out") {
    const Workplace folder;
    Draft draft = four_notes();
    draft.bars.reset();
    save(folder, draft);
    const Outcome o = folder.run("export d.bentline --midi d.mid --csv d.csv");
    CHECK(o.code == 0);
    CHECK(lines_of(folder.text_of("d.csv"))[1].substr(0, 24) == "1,inked,,,0.0000,0.4500,");
    // What needs bars says so, and takes nothing with it.
    for (const char* form : {"--musicxml e.musicxml", "--text-tab e.txt"}) {
        const Outcome cannot = folder.run(std::string("export d.bentline --midi e.mid ") + form);
        CHECK(cannot.code == 1);
        CHECK(cannot.err.find("needs a score") != std::string::npos);
        CHECK(cannot.err.find("bars") != std::string::npos);
        CHECK_FALSE(std::filesystem::exists(folder.path("e.mid")));
    }
}

TEST_CASE("command: a sheet as PDF or SVG, on either paper, the same bytes each time") {
    const Workplace folder;
    save(folder, four_notes());
    const Outcome pdf = folder.run("export d.bentline --sheet a.pdf --midi d.mid");
    CHECK(pdf.code == 0);
    CHECK(pdf.err.find("a.pdf: 4 notes") != std::string::npos);
    CHECK(folder.text_of("a.pdf").substr(0, 5) == "%PDF-");
    CHECK(folder.run("export d.bentline --sheet b.pdf").code == 0);
    CHECK(folder.text_of("a.pdf") == folder.text_of("b.pdf"));
    CHECK(folder.run("export d.bentline --sheet c.pdf --paper letter").code == 0);
    CHECK(folder.text_of("a.pdf") != folder.text_of("c.pdf"));
    CHECK(folder.run("export d.bentline --sheet d.svg --figures").code == 0);
    CHECK(folder.text_of("d.svg").find("<svg") != std::string::npos);
    CHECK(folder.run("export d.bentline --sheet e.svg --staff-only").code == 0);
    CHECK(folder.text_of("e.svg").size() < folder.text_of("d.svg").size());
    // What cannot be made is not made, nor is what was asked for beside it.
    const Outcome png = folder.run("export d.bentline --sheet f.png --midi f.mid");
    CHECK(png.code == 1);
    CHECK(png.error_lines() == 1);
    CHECK_FALSE(std::filesystem::exists(folder.path("f.mid")));
    CHECK(folder.run("export d.bentline --sheet f.pdf --paper napkin").code == 2);
}
