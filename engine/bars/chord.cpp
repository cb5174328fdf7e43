// Reads a symbol from left to right: root, triad, seventh, alterations, bass.
#include "engine/bars/chord.h"

#include <algorithm>
#include <array>
#include <utility>

namespace bentline {
namespace {

constexpr std::string_view letters = "CDEFGAB";
constexpr std::array<int, 7> naturals = {0, 2, 4, 5, 7, 9, 11};

bool take(std::string_view& text, std::string_view word) {
    if (text.substr(0, word.size()) != word) return false;
    text.remove_prefix(word.size());
    return true;
}

bool take_any(std::string_view& text, std::initializer_list<std::string_view> words) {
    return std::any_of(words.begin(), words.end(),
                       [&](std::string_view w) { return take(text, w); });
}

std::optional<PitchName> take_name(std::string_view& text) {
    if (text.empty() || text[0] < 'A' || text[0] > 'G') return std::nullopt;
    PitchName name{text[0], 0};
    text.remove_prefix(1);
    if (take_any(text, {"#", "\u266f"}))
        name.alter = 1;
    else if (take_any(text, {"b", "\u266d"}))
        name.alter = -1;
    return name;
}

class Reader {
  public:
    explicit Reader(std::string_view text) : text_(text) {}

    bool read(std::vector<ChordTone>& tones) {
        triad();
        while (!text_.empty()) {
            if (!extension()) return false;
        }
        tones.assign(1, {1, 0});
        for (const ChordTone& t : found_) {
            if (t.semitones >= 0) tones.push_back(t);
        }
        return true;
    }

  private:
    void set(int degree, int semitones) {
        for (ChordTone& t : found_) {
            if (t.degree == degree) {
                t.semitones = semitones;
                return;
            }
        }
        found_.push_back({degree, semitones});
    }
    void drop(int degree) { set(degree, -1); }

    void triad() {
        set(3, 4);
        set(5, 7);
        if (take_any(text_, {"maj", "ma", "Maj", "M", "\u0394", "^"})) {
            major_seventh_ = true;
            if (text_.empty() || text_[0] == '(') set(7, 11);
        } else if (take_any(text_, {"min", "mi", "m", "-"})) {
            set(3, 3);
            if (take_any(text_, {"maj", "ma", "Maj", "M", "(maj", "\u0394"})) major_seventh_ = true;
        } else if (take_any(text_, {"dim", "o", "\u00b0"})) {
            set(3, 3);
            set(5, 6);
            diminished_ = true;
        } else if (take_any(text_, {"\u00f8", "h"})) {
            set(3, 3);
            set(5, 6);
            set(7, 10);
            take(text_, "7");
        } else if (take_any(text_, {"aug", "+"})) {
            set(5, 8);
        }
    }

    void seventh() { set(7, diminished_ ? 9 : major_seventh_ ? 11 : 10); }

    bool extension() {
        if (take_any(text_, {"(", ")", ",", " "})) return true;
        // An added tone brings no seventh with it.
        if (take_any(text_, {"add9", "add2"})) return set(9, 2), true;
        if (take_any(text_, {"add11", "add4"})) return set(11, 5), true;
        if (take(text_, "add13")) return set(13, 9), true;
        if (take(text_, "add")) return true;
        if (take_any(text_, {"sus2"})) return drop(3), set(9, 2), true;
        if (take_any(text_, {"sus4", "sus"})) return drop(3), set(11, 5), true;
        if (take(text_, "alt")) {
            drop(5);
            set(7, 10);
            found_.insert(found_.end(), {{9, 1}, {9, 3}, {5, 6}, {13, 8}});
            return true;
        }
        if (take_any(text_, {"6/9", "69"})) return set(6, 9), set(9, 2), true;
        if (take_any(text_, {"b5", "-5"})) return set(5, 6), true;
        if (take_any(text_, {"#5", "+5", "aug5"})) return set(5, 8), true;
        if (take_any(text_, {"b9", "-9"})) return set(9, 1), true;
        if (take_any(text_, {"#9", "+9"})) return set(9, 3), true;
        if (take_any(text_, {"#11", "+11"})) return set(11, 6), true;
        if (take_any(text_, {"b13", "-13"})) return set(13, 8), true;
        if (take(text_, "13")) return seventh(), set(9, 2), set(13, 9), true;
        if (take(text_, "11")) return seventh(), set(9, 2), set(11, 5), true;
        if (take(text_, "9")) return seventh(), set(9, 2), true;
        if (take(text_, "7")) return seventh(), true;
        if (take(text_, "6")) return set(6, 9), true;
        if (take(text_, "5")) return drop(3), true;
        return false;
    }

    std::string_view text_;
    std::vector<ChordTone> found_;
    bool major_seventh_ = false;
    bool diminished_ = false;
};

}  // namespace

int PitchName::pitch_class() const {
    const auto at = letters.find(step);
    return ((naturals[at] + alter) % 12 + 12) % 12;
}

std::optional<ChordTone> Chord::tone_at(int pitch_class) const {
    const int interval = ((pitch_class - root.pitch_class()) % 12 + 12) % 12;
    for (const ChordTone& t : tones) {
        if (t.semitones == interval) return t;
    }
    return std::nullopt;
}

std::optional<Chord> parse_chord(std::string_view symbol) {
    if (symbol == "N.C." || symbol == "NC" || symbol == "N.C") return Chord{};
    std::string_view text = symbol;
    const auto root = take_name(text);
    if (!root) return std::nullopt;
    Chord chord;
    chord.root = *root;
    // A slash before a letter is a bass; "6/9" is not.
    if (const auto slash = text.rfind('/'); slash != std::string_view::npos) {
        std::string_view after = text.substr(slash + 1);
        if (const auto bass = take_name(after); bass && after.empty()) {
            chord.bass = bass;
            text = text.substr(0, slash);
        }
    }
    if (!Reader(text).read(chord.tones)) return std::nullopt;
    return chord;
}

}  // namespace bentline
