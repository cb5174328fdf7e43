// Shared options: output, span, focus.
#include "ui/command/options.h"

#include <charconv>
#include <limits>
#include <sstream>
#include <utility>

namespace bentline::command {

void add_common(CLI::App& verb, Common& common, const std::string& what_goes_out) {
    verb.add_option("--out", common.out, "Write " + what_goes_out + " to this file")
        ->type_name("FILE");
    verb.add_flag("--quiet", common.quiet, "Say nothing but failures");
}

void add_span(CLI::App& verb, Span& span) {
    verb.add_option("--from", span.from, "Start here, in seconds of the recording")->type_name("S");
    verb.add_option("--to", span.to, "End here, in seconds of the recording")->type_name("S");
}

CLI::Validator between(double low, double high) {
    const auto wrong = [low, high](const std::string& text) -> std::string {
        double value = 0.0;
        if (CLI::detail::lexical_cast(text, value) && value >= low && value <= high) return {};
        std::ostringstream words;
        words << "'" << text << "' will not do; give a number from " << low << " to " << high;
        return std::move(words).str();
    };
    return {wrong, ""};
}

std::optional<int> whole_number(std::string_view text) {
    int n = 0;
    const char* const end = text.data() + text.size();
    const auto [stop, error] = std::from_chars(text.data(), end, n);
    if (error != std::errc{} || stop != end) return std::nullopt;
    return n;
}

std::optional<Range<int>> bars_named(const std::string& text) {
    const auto dash = text.find('-', 1);
    const auto first = whole_number(std::string_view(text).substr(0, dash));
    const auto last =
        dash == std::string::npos ? first : whole_number(std::string_view(text).substr(dash + 1));
    constexpr int most = std::numeric_limits<int>::max();
    if (!first || !last || *last < *first || *last == most) return std::nullopt;
    return Range<int>{*first, *last + 1};
}

std::optional<MidiKey> key_named(const std::string& name) {
    static constexpr int semitone_of_letter[] = {9, 11, 0, 2, 4, 5, 7};  // A to G above C
    std::string_view rest = name;
    if (rest.empty()) return std::nullopt;
    const char letter = static_cast<char>(rest.front() & ~0x20);
    if (letter < 'A' || letter > 'G') return std::nullopt;
    rest.remove_prefix(1);
    int alter = 0;
    for (bool more = true; more;) {
        more = false;
        for (const auto& [sign, step] :
             {std::pair<std::string_view, int>{"#", 1}, {"\u266f", 1}, {"b", -1}, {"\u266d", -1}}) {
            if (rest.starts_with(sign)) {
                rest.remove_prefix(sign.size());
                alter += step;
                more = true;
            }
        }
    }
    int octave = 0;
    const auto [end, error] = std::from_chars(rest.data(), rest.data() + rest.size(), octave);
    if (error != std::errc{} || end != rest.data() + rest.size()) return std::nullopt;
    if (octave < -1 || octave > 9) return std::nullopt;
    const int key = 12 * (octave + 1) + semitone_of_letter[letter - 'A'] + alter;
    if (key < 0 || key > 127) return std::nullopt;
    return MidiKey(key);
}

namespace {

// Reads "E3:E6" into a register.
std::string read_register(const std::string& text, Focus& focus) {
    const auto colon = text.find(':');
    const auto low = key_named(text.substr(0, colon));
    const auto high = colon == std::string::npos ? std::nullopt : key_named(text.substr(colon + 1));
    if (!low || !high) {
        return "'" + text + "' is not a register: write lowest and highest note, like E3:E6";
    }
    if (!(*low < *high)) return "'" + text + "' is upside down: the lowest note comes first";
    if (low->value() < 23 || high->value() > 100) {
        return "'" + text + "' leaves the instrument: stay between B0 and E7";
    }
    focus.lowest = Pitch(*low);
    focus.highest = Pitch(*high);
    return {};
}

}  // namespace

void add_focus(CLI::App& verb, Focus& focus) {
    verb.add_option_function<std::string>(
            "--register",
            [&focus](const std::string& text) {
                if (const std::string wrong = read_register(text, focus); !wrong.empty()) {
                    throw CLI::ValidationError("--register", wrong);
                }
            },
            "Lowest and highest sounding note of the soloist, like E3:E6")
        ->type_name("LOW:HIGH");
    verb.add_option("--pan", focus.place, "Where on the stage he is: -1 left, 0 centre, 1 right")
        ->check(between(-1.0, 1.0));
    verb.add_option("--pan-width", focus.width,
                    "How much of the stage around that place: 0 just there, 2 all of it")
        ->check(between(0.0, 2.0));
}

}  // namespace bentline::command
