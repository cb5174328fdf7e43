// Tunings, and the arithmetic of frets.
#include "engine/draft/neck.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <optional>
#include <sstream>

namespace bentline {

namespace {

constexpr Range<int> open_keys{12, 97};

Failure refused(const std::string& what) {
    return Failure{FailureKind::out_of_range, what, {}};
}

struct NamedPitch {
    int semitone = 0;           // 0 to 11 above C, before octaves are counted
    std::optional<int> octave;  // as in "E2", middle C = C4
};

std::optional<NamedPitch> parse_name(const std::string& name) {
    static const std::string letters = "C D EF G A B";
    const std::size_t semitone =
        letters.find(static_cast<char>(std::toupper(static_cast<unsigned char>(name[0]))));
    if (semitone == std::string::npos || name[0] == ' ') return std::nullopt;
    NamedPitch pitch{static_cast<int>(semitone), std::nullopt};
    std::size_t at = 1;
    for (; at < name.size() && (name[at] == '#' || name[at] == 'b'); ++at) {
        pitch.semitone += name[at] == '#' ? 1 : -1;
    }
    if (at == name.size()) return pitch;
    if (name.size() != at + 1 || std::isdigit(static_cast<unsigned char>(name[at])) == 0) {
        return std::nullopt;
    }
    pitch.octave = name[at] - '0';
    return pitch;
}

// The key with this semitone that is nearest to `wanted`.
int nearest_octave(int semitone, int wanted) {
    const double octaves = std::round((wanted - semitone) / 12.0);
    return semitone + 12 * static_cast<int>(octaves);
}

int usual_lowest(std::size_t strings) {
    if (strings >= 8) return 30;    // F#1
    return strings == 7 ? 35 : 40;  // B1, E2
}

}  // namespace

Neck standard_neck() {
    return Neck{};
}

Neck drop_d_neck() {
    Neck neck;
    neck.open.back() = MidiKey(38);
    return neck;
}

Neck seven_string_neck() {
    Neck neck;
    neck.open.emplace_back(35);
    return neck;
}

Neck eight_string_neck() {
    Neck neck = seven_string_neck();
    neck.open.emplace_back(30);
    return neck;
}

Result<Neck> make_neck(std::vector<MidiKey> open, int capo, int frets) {
    const auto strings = static_cast<int>(open.size());
    if (strings < fewest_strings || most_strings < strings) {
        return refused("a tuning of " + std::to_string(strings) +
                       " strings is not handled; give 6 to 8");
    }
    for (const MidiKey key : open) {
        if (!open_keys.contains(key.value())) {
            return refused("an open string of MIDI key " + std::to_string(key.value()) +
                           " is not handled; give pitches from C0 to C7");
        }
    }
    if (frets < fewest_frets || most_frets < frets) {
        return refused("a neck of " + std::to_string(frets) +
                       " frets is not handled; give 12 to 36");
    }
    if (capo < 0 || frets - fewest_frets < capo) {
        return refused("a capo on fret " + std::to_string(capo) + " of " + std::to_string(frets) +
                       " is not handled; leave at least 12 frets above it");
    }
    return Neck{std::move(open), capo, frets};
}

Result<Neck> parse_tuning(const std::string& names, int capo, int frets) {
    std::istringstream words(names);
    std::vector<NamedPitch> pitches;
    for (std::string word; words >> word;) {
        const std::optional<NamedPitch> pitch = parse_name(word);
        if (!pitch) {
            return refused("'" + word +
                           "' is no open string; write note names from the lowest "
                           "string up, such as D A D G B E");
        }
        pitches.push_back(*pitch);
    }
    std::vector<MidiKey> open;
    int previous = 0;
    for (const NamedPitch& pitch : pitches) {
        int key = 0;
        if (pitch.octave) {
            key = 12 * (*pitch.octave + 1) + pitch.semitone;
        } else if (open.empty()) {
            key = nearest_octave(pitch.semitone, usual_lowest(pitches.size()));
        } else {
            key = previous + 1 + (pitch.semitone - previous - 1 + 120) % 12;
        }
        open.emplace_back(key);
        previous = key;
    }
    std::reverse(open.begin(), open.end());
    return make_neck(std::move(open), capo, frets);
}

std::string to_text(const Neck& neck) {
    static constexpr std::array<const char*, 12> names = {"C",  "C#", "D",  "Eb", "E",  "F",
                                                          "F#", "G",  "Ab", "A",  "Bb", "B"};
    std::string text;
    for (auto key = neck.open.rbegin(); key != neck.open.rend(); ++key) {
        if (!text.empty()) text += ' ';
        text += names.at(static_cast<std::size_t>(key->value() % 12));
        text += std::to_string(key->value() / 12 - 1);
    }
    if (neck.capo > 0) text += ", capo " + std::to_string(neck.capo);
    if (neck.frets != Neck{}.frets) text += ", " + std::to_string(neck.frets) + " frets";
    return text;
}

MidiKey key_at(const Neck& neck, Spot spot) {
    const auto index = static_cast<std::size_t>(spot.string - 1);
    return MidiKey(neck.open.at(index).value() + neck.capo + spot.fret);
}

std::vector<Spot> spots_of(const Neck& neck, MidiKey key) {
    std::vector<Spot> spots;
    for (int string = 1; string <= neck.strings(); ++string) {
        const int fret = key.value() - key_at(neck, {string, 0}).value();
        if (0 <= fret && fret <= neck.last_fret()) spots.push_back({string, fret});
    }
    return spots;
}

Range<int> key_range(const Neck& neck) {
    const auto [low, high] = std::minmax_element(neck.open.begin(), neck.open.end());
    return {low->value() + neck.capo, high->value() + neck.frets + 1};
}

double fret_distance(double scale, int n) {
    return scale * (1.0 - std::exp2(-n / 12.0));
}

}  // namespace bentline
