// Spelling by the circle of fifths.
#include "ui/window/spelling.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstdlib>

#include "engine/bars/chord.h"

namespace bentline::window {

int pitch_class(int key) {
    return ((key % 12) + 12) % 12;
}

namespace {

// Places on the line of fifths: F C G D A E B are -1 to 5; sharps go up by 7, flats down.
constexpr std::array<char, 7> line_letters{'F', 'C', 'G', 'D', 'A', 'E', 'B'};

// The lowest of the twelve places that a signature spells with: its scale (fifths - 1 to fifths +
// 5) and the blue notes below it before the raised ones above; never past G flat or A sharp unless
// the scale itself goes there (common practice, no source).
int lowest_place(int fifths) {
    if (fifths > 0) return std::max(fifths - 6, std::min(fifths - 4, -1));
    return std::min(fifths - 1, std::max(fifths - 4, -6));
}

int line_place(int pc, const std::optional<Key>& signature) {
    const int lowest = signature ? lowest_place(signature->fifths) : -6;
    int place = pitch_class(pc * 7);  // fifths above C, 0 to 11
    while (place > lowest + 11)
        place -= 12;
    while (place < lowest)
        place += 12;
    return place;
}

std::string name_of_place(int place) {
    const int shifted = place + 1;
    const int letter = ((shifted % 7) + 7) % 7;
    const int signs = (shifted - letter) / 7;
    std::string name(1, line_letters[static_cast<std::size_t>(letter)]);
    for (int i = 0; i < std::abs(signs); ++i)
        name += signs > 0 ? "♯" : "♭";
    return name;
}

bool is_letter(char c) {
    return c >= 'A' && c <= 'G';
}

}  // namespace

std::string spelled(MidiKey key, const std::optional<Key>& signature) {
    return name_of_place(line_place(key.value(), signature));
}

std::string spelled_with_octave(MidiKey key, const std::optional<Key>& signature) {
    const int place = line_place(key.value(), signature);
    const std::string name = name_of_place(place);
    // The octave belongs to the letter: B♯ just below C4 is B♯3.
    const auto signs = static_cast<int>((name.size() - 1) / std::string("♯").size());
    const int natural = key.value() - (name.find("♯") != std::string::npos ? signs : -signs);
    return name + std::to_string(natural / 12 - 1);
}

std::string with_signs(std::string_view chord) {
    std::string text;
    for (std::size_t i = 0; i < chord.size(); ++i) {
        const char c = chord[i];
        const bool after_letter = i > 0 && is_letter(chord[i - 1]);
        const bool before_figure =
            i + 1 < chord.size() && std::isdigit(static_cast<unsigned char>(chord[i + 1])) != 0;
        if (c == 'b' && (after_letter || before_figure)) {
            text += "♭";
        } else if (c == '#') {
            text += "♯";
        } else {
            text += c;
        }
    }
    return text;
}

std::string sentence_with_signs(std::string_view sentence) {
    std::string text;
    const auto take = [&text](std::string_view word) {
        if (word == "->") {
            text += "→";
            return;
        }
        // What stands behind a name in a sentence does not belong to it.
        std::size_t end = word.size();
        while (end > 0 && std::string_view(".,:;!?)").find(word[end - 1]) != std::string::npos)
            --end;
        const std::string_view name = word.substr(0, end);
        const bool signed_name = name.find_first_of("b#", 1) != std::string::npos;
        std::size_t i = 1;
        while (i < name.size() && (name[i] == 'b' || name[i] == '#'))
            ++i;
        const std::string_view rest = name.substr(std::min(i, name.size()));
        const bool note = std::all_of(rest.begin(), rest.end(), [](char c) {
            return std::isdigit(static_cast<unsigned char>(c)) != 0 || c == '-';
        });
        if (!name.empty() && is_letter(name[0]) && signed_name &&
            (note || parse_chord(name).has_value())) {
            text += with_signs(name);
        } else {
            text += name;
        }
        text += word.substr(end);
    };
    for (std::size_t at = 0; at <= sentence.size();) {
        const std::size_t space = std::min(sentence.find(' ', at), sentence.size());
        take(sentence.substr(at, space - at));
        if (space < sentence.size()) text += ' ';
        at = space + 1;
    }
    return text;
}

const char* ChordTones::degree_of(MidiKey key) const {
    const int above = pitch_class(key.value() - root);
    const auto it = std::find_if(tones.begin(), tones.end(),
                                 [above](const ChordTone& t) { return t.semitones == above; });
    return it == tones.end() ? nullptr : it->degree;
}

std::optional<ChordTones> chord_tones(std::string_view symbol) {
    if (symbol.empty() || !is_letter(symbol[0]) || symbol.substr(0, 2) == "N.") return std::nullopt;
    constexpr std::array<int, 7> naturals{9, 11, 0, 2, 4, 5, 7};  // A to G
    int root = naturals[static_cast<std::size_t>(symbol[0] - 'A')];
    std::size_t i = 1;
    for (; i < symbol.size(); ++i) {
        if (symbol[i] == 'b') {
            --root;
        } else if (symbol[i] == '#') {
            ++root;
        } else {
            break;
        }
    }
    const std::string_view rest = symbol.substr(i, symbol.find_first_of(" /", i) - i);
    const auto has = [rest](std::string_view part) { return rest.find(part) != std::string::npos; };
    const auto starts = [rest](std::string_view part) { return rest.rfind(part, 0) == 0; };
    const bool major_seventh = has("maj7") || has("Maj7") || has("M7") || has("maj9");
    const bool half_diminished = has("m7b5") || has("ø");
    const bool diminished = !half_diminished && (starts("dim") || starts("o") || has("°"));
    const bool minor = !diminished && (half_diminished || starts("-") ||
                                       (starts("m") && !starts("maj")) || starts("min"));
    const bool augmented = starts("aug") || starts("+");
    ChordTones chord{pitch_class(root), {{0, "R"}}};
    if (has("sus")) {
        chord.tones.push_back(has("sus2") ? ChordTone{2, "2"} : ChordTone{5, "4"});
    } else {
        chord.tones.push_back(minor || diminished ? ChordTone{3, "♭3"} : ChordTone{4, "3"});
    }
    chord.tones.push_back(half_diminished || diminished || has("7b5") ? ChordTone{6, "♭5"}
                          : augmented                                 ? ChordTone{8, "♯5"}
                                                                      : ChordTone{7, "5"});
    if (diminished && has("7")) {
        chord.tones.push_back({9, "♭♭7"});
    } else if (major_seventh) {
        chord.tones.push_back({11, "7"});
    } else if (has("7") || has("9") || has("13") || has("11") || half_diminished) {
        if (!has("6")) chord.tones.push_back({10, "♭7"});
    }
    if (has("6")) chord.tones.push_back({9, "6"});
    return chord;
}

std::string bend_fraction(Cents size) {
    const int quarters = std::max(1, static_cast<int>(std::lround(std::abs(size.value()) / 50.0)));
    constexpr std::array<const char*, 4> parts{"", "¼", "½", "¾"};
    const int whole = quarters / 4;
    const char* part = parts[static_cast<std::size_t>(quarters % 4)];
    return whole > 0 ? std::to_string(whole) + part : part;
}

}  // namespace bentline::window
