// key and form: signatures by the circle of fifths, letters over bars.
#include <array>

#include <doctest/doctest.h>

#include "engine/bars/choruses.h"
#include "engine/bars/form.h"

using namespace bentline;

TEST_CASE("form: keys have the signatures of the circle of fifths [textbook table, from memory]") {
    struct Row {
        const char* text;
        int fifths;
        int tonic;
    };
    constexpr std::array<Row, 12> table = {{{"C", 0, 0},
                                            {"G", 1, 7},
                                            {"Eb", -3, 3},
                                            {"F#", 6, 6},
                                            {"Gb", -6, 6},
                                            {"Cb major", -7, 11},
                                            {"C# maj", 7, 1},
                                            {"A minor", 0, 9},
                                            {"Cm", -3, 0},
                                            {"F# min", 3, 6},
                                            {"bb minor", -5, 10},
                                            {"B\u266d", -2, 10}}};
    for (const Row& row : table) {
        const auto key = parse_key(row.text);
        REQUIRE_MESSAGE(key.ok(), row.text);
        CHECK_MESSAGE(key->fifths == row.fifths, row.text);
        CHECK_MESSAGE(key->tonic() == row.tonic, row.text);
    }
    for (const char* nonsense : {"", "H", "E?", "Fb", "D# ", "C blue", "b minor minor"}) {
        CHECK_MESSAGE(!parse_key(nonsense).ok(), nonsense);
    }
}

TEST_CASE("form: every key is read back as it is written") {
    for (int fifths = -7; fifths <= 7; ++fifths) {
        for (const bool minor : {false, true}) {
            const Key key{fifths, minor};
            CHECK(parse_key(to_text(key)).value() == key);
        }
    }
    CHECK(to_text(Key{-3, false}) == "Eb major");
    CHECK(to_text(Key{4, true}) == "C# minor");
}

TEST_CASE("form: letters stand over eight bars unless a number says otherwise") {
    const Form song = parse_form("AABA").value();
    REQUIRE(song.size() == 4);
    CHECK(song[2] == Section{"B", 17, 8});
    CHECK(song[3] == Section{"A", 25, 8});
    const Form blues = parse_form("a12").value();
    CHECK(blues == Form{{"A", 1, 12}});
    const Form mixed = parse_form("A16 B8 C").value();
    CHECK(mixed[1] == Section{"B", 17, 8});
    CHECK(to_text(mixed) == "A16BC");
    CHECK(parse_form("").value().empty());
    for (const char* nonsense : {"AAB!", "A0", "8A", "A99999999999"}) {
        CHECK_MESSAGE(!parse_form(nonsense).ok(), nonsense);
    }
}

TEST_CASE("form: a section's key is named by its letter or its first bar, and read back") {
    const Form song = parse_form("AABA").value();
    const Keys keys = parse_keys("Eb, B in Ab", song).value();
    CHECK(keys.tune == Key{-3, false});
    for (const auto& [bar, fifths] :
         {std::pair(1, -3), {16, -3}, {17, -4}, {24, -4}, {25, -3}, {40, -3}, {0, -3}})
        CHECK(key_at(keys, bar) == Key{fifths, false});
    CHECK(to_text(keys) == "Eb major, B in Ab major");
    const Keys last_up = parse_keys("C minor , 25 in  D minor", song).value();
    CHECK(key_at(last_up, 1) == Key{-3, true});
    CHECK(key_at(last_up, 25) == Key{-1, true});
    CHECK(to_text(last_up) == "C minor, 25 in D minor");
    for (const Keys& k : {keys, last_up, Keys{Key{2, false}, song}, Keys{Key{2, false}, {}}})
        CHECK(parse_keys(to_text(k), k.form).value() == k);
    // The tune's own key is no other.
    CHECK(parse_keys("Eb, A in Eb", song).value() == Keys{Key{-3, false}, song});
    CHECK(to_text(Keys{}).empty());
    for (const char* nonsense :
         {"", "Eb, C in Ab", "Eb, B Ab", "Eb, B in H", "B in Ab", "Eb, 18 in Ab", "Eb, in Ab"})
        CHECK_MESSAGE(!parse_keys(nonsense, song).ok(), nonsense);
    CHECK(parse_keys("Eb, C in Ab", song).failure().sentence.find("AABA has no section 'C'") !=
          std::string::npos);
}

TEST_CASE("form: another form keeps the keys of the letters that it keeps") {
    const Form old = parse_keys("Eb, B in Ab", parse_form("AABA").value()).value().form;
    const Form now = with_keys_of(parse_form("A16 B16 C8").value(), old);
    CHECK_FALSE(now[0].key.has_value());
    CHECK(now[1].key == Key{-4, false});
    CHECK_FALSE(now[2].key.has_value());
}

TEST_CASE("form: several choruses, and the chords of the first over all of them") {
    const PlayedForm three = parse_played_form("A2 B1 x3").value();
    CHECK(to_text(three.once) == "A2B1");
    CHECK(three.times == 3);
    CHECK(parse_played_form("AABAx12").value().times == 12);
    CHECK(parse_played_form("AABA").value().times == 1);
    CHECK(to_text(parse_played_form("A12").value().once) == "A12");
    for (const char* wrong : {"AABA x0", "AABA x101", "AABA x99999999999999", "x3 4", "8A x2"})
        CHECK_FALSE_MESSAGE(parse_played_form(wrong).ok(), wrong);
    using Chords = std::vector<std::string>;
    // Two bars are known of three.
    CHECK(chords_of_choruses({"F7", "B7"}, three) ==
          Chords{"F7", "B7", "", "F7", "B7", "", "F7", "B7", ""});
    CHECK(chords_of_choruses({}, three).empty());
    CHECK(chords_of_choruses({"F7", "B7", "E7", "E7"}, three) == Chords{"F7", "B7", "E7", "E7"});
    CHECK(chords_of_choruses({"F7"}, {three.once, 1}) == Chords{"F7"});
}
