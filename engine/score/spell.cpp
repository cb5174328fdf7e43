// Votes of tonics, key, chord and direction for each letter.
#include "engine/score/spell.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

namespace bentline {
namespace {

constexpr std::string_view letters = "CDEFGAB";
constexpr std::array<int, 7> naturals = {0, 2, 4, 5, 7, 9, 11};
// Letters above a tonic, for each interval in semitones: its harmonic chromatic scale.
constexpr std::array<int, 12> letters_above = {0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6};

int wrap(int value, int modulus) {
    return ((value % modulus) + modulus) % modulus;
}

int letter_index(char step) {
    return static_cast<int>(letters.find(step));
}

// The accidental that makes a letter sound a pitch class, -5 to 6.
int alter_for(int letter, int pitch_class) {
    return wrap(pitch_class - naturals[static_cast<std::size_t>(letter)] + 5, 12) - 5;
}

// Tonic of a signature: fifths from C, its letter four steps on for each fifth. A minor key's lies
// a minor third below.
int tonic_letter(const Key& key) {
    return wrap(4 * key.fifths + (key.minor ? 5 : 0), 7);
}

int letter_from(int tonic, int tonic_class, int pitch_class) {
    return wrap(
        tonic + letters_above[static_cast<std::size_t>(wrap(pitch_class - tonic_class, 12))], 7);
}

// Letter -> accidental of the signature.
std::array<int, 7> signature(const Key& key) {
    constexpr std::array<int, 7> order = {3, 0, 4, 1, 5, 2, 6};  // F C G D A E B
    std::array<int, 7> alters{};
    for (int i = 0; i < key.fifths; ++i)
        alters[static_cast<std::size_t>(order[static_cast<std::size_t>(i)])] = 1;
    for (int i = 0; i < -key.fifths; ++i)
        alters[static_cast<std::size_t>(order[static_cast<std::size_t>(6 - i)])] = -1;
    return alters;
}

SpelledPitch pitch_from(int letter, MidiKey key) {
    SpelledPitch p;
    p.step = letters[static_cast<std::size_t>(letter)];
    p.alter = alter_for(letter, wrap(key.value(), 12));
    p.octave = (key.value() - p.alter - naturals[static_cast<std::size_t>(letter)]) / 12 - 1;
    return p;
}

class Speller {
  public:
    Speller(const std::vector<SpellingNote>& line, const Key& key, const SpellingSettings& settings)
        : line_(line),
          settings_(settings),
          signature_(signature(key)),
          tonic_letter_(tonic_letter(key)),
          tonic_class_(wrap(naturals[static_cast<std::size_t>(tonic_letter_)] +
                                signature_[static_cast<std::size_t>(tonic_letter_)],
                            12)) {}

    std::vector<SpelledPitch> run() const {
        std::vector<SpelledPitch> names;
        names.reserve(line_.size());
        for (std::size_t i = 0; i < line_.size(); ++i)
            names.push_back(pitch_from(letter_of(i), line_[i].key));
        return names;
    }

  private:
    using Votes = std::array<double, 7>;

    int letter_of(std::size_t i) const {
        Votes votes{};
        context_votes(i, votes);
        key_votes(i, votes);
        const bool belongs = chord_votes(i, votes);
        if (!belongs) {
            direction_votes(i, votes);
            leap_votes(i, votes);
        }
        const int pitch_class = wrap(line_[i].key.value(), 12);
        int best = -1;
        for (int letter = 0; letter < 7; ++letter) {
            const int alter = alter_for(letter, pitch_class);
            auto& vote = votes[static_cast<std::size_t>(letter)];
            if (std::abs(alter) > 2) continue;
            if (std::abs(alter) == 2)
                vote -= 2.2;  // a double accidental only where the chord insists
            const bool in_signature = signature_[static_cast<std::size_t>(letter)] == alter;
            const bool white = alter != 0 && is_white(pitch_class);
            if (white && !in_signature) vote -= settings_.awkward;
            if (best < 0 || vote > votes[static_cast<std::size_t>(best)]) best = letter;
        }
        return best;
    }

    static bool is_white(int pitch_class) {
        return std::find(naturals.begin(), naturals.end(), pitch_class) != naturals.end();
    }

