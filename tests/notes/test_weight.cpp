// notes: an accent is the soloist's own, whatever else sounds louder there.
#include <cstddef>
#include <vector>

#include <doctest/doctest.h>

#include "engine/notes/attacks.h"
#include "engine/notes/weight.h"

using namespace bentline;

namespace {

// Nine notes of 0.2 s, one after the other, as loud as the whole sound says.
std::vector<Note> even_notes() {
    std::vector<Note> line;
    for (int i = 0; i < 9; ++i) {
        Note n;
        n.onset = Seconds(0.2 * i);
        n.offset = Seconds(0.2 * (i + 1));
        n.key = MidiKey(60 + i);
        n.level = Decibels(-20.0);
        line.push_back(n);
    }
    return line;
}

constexpr std::size_t fifth = 4;

std::size_t accents(const std::vector<Note>& line) {
    std::size_t n = 0;
    for (const Note& note : line)
        n += find<Accent>(note) != nullptr ? 1 : 0;
    return n;
}

}  // namespace

// An accent is about 6 to 8 dB (common practice, no source).
TEST_CASE("notes: a note struck harder is accented, though the band hides it in the whole") {
    std::vector<Note> line = even_notes();
    std::vector<double> struck(line.size(), -26.0);
    struck[fifth] = -19.0;
    notes::read_weight(line, struck, {}, {});
    CHECK(accents(line) == 1);
    CHECK(find<Accent>(line[fifth]) != nullptr);
}

TEST_CASE("notes: a drum on a note is no accent of it") {
    std::vector<Note> line = even_notes();
    line[fifth].level = Decibels(-13.0);
    notes::read_weight(line, std::vector<double>(line.size(), -26.0), {}, {});
    CHECK(accents(line) == 0);
}

TEST_CASE("notes: where no partials are followed, the whole sound says how hard a note is struck") {
    std::vector<Note> line = even_notes();
    line[fifth].level = Decibels(-13.0);
    notes::read_weight(line, std::vector<double>(line.size(), -120.0), {}, {});
    CHECK(accents(line) == 1);
    CHECK(find<Accent>(line[fifth]) != nullptr);
}

TEST_CASE("notes: a short note is staccato, unless something that may be a note follows at once") {
    const auto staccato = [](const std::vector<Seconds>& perhaps) {
        std::vector<Note> line = even_notes();
        line[fifth].offset = line[fifth].onset + Seconds(0.08);
        notes::read_weight(line, std::vector<double>(line.size(), -26.0), perhaps, {});
        return find<Staccato>(line[fifth]) != nullptr;
    };
    // It sounds from 0.80 to 0.88 s, the next from 1.00.
    CHECK(staccato({}));
    CHECK(staccato({Seconds(0.3), Seconds(1.1)}));
    CHECK(staccato({Seconds(0.98)}));
    CHECK_FALSE(staccato({Seconds(0.88)}));
    CHECK_FALSE(staccato({Seconds(0.3), Seconds(0.86), Seconds(1.1)}));
    // What begins while it sounds is not after it.
    CHECK(staccato({Seconds(0.82)}));
}

TEST_CASE("notes: the struck level is the loudest of the first 80 ms, within the note") {
    notes::Attacks attacks;
    attacks.level.assign(100, -120.0);                        // every 5 ms
    attacks.level[10] = -30.0;                                // 50 ms
    attacks.level[20] = -24.0;                                // 100 ms
    CHECK(notes::struck_level(attacks, 0.02, 0.4) == -24.0);  // to 100 ms
    CHECK(notes::struck_level(attacks, 0.01, 0.4) == -30.0);
    CHECK(notes::struck_level(attacks, 0.02, 0.06) == -30.0);
    CHECK(notes::struck_level(attacks, 0.2, 0.3) == -120.0);
    CHECK(notes::struck_level({}, 0.0, 0.1) == -120.0);
}
