// Chord symbols to MusicXML's kinds [MusicXML 4.0, kind-value: what each kind is made of].
#include <string>

#include <doctest/doctest.h>

#include "engine/export/musicxml_chord.h"

using namespace bentline;

namespace {

// "dominant 9:-1" for kind and degrees.
std::string kind_of(const char* symbol) {
    const auto chord = parse_chord(symbol);
    REQUIRE_MESSAGE(chord.has_value(), symbol);
    const HarmonyKind kind = harmony_kind(*chord);
    std::string text = kind.kind;
    for (const HarmonyDegree& d : kind.degrees)
        text += " " + std::string(d.type) + std::to_string(d.value) + ":" + std::to_string(d.alter);
    return text;
}

}  // namespace

TEST_CASE("harmony: plain kinds") {
    const struct {
        const char* symbol;
        const char* kind;
    } rows[] = {{"C", "major"},
                {"Cm", "minor"},
                {"Caug", "augmented"},
                {"Cdim", "diminished"},
                {"C7", "dominant"},
                {"Cmaj7", "major-seventh"},
                {"Cm7", "minor-seventh"},
                {"Cdim7", "diminished-seventh"},
                {"Caug7", "augmented-seventh"},
                {"Cm7b5", "half-diminished"},
                {"Cmmaj7", "major-minor"},
                {"C6", "major-sixth"},
                {"Cm6", "minor-sixth"},
                {"C9", "dominant-ninth"},
                {"Cmaj9", "major-ninth"},
                {"Cm9", "minor-ninth"},
                {"Cm11", "minor-11th"},
                {"C13", "dominant-13th"},
                {"Csus4", "suspended-fourth"},
                {"Csus2", "suspended-second"},
                {"C5", "power"}};
    for (const auto& row : rows)
        CHECK_MESSAGE(kind_of(row.symbol) == row.kind, row.symbol);
}

TEST_CASE("harmony: what a kind does not say are degrees") {
    CHECK(kind_of("C7b9") == "dominant add9:-1");
    CHECK(kind_of("C7#11") == "dominant add11:1");
    CHECK(kind_of("C7b5") == "dominant alter5:-1");
    CHECK(kind_of("C6/9") == "major-sixth add9:0");
    CHECK(kind_of("C7sus4") == "suspended-fourth add7:0");
    CHECK(kind_of("Cadd9") == "major add9:0");
    CHECK(kind_of("Cmaj7#11") == "major-seventh add11:1");
}

TEST_CASE("harmony: root, bass and the text as typed") {
    pugi::xml_document document;
    const auto harmony = add_harmony(document, "Bb7b9/Ab");
    REQUIRE(harmony);
    CHECK(std::string(harmony.child("root").child_value("root-step")) == "B");
    CHECK(harmony.child("root").child("root-alter").text().as_int() == -1);
    CHECK(std::string(harmony.child("kind").attribute("text").value()) == "7");
    CHECK(harmony.child("degree").child("degree-value").text().as_int() == 9);
    CHECK(
        std::string(add_harmony(document, "E\u266dm7b5").child("kind").attribute("text").value()) ==
        "m7b5");
    CHECK(std::string(add_harmony(document, "G7alt").child("kind").attribute("text").value()) ==
          "7alt");
    CHECK(std::string(harmony.child("bass").child_value("bass-step")) == "A");
    CHECK_FALSE(add_harmony(document, "N.C."));
    CHECK_FALSE(add_harmony(document, "Xq"));
}
