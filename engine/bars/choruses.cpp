// How often a form is played, and its chords with it.
#include "engine/bars/choruses.h"

#include <charconv>
#include <utility>

namespace bentline {

Result<PlayedForm> parse_played_form(std::string_view text) {
    PlayedForm played;
    const std::size_t sign = text.find_last_not_of("0123456789");
    if (sign != std::string_view::npos && text[sign] == 'x' && sign + 1 < text.size()) {
        const std::string_view digits = text.substr(sign + 1);
        const auto [end, error] =
            std::from_chars(digits.data(), digits.data() + digits.size(), played.times);
        if (error != std::errc{} || played.times < 1 || played.times > most_choruses) {
            return Failure{FailureKind::out_of_range,
                           "A form is played 1 to " + std::to_string(most_choruses) +
                               " times over, not " + std::string(digits) + ": write AABA x3",
                           {}};
        }
        text = text.substr(0, sign);
    }
    Result<Form> form = parse_form(text);
    if (!form) return form.failure();
    played.once = std::move(form).value();
    return played;
}

std::vector<std::string> chords_of_choruses(std::vector<std::string> chords,
                                            const PlayedForm& form) {
    if (chords.empty() || form.once.empty() || form.times == 1) return chords;
    const auto one =
        static_cast<std::size_t>(form.once.back().first_bar + form.once.back().bars - 1);
    if (chords.size() > one) return chords;
    chords.resize(one * static_cast<std::size_t>(form.times));
    for (std::size_t bar = one; bar < chords.size(); ++bar)
        chords[bar] = chords[bar - one];
    return chords;
}

}  // namespace bentline
