// Reading and writing of keys and forms.
#include "engine/bars/form.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <optional>

namespace bentline {
namespace {

constexpr int usual_section = 8;  // bars of a section of a 32-bar song (common practice, no source)
constexpr int longest_section = 512;

// Line of fifths: the position of each natural, C = 0, and of its name there and back.
constexpr std::string_view letters_by_fifths = "FCGDAEB";  // F = -1 … B = 5

std::optional<int> fifths_of_letter(char letter) {
    const auto at = letters_by_fifths.find(letter);
    if (at == std::string_view::npos) return std::nullopt;
    return static_cast<int>(at) - 1;
}

std::string lower_without_spaces(std::string_view text) {
    std::string out;
    for (const char c : text) {
        if (c != ' ' && c != '-')
            out.push_back(static_cast<char>(std::tolower(static_cast<unsigned char>(c))));
    }
    return out;
}

}  // namespace

int Key::tonic() const {
    const int steps = fifths + (minor ? 3 : 0);  // the relative minor lies three fifths on
    return ((steps * 7) % 12 + 12) % 12;
}

Result<Key> parse_key(std::string_view text) {
    const Failure refused{
        FailureKind::out_of_range,
        "'" + std::string(text) + "' is not a key: write it like Eb, F# or C minor",
        {}};
    while (!text.empty() && text.front() == ' ')
        text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ')
        text.remove_suffix(1);
    if (text.empty()) return refused;
    const auto natural =
        fifths_of_letter(static_cast<char>(std::toupper(static_cast<unsigned char>(text[0]))));
    if (!natural) return refused;
    int fifths = *natural;
    text.remove_prefix(1);
    for (const auto& [sign, step] : std::array<std::pair<std::string_view, int>, 4>{
             {{"b", -7}, {"#", 7}, {"\u266d", -7}, {"\u266f", 7}}}) {
        if (text.substr(0, sign.size()) == sign) {
            fifths += step;
            text.remove_prefix(sign.size());
            break;
        }
    }
    bool minor = false;
    if (text == "M") text = {};
    const std::string mode = lower_without_spaces(text);
    if (mode == "m" || mode == "min" || mode == "minor") {
        minor = true;
    } else if (!mode.empty() && mode != "maj" && mode != "major") {
        return refused;
    }
    if (minor) fifths -= 3;
    if (fifths < -7 || fifths > 7) {
        return Failure{
            FailureKind::out_of_range,
            "That key would need more than seven sharps or flats: write its neighbour by sound",
            {}};
    }
    return Key{fifths, minor};
}

std::string to_text(const Key& key) {
    int fifths = key.fifths + (key.minor ? 3 : 0);
    std::string sign;
    while (fifths > 5)
        fifths -= 7, sign += "#";
    while (fifths < -1)
        fifths += 7, sign += "b";
    return letters_by_fifths[static_cast<std::size_t>(fifths + 1)] + sign +
           (key.minor ? " minor" : " major");
}

Result<Form> parse_form(std::string_view text) {
    Form form;
    int next_bar = 1;
    for (std::size_t i = 0; i < text.size();) {
        const auto c = static_cast<unsigned char>(text[i]);
        if (c == ' ' || c == '-' || c == ',') {
            ++i;
            continue;
        }
        if (!std::isalpha(c) || c > 127) {
            return Failure{FailureKind::out_of_range,
                           "'" + std::string(text) +
                               "' is not a form: write letters, with bars behind a letter "
                               "where they are not eight, such as AABA, A12 or A16B8",
                           {}};
        }
        Section s{std::string(1, static_cast<char>(std::toupper(c))), next_bar, 0};
        std::size_t digits = i + 1;
        while (digits < text.size() && std::isdigit(static_cast<unsigned char>(text[digits])) &&
               s.bars <= longest_section) {
            s.bars = s.bars * 10 + (text[digits++] - '0');
        }
        if (digits == i + 1) s.bars = usual_section;
        if (s.bars < 1 || s.bars > longest_section) {
            return Failure{
                FailureKind::out_of_range,
                "Section " + s.letter + " of '" + std::string(text) + "' must have 1 to 512 bars",
                {}};
        }
        next_bar += s.bars;
        form.push_back(std::move(s));
        i = digits;
    }
    return form;
}

namespace {

std::string_view without_blanks(std::string_view text) {
    while (!text.empty() && text.front() == ' ')
        text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ')
        text.remove_suffix(1);
    return text;
}

// Whether a section is meant by "B" or by "17", the bar at which it begins.
bool is_called(const Section& section, std::string_view name) {
    const auto same = [](char a, char b) {
        return std::tolower(static_cast<unsigned char>(a)) ==
               std::tolower(static_cast<unsigned char>(b));
    };
    if (std::equal(name.begin(), name.end(), section.letter.begin(), section.letter.end(), same))
        return true;
    int bar = 0;
    const auto [stop, error] = std::from_chars(name.data(), name.data() + name.size(), bar);
    return error == std::errc{} && stop == name.data() + name.size() && bar == section.first_bar;
}

// "B in Ab": gives the sections that are meant their key.
Result<Done> set_section_key(std::string_view part, Form& form) {
    const auto in = part.find(" in ");
    if (in == std::string_view::npos) {
        return Failure{FailureKind::out_of_range,
                       "'" + std::string(part) +
                           "' is no section's key: write the tune's key first, then a section's "
                           "letter or first bar and its key, such as Eb, B in Ab",
                       {}};
    }
    const std::string_view name = without_blanks(part.substr(0, in));
    const auto key = parse_key(part.substr(in + 4));
    if (!key) return key.failure();
    bool any = false;
    for (Section& section : form) {
        if (!is_called(section, name)) continue;
        section.key = *key;
        any = true;
    }
    if (any) return Done{};
    return Failure{FailureKind::out_of_range,
                   "The form " + (form.empty() ? std::string("is empty, and") : to_text(form)) +
                       " has no section '" + std::string(name) + "' to be in " + to_text(*key) +
                       ": write the form first",
                   {}};
}

}  // namespace

Result<Keys> parse_keys(std::string_view text, const Form& form) {
    Keys keys{{}, form};
    for (Section& section : keys.form)
        section.key.reset();
    for (bool first = true; first || !text.empty(); first = false) {
        const auto end = text.find(',');
        const std::string_view part = without_blanks(text.substr(0, end));
        text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
        if (first) {
            const auto key = parse_key(part);
            if (!key) return key.failure();
            keys.tune = *key;
        } else if (auto set = set_section_key(part, keys.form); !set) {
            return set.failure();
        }
    }
    for (Section& section : keys.form) {
        if (section.key == keys.tune) section.key.reset();
    }
    return keys;
}

std::string to_text(const Keys& keys) {
    std::string text = keys.tune ? to_text(*keys.tune) : "";
    for (std::size_t i = 0; i < keys.form.size(); ++i) {
        const Section& section = keys.form[i];
        const auto same_letter = [&](const Section& s) { return s.letter == section.letter; };
        const auto alike = [&](const Section& s) {
            return !same_letter(s) || s.key == section.key;
        };
        const bool by_letter = std::all_of(keys.form.begin(), keys.form.end(), alike);
        const auto here = keys.form.begin() + static_cast<std::ptrdiff_t>(i);
        const bool said = by_letter && std::any_of(keys.form.begin(), here, same_letter);
        if (!section.key || said) continue;
        text += (text.empty() ? "" : ", ") +
                (by_letter ? section.letter : std::to_string(section.first_bar)) + " in " +
                to_text(*section.key);
    }
    return text;
}

std::optional<Key> key_at(const Keys& keys, int bar) {
    for (const Section& s : keys.form) {
        if (s.first_bar <= bar && bar < s.first_bar + s.bars && s.key) return s.key;
    }
    return keys.tune;
}

Form with_keys_of(Form form, const Form& before) {
    for (Section& section : form) {
        const auto same = std::find_if(before.begin(), before.end(), [&](const Section& s) {
            return s.letter == section.letter;
        });
        if (same != before.end()) section.key = same->key;
    }
    return form;
}

Form repeated(const Form& form, int choruses) {
    Form all;
    for (int i = 0; i < choruses && i < 100; ++i) {
        const int first = all.empty() ? (form.empty() ? 1 : form.front().first_bar)
                                      : all.back().first_bar + all.back().bars;
        const int shift = form.empty() ? 0 : first - form.front().first_bar;
        for (Section s : form) {
            s.first_bar += shift;
            all.push_back(std::move(s));
        }
    }
    return all;
}

std::string to_text(const Form& form) {
    std::string text;
    for (const Section& s : form) {
        text += s.letter;
        if (s.bars != usual_section) text += std::to_string(s.bars);
    }
    return text;
}

}  // namespace bentline
