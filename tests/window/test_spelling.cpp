// window: names of notes, chord tones and bend fractions.
#include <string>

#include <doctest/doctest.h>

#include "ui/window/spelling.h"

using namespace bentline;
using namespace bentline::window;

namespace {

std::string scale(int tonic, int fifths) {
    std::string names;
    for (const int step : {0, 2, 4, 5, 7, 9, 11}) {
        names += spelled(MidiKey(tonic + step), Key{fifths, false}) + " ";
    }
    return names;
}

std::string degrees(const char* symbol, int root) {
    const auto chord = chord_tones(symbol);
    if (!chord) return "none";
    std::string text;
    for (int i = 0; i < 12; ++i) {
        if (const char* d = chord->degree_of(MidiKey(root + i))) text += std::string(d) + " ";
    }
    return text;
}

}  // namespace

TEST_CASE("spelling: major scales use each letter once [any theory primer]") {
    CHECK(scale(60, 0) == "C D E F G A B ");
    CHECK(scale(63, -3) == "E♭ F G A♭ B♭ C D ");
    CHECK(scale(66, -6) == "G♭ A♭ B♭ C♭ D♭ E♭ F ");
    CHECK(scale(59, -7) == "C♭ D♭ E♭ F♭ G♭ A♭ B♭ ");
    CHECK(scale(64, 4) == "E F♯ G♯ A B C♯ D♯ ");
    CHECK(scale(66, 6) == "F♯ G♯ A♯ B C♯ D♯ E♯ ");
    CHECK(scale(61, 7) == "C♯ D♯ E♯ F♯ G♯ A♯ B♯ ");
}

TEST_CASE(
    "spelling: blue notes are lowered, and without a key flats are used [common practice, no "
    "source]") {
    CHECK(spelled(MidiKey(70), Key{1, false}) == "B♭");  // in G
    CHECK(spelled(MidiKey(63), Key{0, false}) == "E♭");  // in C
    CHECK(spelled(MidiKey(66), std::nullopt) == "G♭");
    CHECK(spelled(MidiKey(64), std::nullopt) == "E");
}

TEST_CASE("spelling: the octave belongs to the letter, middle C is C4 [ISO 16 calls 440 Hz A4]") {
    CHECK(spelled_with_octave(MidiKey(60), std::nullopt) == "C4");
    CHECK(spelled_with_octave(MidiKey(69), std::nullopt) == "A4");
    CHECK(spelled_with_octave(MidiKey(60), Key{7, false}) == "B♯3");
    CHECK(spelled_with_octave(MidiKey(59), Key{-7, false}) == "C♭4");
    CHECK(spelled_with_octave(MidiKey(40), std::nullopt) == "E2");
}

TEST_CASE("spelling: chord tones [common practice, no source]") {
    CHECK(degrees("C7", 60) == "R 3 5 ♭7 ");
    CHECK(degrees("Fm7", 65) == "R ♭3 5 ♭7 ");
    CHECK(degrees("Ebmaj7", 63) == "R 3 5 7 ");
    CHECK(degrees("Eb6", 63) == "R 3 5 6 ");
    CHECK(degrees("F#m7b5", 66) == "R ♭3 ♭5 ♭7 ");
    CHECK(degrees("Bdim7", 59) == "R ♭3 ♭5 ♭♭7 ");
    CHECK(degrees("G7sus4", 67) == "R 4 5 ♭7 ");
    CHECK(degrees("Bb7 Eb7", 58) == "R 3 5 ♭7 ");
    CHECK(degrees("N.C.", 60) == "none");
    CHECK(degrees("", 60) == "none");
    CHECK(degrees("%", 60) == "none");
}

TEST_CASE("spelling: signs in chord names") {
    CHECK(with_signs("Ebmaj7") == "E♭maj7");
    CHECK(with_signs("F#m7b5") == "F♯m7♭5");
    CHECK(with_signs("Bb7") == "B♭7");
}

TEST_CASE("spelling: signs in sentences, at names of notes, keys and chords alone") {
    CHECK(sentence_with_signs("bar 7: G4 -> Ab4") == "bar 7: G4 → A♭4");
    CHECK(sentence_with_signs("key Eb major -> Eb major, B in F# minor") ==
          "key E♭ major → E♭ major, B in F♯ minor");
    CHECK(sentence_with_signs("bar 3: chords Fm7 -> F#m7b5 Bb7.") ==
          "bar 3: chords Fm7 → F♯m7♭5 B♭7.");
    CHECK(sentence_with_signs("could not read Abba.flac, Ebb.wav and take #3") ==
          "could not read Abba.flac, Ebb.wav and take #3");
    CHECK(sentence_with_signs("Ebbing Abend: Bb, Cb5") == "Ebbing Abend: B♭, C♭5");
    CHECK(sentence_with_signs("") == "");
}

TEST_CASE("spelling: a bend's fraction is of a whole tone, 200 cents") {
    CHECK(bend_fraction(Cents(52)) == "¼");
    CHECK(bend_fraction(Cents(98)) == "½");
    CHECK(bend_fraction(Cents(150)) == "¾");
    CHECK(bend_fraction(Cents(203)) == "1");
    CHECK(bend_fraction(Cents(300)) == "1½");
    CHECK(bend_fraction(Cents(5)) == "¼");
}
