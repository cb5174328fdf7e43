// key and form: signatures by the circle of fifths, letters over bars.
#include <array>

#include <doctest/doctest.h>

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
