// Small readings of a score's values.
#include "engine/score/score.h"

#include <algorithm>
#include <array>
#include <cstddef>

namespace bentline {

MidiKey SpelledPitch::key() const {
    // From A: A B C D E F G
    constexpr std::array<int, 7> semitones = {9, 11, 0, 2, 4, 5, 7};
    return MidiKey(12 * (octave + 1) + semitones[static_cast<std::size_t>(step - 'A')] + alter);
}

std::string to_text(const SpelledPitch& pitch) {
    const char* const sign = pitch.alter < 0 ? "b" : "#";
    std::string text(1, pitch.step);
    for (int i = 0; i != pitch.alter; i += pitch.alter < 0 ? -1 : 1)
        text += sign;
    return text + std::to_string(pitch.octave);
}

Ticks length_of(const NoteShape& shape) {
    const std::int64_t plain = 4 * quarter.value() / shape.denominator;
    return Ticks(plain + (shape.dots > 0 ? plain / 2 : 0) + (shape.dots > 1 ? plain / 4 : 0));
}

const char* to_text(Dynamic dynamic) {
    constexpr std::array<const char*, 6> names = {"pp", "p", "mp", "mf", "f", "ff"};
    return names[static_cast<std::size_t>(dynamic)];
}

Key key_at(const Score& score, std::size_t measure) {
    for (std::size_t m = std::min(measure + 1, score.measures.size()); m-- > 0;) {
        if (score.measures[m].key) return *score.measures[m].key;
    }
    return score.key;
}

}  // namespace bentline
