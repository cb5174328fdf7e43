// musicxml: what each thing of the score becomes, by the MusicXML 4.0 specification (W3C).
#include <string>

#include <doctest/doctest.h>
#include <pugixml.hpp>

#include "engine/export/handout.h"
#include "engine/export/musicxml.h"
#include "tests/export/check_chorus.h"
#include "tests/export/musicxml_reading.h"
#include "tests/export/small_drafts.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

std::string xml_of(const Draft& draft, bool plain = false) {
    MusicXmlSettings settings;
    settings.plain = plain;
    return musicxml_text(write_score(draft, WhichNotes::inked).value(),
                         finger_draft(draft, WhichNotes::inked).value(), settings);
}

pugi::xml_node part_of(pugi::xml_document& document, const std::string& xml) {
    REQUIRE(document.load_string(xml.c_str()));
    return document.child("score-partwise").child("part");
}

// The nodes that an XPath finds.
std::vector<pugi::xml_node> all(const pugi::xml_node& from, const char* path) {
    std::vector<pugi::xml_node> found;
    for (const auto& node : from.select_nodes(path))
        found.push_back(node.node());
    return found;
}

}  // namespace

TEST_CASE("musicxml: clefs, tuning and capo; pitches as they sound") {
    Draft heading = in_four_four();
    heading.neck = parse_tuning("D A D G B E", 2, 22).value();
    const std::string xml = xml_of(inked(heading, {on_beat(0, 4, 60)}));
    pugi::xml_document document;
    const auto attributes = part_of(document, xml).child("measure").child("attributes");
    const auto clefs = all(attributes, "clef");
    REQUIRE(clefs.size() == 2);
    // A guitar sounds an octave below what is written [common practice, no source].
    CHECK(std::string(clefs[0].child_value("sign")) == "G");
    CHECK(std::string(clefs[0].child_value("clef-octave-change")) == "-1");
    CHECK(std::string(clefs[1].child_value("sign")) == "TAB");
    CHECK_FALSE(attributes.child("transpose"));
    const auto details = attributes.child("staff-details");
    CHECK(details.child("capo").text().as_int() == 2);
    const auto tuning = all(details, "staff-tuning");
    REQUIRE(tuning.size() == 6);
    CHECK(tuning[0].attribute("line").as_int() == 1);
    CHECK(std::string(tuning[0].child_value("tuning-step")) == "D");
    CHECK(tuning[0].child("tuning-octave").text().as_int() == 2);
    const auto pitch = part_of(document, xml).child("measure").child("note").child("pitch");
    CHECK(std::string(pitch.child_value("step")) == "C");
    CHECK(pitch.child("octave").text().as_int() == 4);
    CHECK(fault_of_musicxml(xml) == "");
}

TEST_CASE("musicxml: bend, release and pre-bend [bend-alter, in semitones]") {
    const auto bends = [](Bend bend) {
        pugi::xml_document document;
        const auto part =
            part_of(document,
                    xml_of(inked(in_four_four(), {on_beat(0, 2, 67, {bend}), on_beat(2, 4, 69)})));
        std::string text;
        for (const auto& b : all(part, "measure/note[staff=2]/notations/technical/bend")) {
            text += std::string(b.child_value("bend-alter")) + (b.child("release") ? "r" : "") +
                    (b.child("pre-bend") ? "p" : "") + " ";
        }
        CHECK(all(part, "measure/note[staff=1]/notations/technical/bend").empty());
        return text;
    };
    CHECK(bends({Cents(205.0), {}, {}, false, false, {}}) == "2 ");
    CHECK(bends({Cents(52.0), {}, {}, false, false, {}}) == "0.5 ");
    CHECK(bends({Cents(95.0), {}, {}, true, false, {}}) == "1 -1r ");
    CHECK(bends({Cents(100.0), {}, {}, false, true, {}}) == "-1p ");
    CHECK(bends({Cents(100.0), {}, {}, true, true, {}}) == "-1p -1r ");
}

