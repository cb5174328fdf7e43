// Reading and writing of metres and bar:beat positions.
#include "engine/bars/metre.h"

#include <charconv>
#include <cmath>
#include <optional>

namespace bentline {
namespace {

// The whole of `text` as a number, independent of the locale.
template <class T>
std::optional<T> number(std::string_view text) {
    T value{};
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
    return value;
}

Failure not_a_position(std::string_view text) {
    return {
        FailureKind::out_of_range,
        "'" + std::string(text) + "' is not a bar and beat: write bar:beat, such as 7:1 or 7:2.5",
        {}};
}

}  // namespace

bool Metre::valid() const {
    const bool known_unit = unit == 1 || unit == 2 || unit == 4 || unit == 8 || unit == 16;
    return known_unit && count >= 1 && count <= 32;
}

Result<Metre> parse_metre(std::string_view text) {
    const auto slash = text.find('/');
    if (slash != std::string_view::npos) {
        const auto count = number<int>(text.substr(0, slash));
        const auto unit = number<int>(text.substr(slash + 1));
        if (count && unit && Metre{*count, *unit}.valid()) return Metre{*count, *unit};
    }
    return Failure{
        FailureKind::out_of_range,
        "'" + std::string(text) + "' is not a metre: write it like 4/4, 3/4, 6/8 or 12/8",
        {}};
}

std::string to_text(const Metre& metre) {
    return std::to_string(metre.count) + "/" + std::to_string(metre.unit);
}

Result<BarBeat> parse_bar_beat(std::string_view text) {
    const auto colon = text.find(':');
    const auto bar = number<int>(text.substr(0, colon));
    if (!bar || *bar < -9999 || *bar > 99999) return not_a_position(text);
    if (colon == std::string_view::npos) return BarBeat{*bar, Beats(0.0)};
    const auto beat = number<double>(text.substr(colon + 1));
    if (!beat || !std::isfinite(*beat) || *beat < 1.0 || *beat >= 34.0) return not_a_position(text);
    return BarBeat{*bar, Beats(*beat - 1.0)};
}

std::string to_text(const BarBeat& position) {
    const auto thousandths = std::llround((position.beat.value() + 1.0) * 1000.0);
    std::string text = std::to_string(position.bar) + ":" + std::to_string(thousandths / 1000);
    if (thousandths % 1000 != 0) {
        std::string decimals = std::to_string(1000 + thousandths % 1000).substr(1);
        while (decimals.back() == '0')
            decimals.pop_back();
        text += "." + decimals;
    }
    return text;
}

}  // namespace bentline
