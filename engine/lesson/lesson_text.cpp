// Text that every part of the lesson uses.
#include "engine/lesson/lesson_text.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <set>

#include "engine/export/engraving/spacing.h"

namespace bentline {

double rounded_to(double value, int places) {
    const double scale = std::pow(10.0, places);
    const double r = std::round(value * scale) / scale;
    return r == 0.0 ? 0.0 : r;
}

std::string figure_text(double value, int places) {
    std::array<char, 64> buffer{};
    const auto [end, error] =
        std::to_chars(buffer.data(), buffer.data() + buffer.size(), rounded_to(value, places),
                      std::chars_format::fixed, places);
    if (error != std::errc{}) return "0";
    return {buffer.data(), end};
}

std::string key_name(MidiKey key, const std::optional<Key>& in) {
    static constexpr std::array flats = {"C",  "D♭", "D",  "E♭", "E",  "F",
                                         "G♭", "G",  "A♭", "A",  "B♭", "B"};
    static constexpr std::array sharps = {"C",  "C♯", "D",  "D♯", "E",  "F",
                                          "F♯", "G",  "G♯", "A",  "A♯", "B"};
    const auto at = static_cast<std::size_t>(key.value() % 12);
    const bool flat = !in || in->fifths <= 0;
    return (flat ? flats[at] : sharps[at]) + std::to_string(key.value() / 12 - 1);
}

std::string place_text(Seconds time, const std::optional<BarMap>& bars) {
    if (!bars) return figure_text(time.value(), 1) + " s";
    return "bar " + std::to_string(bars->position_at(time).bar);
}

std::string places_text(const std::vector<Seconds>& times, const std::optional<BarMap>& bars,
                        std::size_t most) {
    std::vector<std::string> names;
    if (bars) {
        std::set<int> numbers;
        for (const Seconds t : times)
            numbers.insert(bars->position_at(t).bar);
        for (auto n = numbers.begin(); n != numbers.end();) {
            const int first = *n;
            int last = first;
            for (++n; n != numbers.end() && *n == last + 1; ++n)
                ++last;
            names.push_back(first == last
                                ? std::to_string(first)
                                : std::to_string(first) + "\u2013" + std::to_string(last));
        }
    } else {
        for (const Seconds t : times)
            names.push_back(figure_text(t.value(), 1) + " s");
        names.erase(std::unique(names.begin(), names.end()), names.end());
    }
    const bool cut = names.size() > most;
    if (cut) names.resize(most);
    std::string text;
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (i > 0) text += !cut && i + 1 == names.size() ? " and " : ", ";
        text += names[i];
    }
    if (cut) text += " and others";
    if (!bars) return text;
    const bool one = names.size() == 1 && names[0].find("\u2013") == std::string::npos;
    return (one ? "bar " : "bars ") + text;
}

std::string span_text(SecondsRange span, const std::optional<BarMap>& bars) {
    if (!bars)
        return figure_text(span.from.value(), 1) + "\u2013" + figure_text(span.to.value(), 1) +
               " s";
    std::vector<Seconds> begins;
    const int last = bars->position_at(span.to - Seconds(1e-6)).bar;
    for (int bar = bars->position_at(span.from).bar; bar <= last; ++bar)
        begins.push_back(bars->bar_span(bar).from);
    return places_text(begins, bars);
}

std::string printed_signs(const std::string& typed) {
    std::string printed;
    for (std::size_t from = 0; from <= typed.size();) {
        const std::size_t end = std::min(typed.find(' ', from), typed.size());
        printed += engraving::printed_chord(typed.substr(from, end - from));
        if (end < typed.size()) printed += ' ';
        from = end + 1;
    }
    return printed;
}

std::string counted(std::size_t count, const std::string& what) {
    return std::to_string(count) + " " + what + (count == 1 ? "" : "s");
}

}  // namespace bentline