TEST_CASE("musicxml: slides join what they join, also from a grace note on the same string") {
    const std::string xml = xml_of(
        inked(in_four_four(), {on_beat(0, 1, 67, {SlideToNext{}}), on_beat(1, 2, 69),
                               on_beat(2, 3, 72, {SlideIn{MidiKey(70), {}}}), on_beat(3, 4, 67)}));
    pugi::xml_document document;
    const auto part = part_of(document, xml);
    for (const char* staff : {"1", "2"}) {
        const std::string notes = std::string("measure/note[staff=") + staff + "]";
        CHECK(all(part, (notes + "/notations/slide[@type='start']").c_str()).size() == 2);
        CHECK(all(part, (notes + "/notations/slide[@type='stop']").c_str()).size() == 2);
        CHECK(all(part, (notes + "/grace").c_str()).size() == 1);
    }
    const auto grace = all(part, "measure/note[staff=2][grace]").at(0);
    const auto head = grace.next_sibling("note");
    const auto at = [](const pugi::xml_node& n, const char* what) {
        return n.child("notations").child("technical").child(what).text().as_int();
    };
    CHECK(at(grace, "string") == at(head, "string"));
    CHECK(at(grace, "fret") + 2 == at(head, "fret"));
    CHECK(fault_of_musicxml(xml) == "");
}

TEST_CASE("musicxml: slides to nowhere, vibrato over a tie, trill, dot, accent") {
    const std::string xml = xml_of(
        inked(in_four_four(),
              {on_beat(0, 1, 67, {SlideIn{}}), on_beat(1, 2, 69, {SlideOut{MidiKey(64), {}}}),
               on_beat(2, 2.4, 71, {Staccato{}}),
               on_beat(3, 6, 72, {Vibrato{Hertz(5.0), Cents(40.0), {}}}),
               on_beat(6, 7, 65, {Trill{1}}), on_beat(7, 8, 64, {Accent{}})}));
    pugi::xml_document document;
    const auto part = part_of(document, xml);
    CHECK(all(part, "measure/note[staff=1]/notations/articulations/scoop").size() == 1);
    CHECK(all(part, "measure/note[staff=1]/notations/articulations/falloff").size() == 1);
    CHECK(all(part, "measure/note[staff=1]/notations/articulations/staccato").size() == 1);
    CHECK(all(part, "measure/note[staff=1]/notations/articulations/accent").size() == 1);
    CHECK(all(part, "measure/direction/direction-type/words[text()='scoop']").size() == 1);
    CHECK(all(part, "measure/direction/direction-type/words[text()='fall']").size() == 1);
    // F trilled with G flat, which C major does not have.
    CHECK(all(part, "measure/note/notations/ornaments/accidental-mark[text()='flat']").size() == 1);
    const auto starts =
        all(part, "measure/note[staff=1]/notations/ornaments/wavy-line[@type='start']");
    const auto stops =
        all(part, "measure/note[staff=1]/notations/ornaments/wavy-line[@type='stop']");
    REQUIRE(starts.size() == 1);
    REQUIRE(stops.size() == 1);
    CHECK(starts[0].parent().parent().parent() != stops[0].parent().parent().parent());
    CHECK(fault_of_musicxml(xml) == "");
    const std::string plain =
        xml_of(inked(in_four_four(),
                     {on_beat(0, 1, 67, {SlideIn{}, Bend{Cents(100), {}, {}, false, false, {}}})}),
               true);
    CHECK(plain.find("scoop") == std::string::npos);
    CHECK(plain.find("<bend>") == std::string::npos);
}

