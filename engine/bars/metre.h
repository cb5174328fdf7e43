// Counted time: beats, bars, tempo and metre, without seconds.
#pragma once

#include <string>
#include <string_view>

#include "engine/result.h"
#include "engine/units.h"

namespace bentline {

// Counted time in beats. As a position: beats from the first beat of bar 1, which is 0; negative
// before it. A beat is what a foot taps (Metre::quarters_per_beat).
using Beats = Quantity<struct BeatsTag>;

// Beats a minute.
using Tempo = Quantity<struct TempoTag>;
inline Seconds beat_length(Tempo t) {
    return Seconds(60.0 / t.value());
}
inline Tempo tempo_of(Seconds beat) {
    return Tempo(60.0 / beat.value());
}

// Tempos that a bar map takes: slower is a rubato, faster is a count in two.
inline constexpr Tempo slowest_tempo{20.0};
inline constexpr Tempo fastest_tempo{400.0};

// A time signature. In 6/8, 9/8 and 12/8 (and 3/8) the beat is the dotted quarter, so 12/8 has four
// beats; elsewhere it is the lower number's note (common practice, no source).
struct Metre {
    int count = 4;  // upper number, 1 to 32
    int unit = 4;   // lower number: 1, 2, 4, 8 or 16

    bool compound() const { return unit >= 8 && count % 3 == 0; }
    int beats_per_bar() const { return compound() ? count / 3 : count; }
    // Length of one beat in quarter notes: 1 in 4/4, 1.5 in 6/8, 2 in 2/2.
    double quarters_per_beat() const { return (compound() ? 12.0 : 4.0) / unit; }
    bool valid() const;
    friend bool operator==(const Metre&, const Metre&) = default;
};
// "4/4". Fails with out_of_range on anything that is not a time signature.
Result<Metre> parse_metre(std::string_view text);
std::string to_text(const Metre& metre);

// A place in the score. Bars count from 1; a pickup lies in bar 0, whatever is before it in -1, -2
// …
struct BarBeat {
    int bar = 1;
    Beats beat{0.0};  // from the bar's own first beat, so 0 is "beat one"
    friend bool operator==(const BarBeat&, const BarBeat&) = default;
};
// Reads "7:1", "7:2.5", "7" (its first beat), "0:4". The beat is written counting from 1, as
// players do. Fails with out_of_range; whether the bar has that beat is the bar map's to say.
Result<BarBeat> parse_bar_beat(std::string_view text);
// "7:2.5": at most three decimals, none where there are none.
std::string to_text(const BarBeat& position);

}  // namespace bentline