    void context_votes(std::size_t i, Votes& votes) const {
        const auto before = static_cast<std::size_t>(settings_.notes_before);
        const std::size_t from = i > before ? i - before : 0;
        const std::size_t to =
            std::min(line_.size(), i + static_cast<std::size_t>(settings_.notes_after));
        const int pitch_class = wrap(line_[i].key.value(), 12);
        for (std::size_t n = from; n < to; ++n) {
            const int tonic = wrap(line_[n].key.value(), 12);
            const int letter =
                letter_from(letter_from(tonic_letter_, tonic_class_, tonic), tonic, pitch_class);
            votes[static_cast<std::size_t>(letter)] += 1.0 / static_cast<double>(to - from);
        }
    }

    bool in_key(int pitch_class) const {
        for (std::size_t l = 0; l < 7; ++l) {
            if (wrap(naturals[l] + signature_[l], 12) == pitch_class) return true;
        }
        return false;
    }

    void key_votes(std::size_t i, Votes& votes) const {
        const int pitch_class = wrap(line_[i].key.value(), 12);
        votes[static_cast<std::size_t>(letter_from(tonic_letter_, tonic_class_, pitch_class))] +=
            settings_.key_tonic;
        for (std::size_t l = 0; l < 7; ++l) {
            if (wrap(naturals[l] + signature_[l], 12) == pitch_class) votes[l] += settings_.in_key;
        }
    }

    // Whether key or chord have the note: such a note is no mere passing note.
    bool chord_votes(std::size_t i, Votes& votes) const {
        const int pitch_class = wrap(line_[i].key.value(), 12);
        const Chord* chord = line_[i].chord;
        if (!chord || chord->tones.empty()) return in_key(pitch_class);
        const int root = letter_index(chord->root.step);
        if (const auto tone = chord->tone_at(pitch_class)) {
            votes[static_cast<std::size_t>(wrap(root + tone->degree - 1, 7))] +=
                settings_.chord_tone;
            return true;
        }
        votes[static_cast<std::size_t>(
            letter_from(root, chord->root.pitch_class(), pitch_class))] += settings_.chord_scale;
        return in_key(pitch_class);
    }

    // Meredith's second stage, by the letters that the neighbours have in the key.
    void direction_votes(std::size_t i, Votes& votes) const {
        // A repeated note looks to where the repetition leads.
        std::size_t after = i + 1;
        while (after < line_.size() && line_[after].key == line_[i].key)
            ++after;
        if (after >= line_.size()) return;
        const int to = line_[after].key.value() - line_[i].key.value();
        const int next = plain_letter(after);
        // A semitone up into the next note: its own letter is taken, the one below is ours (F# G).
        // A semitone down: the one above (Ab G).
        if (to == 1) votes[static_cast<std::size_t>(wrap(next - 1, 7))] += settings_.direction;
        if (to == -1) votes[static_cast<std::size_t>(wrap(next + 1, 7))] += settings_.direction;
    }

    // A leap of three or four semitones is heard as a third, of eight or nine as a sixth: a broken
    // chord is spelled in thirds (G E C# A, not G E Db A).
    void leap_votes(std::size_t i, Votes& votes) const {
        const auto lean_on = [&](std::size_t other) {
            const int up = line_[i].key.value() - line_[other].key.value();
            const int size = std::abs(up);
            const int letters_away = size == 3 || size == 4 ? 2 : size == 8 || size == 9 ? 5 : 0;
            if (letters_away == 0) return;
            const int letter = plain_letter(other) + (up > 0 ? letters_away : -letters_away);
            votes[static_cast<std::size_t>(wrap(letter, 7))] += settings_.leap;
        };
        if (i > 0) lean_on(i - 1);
        if (i + 1 < line_.size()) lean_on(i + 1);
    }

    int plain_letter(std::size_t i) const {
        Votes votes{};
        context_votes(i, votes);
        key_votes(i, votes);
        chord_votes(i, votes);
        return static_cast<int>(std::max_element(votes.begin(), votes.end()) - votes.begin());
    }

    const std::vector<SpellingNote>& line_;
    const SpellingSettings& settings_;
    const std::array<int, 7> signature_;
    const int tonic_letter_;
    const int tonic_class_;
};

}  // namespace

std::vector<SpelledPitch> spell(const std::vector<SpellingNote>& line, const Key& key,
                                const SpellingSettings& settings) {
    return Speller(line, key, settings).run();
}

int alter_in_key(char step, const Key& key) {
    return signature(key)[static_cast<std::size_t>(letter_index(step))];
}

}  // namespace bentline