TEST_CASE("musicxml: triplets, pickup, metre, tempo, sections, chords, dynamics") {
    Draft heading = in_four_four();
    heading.bars = heading.bars->with_pickup(1).value();
    heading.form = parse_form("A1B1").value();
    heading.chords = {"Ebmaj7 C7b9", "N.C."};
    std::vector<Note> notes = {on_beat(-1, 0, 67)};
    for (int i = 0; i < 6; ++i)
        notes.push_back(on_beat(i / 3.0, (i + 1) / 3.0, 60 + 2 * i));
    notes.push_back(on_beat(4, 8, 72));
    for (Note& n : notes)
        n.level = Decibels(-20.0);
    notes.back().level = Decibels(-8.0);
    const std::string xml = xml_of(inked(heading, notes));
    pugi::xml_document document;
    const auto part = part_of(document, xml);
    CHECK(fault_of_musicxml(xml) == "");
    const auto measures = all(part, "measure");
    REQUIRE(measures.size() == 3);
    CHECK(std::string(measures[0].attribute("implicit").value()) == "yes");
    CHECK(std::string(measures[0].attribute("number").value()) == "0");
    CHECK(std::string(measures[1].attribute("number").value()) == "1");
    CHECK(all(part, "measure/note[staff=1]/time-modification[actual-notes=3][normal-notes=2]")
              .size() == 6);
    CHECK(all(part, "measure/note[staff=1]/notations/tuplet[@type='start']").size() == 2);
    CHECK(all(part, "measure/direction/direction-type/rehearsal").size() == 2);
    CHECK(all(part, "measure/direction/sound[@tempo='120']").size() == 1);
    const auto kinds = all(part, "measure/harmony/kind");
    REQUIRE(kinds.size() == 2);
    CHECK(std::string(kinds[0].child_value()) == "major-seventh");
    CHECK(std::string(kinds[0].attribute("text").value()) == "maj7");
    CHECK(std::string(kinds[1].child_value()) == "dominant");
    CHECK(all(part, "measure/direction/direction-type/words[text()='N.C.']").size() == 1);
    CHECK_FALSE(all(part, "measure/direction/direction-type/dynamics").empty());
}

TEST_CASE("musicxml: a key that changes at a bar [key, cancel]") {
    Draft heading = in_four_four();
    heading.key = Key{-3, false};
    std::vector<Note> notes;
    for (int bar = 0; bar < 6; ++bar)
        notes.push_back(on_beat(bar * 4, bar * 4 + 4, 60));
    const Draft draft = inked(heading, notes);
    Score score = write_score(draft, WhichNotes::inked).value();
    REQUIRE(score.measures.size() == 6);
    score.measures[2].key = Key{1, true};
    score.measures[4].key = Key{0, false};
    pugi::xml_document document;
    const auto part =
        part_of(document, musicxml_text(score, finger_draft(draft, WhichNotes::inked).value(), {}));
    const auto keys = all(part, "measure/attributes/key");
    REQUIRE(keys.size() == 3);
    const char* const wanted[][3] = {{"", "-3", "major"}, {"", "1", "minor"}, {"1", "0", "major"}};
    const char* const bars[] = {"1", "3", "5"};
    for (std::size_t i = 0; i < 3; ++i) {
        CHECK(std::string(keys[i].child_value("cancel")) == wanted[i][0]);
        CHECK(std::string(keys[i].child_value("fifths")) == wanted[i][1]);
        CHECK(std::string(keys[i].child_value("mode")) == wanted[i][2]);
        CHECK(std::string(keys[i].parent().parent().attribute("number").value()) == bars[i]);
    }
    // A double line stands before each change.
    CHECK(
        all(part, "measure[@number='2' or @number='4']/barline[bar-style='light-light']").size() ==
        2);
    CHECK(all(part, "measure/attributes/time").size() == 1);
}

TEST_CASE("musicxml: swing is written straight, with the word and the ratio [sound/swing]") {
    std::vector<Note> notes;
    for (int i = 0; i < 16; ++i) {
        notes.push_back(on_beat(i, i + 0.66, 60 + i % 5));
        notes.push_back(on_beat(i + 0.667, i + 1.0, 64 + i % 5));
    }
    const std::string xml = xml_of(inked(in_four_four(), notes));
    pugi::xml_document document;
    const auto part = part_of(document, xml);
    const auto swing = all(part, "measure/direction/sound/swing");
    REQUIRE(swing.size() == 1);
    CHECK(swing[0].child("first").text().as_int() == 2 * swing[0].child("second").text().as_int());
    CHECK(std::string(swing[0].child_value("swing-type")) == "eighth");
    CHECK(all(part, "measure/note[staff=1][type='eighth']").size() == 32);
}

