// Intents to lines of a session script and back.
#include "ui/window/intent.h"

#include <array>
#include <charconv>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

namespace bentline::window {
namespace {

// Names of the enumerators, in their order.
constexpr std::array overlay_names{"none",      "chooser",  "keys",     "history",
                                   "confident", "bars",     "hand-out", "guard",
                                   "practice",  "recovery", "focus"};
constexpr std::array purpose_names{"open",  "save", "midi",  "csv",   "musicxml",
                                   "sheet", "tab",  "clips", "lesson"};
constexpr std::array answer_names{"save", "drop", "stay"};
constexpr std::array edge_names{"both", "start", "end"};

const auto& names(Overlay) {
    return overlay_names;
}
const auto& names(Purpose) {
    return purpose_names;
}
const auto& names(Answer) {
    return answer_names;
}
const auto& names(Edge) {
    return edge_names;
}

template <class Number>
std::string number_text(Number value) {
    std::array<char, 40> buffer{};
    const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value).ptr;
    return {buffer.data(), end};
}

std::string field_text(double v) {
    return number_text(v);
}
std::string field_text(int v) {
    return number_text(v);
}
std::string field_text(std::int64_t v) {
    return number_text(v);
}
std::string field_text(bool v) {
    return v ? "yes" : "no";
}
std::string field_text(Hertz v) {
    return number_text(v.value());
}
template <class Tag>
std::string field_text(Quantity<Tag, double> v) {
    return number_text(v.value());
}
std::string field_text(const std::string& v) {
    std::string quoted = "\"";
    for (const char c : v) {
        if (c == '\n') {
            quoted += "\\n";
            continue;
        }
        if (c == '"' || c == '\\') quoted += '\\';
        quoted += c;
    }
    return quoted + "\"";
}
template <class E>
requires std::is_enum_v<E> std::string field_text(E v) {
    return names(v)[static_cast<std::size_t>(v)];
}

template <class Number>
bool read_number(std::string_view text, Number& value) {
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size()) return false;
    if constexpr (std::is_floating_point_v<Number>) return std::isfinite(value);
    return true;
}

bool read_field(std::string_view text, double& v) {
    return read_number(text, v);
}
bool read_field(std::string_view text, int& v) {
    return read_number(text, v);
}
bool read_field(std::string_view text, std::int64_t& v) {
    return read_number(text, v);
}
bool read_field(std::string_view text, bool& v) {
    v = text == "yes";
    return v || text == "no";
}
bool read_field(std::string_view text, Hertz& v) {
    double number = 0;
    if (!read_number(text, number)) return false;
    v = Hertz(number);
    return true;
}
template <class Tag>
bool read_field(std::string_view text, Quantity<Tag, double>& v) {
    double number = 0;
    if (!read_number(text, number)) return false;
    v = Quantity<Tag, double>(number);
    return true;
}
bool read_field(std::string_view text, std::string& v) {
    v = text;
    return true;
}
template <class E>
requires std::is_enum_v<E>
bool read_field(std::string_view text, E& v) {
    const auto& all = names(v);
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (text == all[i]) {
            v = static_cast<E>(i);
            return true;
        }
    }
    return false;
}

// Words of a line; a text in quotes is one word. Empty where a quote is left open.
std::optional<std::vector<std::string>> words_of(std::string_view line) {
    std::vector<std::string> words;
    std::size_t i = 0;
    while (i < line.size()) {
        if (line[i] == ' ' || line[i] == '\t') {
            ++i;
            continue;
        }
        std::string word;
        if (line[i] == '"') {
            for (++i; i < line.size() && line[i] != '"'; ++i) {
                if (line[i] == '\\' && i + 1 < line.size()) {
                    ++i;
                    word += line[i] == 'n' ? '\n' : line[i];
                } else {
                    word += line[i];
                }
            }
            if (i >= line.size()) return std::nullopt;
            ++i;
        } else {
            while (i < line.size() && line[i] != ' ' && line[i] != '\t')
                word += line[i++];
        }
        words.push_back(std::move(word));
    }
    return words;
}

Failure not_understood(std::string_view line, const std::string& why) {
    return {FailureKind::out_of_range,
            "could not read the session line \"" + std::string(line) + "\": " + why,
            {}};
}

// Fills `intent` from words[1…]; the number of the first wrong field, or 0.
template <class I>
std::size_t fill(I& intent, const std::vector<std::string>& words) {
    std::size_t field = 0, wrong = 0;
    std::apply(
        [&](auto&... each) {
            ((++field,
              wrong == 0 && !read_field(words[field], each) ? void(wrong = field) : void()),
             ...);
        },
        intent.fields());
    return wrong;
}

template <std::size_t N = 0>
Result<Intent> parse_words(std::string_view line, const std::vector<std::string>& words) {
    if constexpr (N == std::variant_size_v<AnyIntent>) {
        return not_understood(line, "there is no intent called \"" + words.front() + "\"");
    } else {
        using I = std::variant_alternative_t<N, AnyIntent>;
        if (words.front() != I::word) return parse_words<N + 1>(line, words);
        I intent;
        constexpr std::size_t wanted = std::tuple_size_v<decltype(intent.fields())>;
        if (words.size() != wanted + 1) {
            return not_understood(line, "it takes " + std::to_string(wanted) + " values");
        }
        if constexpr (wanted > 0) {
            if (const std::size_t wrong = fill(intent, words); wrong != 0) {
                return not_understood(line, "\"" + words[wrong] + "\" does not fit there");
            }
        }
        return Intent(std::move(intent));
    }
}

}  // namespace

Intent::Intent(const Intent& other) = default;
Intent::Intent(Intent&& other) noexcept = default;
Intent& Intent::operator=(const Intent& other) = default;
Intent& Intent::operator=(Intent&& other) noexcept = default;
Intent::~Intent() = default;
bool operator==(const Intent& a, const Intent& b) {
    return static_cast<const AnyIntent&>(a) == static_cast<const AnyIntent&>(b);
}

std::string to_line(const Intent& intent) {
    return std::visit(
        [](const auto& i) {
            std::string line(i.word);
            std::apply([&](const auto&... each) { ((line += ' ' + field_text(each)), ...); },
                       i.fields());
            return line;
        },
        intent);
}

Result<Intent> parse_line(std::string_view line) {
    const auto words = words_of(line);
    if (!words) return not_understood(line, "a quote is not closed");
    if (words->empty()) return not_understood(line, "it is empty");
    return parse_words(line, *words);
}

}  // namespace bentline::window
