// A name is a place on the line of fifths (F C G D A E B F# …); an interval is a number of fifths.
// That makes spelling arithmetic, independent of the speller's own tables.
#include "tests/score/spelled_lines.h"

#include <cstdlib>

#include "tests/support/dice.h"

namespace bentline::testing {
namespace {

constexpr int major_scale[7] = {0, 2, 4, -1, 1, 3, 5};  // fifths of the degrees from the tonic

struct ChordKind {
    int root;  // fifths from the key's tonic
    const char* quality;
    std::vector<int> tones;  // fifths from the root, upwards in pitch
};
// ii, V, I, vi, IV, V/V, V/ii, tritone substitute, minor iv, bVII, half-diminished ii, VII
// diminished
const std::vector<ChordKind> chord_kinds = {
    {2, "m7", {0, -3, 1, -2}}, {1, "7", {0, 4, 1, -2}},      {0, "maj7", {0, 4, 1, 5}},
    {3, "m7", {0, -3, 1, -2}}, {-1, "maj7", {0, 4, 1, 5}},   {2, "7", {0, 4, 1, -2}},
    {3, "7", {0, 4, 1, -2}},   {-5, "7", {0, 4, 1, -2}},     {-1, "m6", {0, -3, 1, 3}},
    {-2, "7", {0, 4, 1, -2}},  {2, "m7b5", {0, -3, -6, -2}}, {5, "dim7", {0, -3, -6, -9}},
};

int semitones(int fifths) {
    return ((fifths * 7) % 12 + 12) % 12;
}

std::string name_of(int fifths) {  // of C's place 0
    const int from_f = fifths + 1;
    const int letter = ((from_f % 7) + 7) % 7;
    const int alter = (from_f - letter) / 7;
    std::string name(1, "FCGDAEB"[letter]);
    for (int i = 0; i < std::abs(alter); ++i)
        name += alter < 0 ? 'b' : '#';
    return name;
}

class Maker {
  public:
    Maker(std::uint64_t seed, int fifths) : dice_(seed) {
        line_.key = Key{fifths, false};
        place_ = 5;
    }

    SpelledLine make(int length) {
        while (static_cast<int>(line_.keys.size()) < length) {
            switch (below(6)) {
                case 0:
                case 1:
                    scale_run();
                    break;
                case 2:
                case 3:
                    arpeggio();
                    break;
                case 4:
                    passing();
                    break;
                default:
                    enclosure();
                    break;
            }
        }
        return std::move(line_);
    }

  private:
    int below(int n) { return dice_.whole(0, n - 1); }

    // place_: degrees of the scale above the tonic near C4; 7 an octave.
    int degree_fifths(int place) const {
        return line_.key.fifths + major_scale[((place % 7) + 7) % 7];
    }
    int degree_key(int place) const {
        constexpr int steps[7] = {0, 2, 4, 5, 7, 9, 11};
        const int octave = (place >= 0 ? place : place - 6) / 7;
        return 60 + semitones(line_.key.fifths) + 12 * octave + steps[((place % 7) + 7) % 7] - 12;
    }

    void add(int fifths, int key) {
        // The octave in the name counts by letter: B# lies in the octave below its sound's, Cb
        // above.
        std::string name = name_of(fifths);
        const int alter =
            static_cast<int>(name.size() - 1) * (name.find('b') != std::string::npos ? -1 : 1);
        line_.names.push_back(name + std::to_string((key - alter) / 12 - 1));
        line_.keys.push_back(MidiKey(key));
        line_.chord_of.push_back(static_cast<int>(line_.chords.size()) - 1);
    }
    void add_degree(int place) { add(degree_fifths(place), degree_key(place)); }

    void chord(int root, const char* quality) {
        int place = line_.key.fifths + root;
        if (place < -7) place += 12;  // nobody writes Abb7
        if (place > 10) place -= 12;  // nor E#7
        line_.chords.push_back(parse_chord(name_of(place) + quality).value());
        root_ = place;
    }
    void diatonic_chord() {
        const ChordKind& kind = chord_kinds[static_cast<std::size_t>(below(5))];
        chord(kind.root, kind.quality);
    }

    void scale_run() {
        diatonic_chord();
        const int up = place_ > 9 ? -1 : place_ < 3 ? 1 : below(2) * 2 - 1;
        for (int i = 3 + below(4); i > 0; --i) {
            add_degree(place_);
            place_ += up;
        }
    }

    void arpeggio() {
        const ChordKind& kind =
            chord_kinds[static_cast<std::size_t>(below(static_cast<int>(chord_kinds.size())))];
        chord(kind.root, kind.quality);
        int key = 55 + below(12);
        while (key % 12 != semitones(root_))
            ++key;
        std::vector<std::pair<int, int>> notes;
        for (const int tone : kind.tones) {
            while (key % 12 != semitones(root_ + tone))
                ++key;
            notes.emplace_back(root_ + tone, key);
        }
        if (below(2) == 0) notes = {notes.rbegin(), notes.rend()};
        for (const auto& [fifths, at] : notes) {
            if (name_of(fifths).size() > 2)
                return;  // solos on paper avoid double accidentals; so do we
        }
        for (const auto& [fifths, at] : notes)
            add(fifths, at);
    }

    // Between two degrees a whole tone apart: up, the lower one raised; down, the upper one
    // lowered.
    void passing() {
        diatonic_chord();
        const bool up = below(2) == 0;
        int place = 3 + below(7);
        while (degree_key(place + 1) - degree_key(place) != 2)
            ++place;
        const int between = up ? degree_fifths(place) + 7 : degree_fifths(place + 1) - 7;
        if (name_of(between).size() > 2) return;
        if (up) {
            add_degree(place);
            add(degree_fifths(place) + 7, degree_key(place) + 1);
            add_degree(place + 1);
        } else {
            add_degree(place + 1);
            add(degree_fifths(place + 1) - 7, degree_key(place + 1) - 1);
            add_degree(place);
        }
        place_ = place;
    }

    // A chord tone from the scale's note above and the semitone below (a minor second: five fifths
    // up).
    void enclosure() {
        diatonic_chord();
        const int place = 3 + below(7);
        if (name_of(degree_fifths(place) + 5).size() > 2) return;
        add_degree(place + 1);
        add(degree_fifths(place) + 5, degree_key(place) - 1);
        add_degree(place);
        place_ = place;
    }

    Dice dice_;
    SpelledLine line_;
    int place_ = 0;
    int root_ = 0;
};

}  // namespace

std::vector<SpellingNote> SpelledLine::notes(bool with_chords) const {
    std::vector<SpellingNote> line;
    for (std::size_t i = 0; i < keys.size(); ++i) {
        line.push_back(
            {keys[i], with_chords ? &chords[static_cast<std::size_t>(chord_of[i])] : nullptr});
    }
    return line;
}

SpelledLine spelled_line(std::uint64_t seed, int fifths, int length) {
    return Maker(seed, fifths).make(length);
}

}  // namespace bentline::testing