TEST_CASE("musicxml: a section's key and feel stand in its first bar [key; sound/swing/straight]") {
    Draft heading = in_four_four();
    heading.form = parse_form("A4B4A4").value();
    heading.form[1].key = Key{-1, false};
    std::vector<Note> notes;
    for (int beat = 0; beat < 48; ++beat) {
        const double off = beat / 16 == 1 ? 0.5 : 2.0 / 3.0;
        notes.push_back(on_beat(beat, beat + off, 60));
        notes.push_back(on_beat(beat + off, beat + 1, beat / 16 == 1 ? 70 : 71));
    }
    const std::string xml = xml_of(inked(heading, notes));
    pugi::xml_document document;
    const auto part = part_of(document, xml);
    const auto measures = all(part, "measure");
    REQUIRE(measures.size() == 12);
    for (std::size_t m = 0; m < 12; ++m) {
        const auto key = measures[m].child("attributes").child("key");
        CHECK(static_cast<bool>(key) == (m == 0 || m == 4 || m == 8));
        if (key) CHECK(key.child("fifths").text().as_int() == (m == 4 ? -1 : 0));
    }
    CHECK(all(measures[4], "direction/sound/swing/straight").size() == 1);
    CHECK(all(measures[8], "direction/sound/swing/first").size() == 1);
    // B flat has no sign in F; B has none in C.
    CHECK(all(part, "measure/note[staff=1]/accidental").empty());
    CHECK(fault_of_musicxml(xml) == "");
}

TEST_CASE("musicxml: a note that the guitar does not have is hidden on the tablature, not forced") {
    const std::string xml = xml_of(inked(in_four_four(), {on_beat(0, 2, 60), on_beat(2, 4, 30)}));
    const XmlPiece piece = read_musicxml(xml);
    CHECK(piece.keys(1) == std::vector<int>{60, 30});
    CHECK(piece.keys(2) == std::vector<int>{60});
    CHECK(fault_of_musicxml(xml) == "");
}

TEST_CASE("musicxml: what XML cannot hold, and what it must escape") {
    Draft heading = in_four_four();
    heading.title = "Fish & <Chips> \"\u266d\" \x01\x1b\xff end";
    heading.players = "J\u00fcrgen \xc3(";
    heading.form = {{"<A>&", 1, 4}};
    heading.chords = {"<&>", "E\u266d7"};
    const std::string xml = xml_of(inked(heading, {on_beat(0, 4, 60)}));
    pugi::xml_document document;
    REQUIRE(document.load_string(xml.c_str()));
    CHECK(std::string(document.child("score-partwise").child("work").child_value("work-title")) ==
          "Fish & <Chips> \"\u266d\" \ufffd end");
    CHECK(xml.find('\x01') == std::string::npos);
    CHECK(fault_of_musicxml(xml) == "");
}

TEST_CASE("musicxml: one note, and 500 bars") {
    CHECK(fault_of_musicxml(xml_of(inked(in_four_four(), {on_beat(0, 1, 60)}))) == "");
    std::vector<Note> notes;
    for (int i = 0; i < 2000; ++i)
        notes.push_back(on_beat(i, i + 0.9, 55 + i % 20));
    const std::string xml = xml_of(inked(in_four_four(), notes));
    CHECK(fault_of_musicxml(xml) == "");
    const XmlPiece piece = read_musicxml(xml);
    CHECK(piece.measures == 500);
    CHECK(piece.keys(1).size() == 2000);
}

TEST_CASE("musicxml: generated choruses add up, sound their frets and agree with MIDI") {
    constexpr int choruses = 6;
    for (int i = 0; i < choruses; ++i) {
        CAPTURE(i);
        const ChorusChecked checked = check_chorus(made_chorus(i, choruses));
        CHECK(checked.fault == "");
        CHECK(checked.impossible == 0);
        CHECK(checked.notes > 20);
    }
}

TEST_CASE("musicxml: the check of sums can fail") {
    std::string xml = xml_of(inked(in_four_four(), {on_beat(0, 1, 60), on_beat(1, 4, 62)}));
    REQUIRE(fault_of_musicxml(xml) == "");
    const auto swap = [&](const std::string& from, const std::string& to) {
        std::string changed = xml;
        const auto at = changed.find(from);
        REQUIRE(at != std::string::npos);
        return changed.replace(at, from.size(), to);
    };
    CHECK(fault_of_musicxml(swap("<duration>480</duration>", "<duration>470</duration>")) != "");
    CHECK(fault_of_musicxml(swap("<fret>", "<fret>1")) != "");
}
