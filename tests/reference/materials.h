// Test sounds made by formula, and what each would be if it had been played slowly.
//
// Everything lies over a noise floor of -90 dBFS (silence and exact tones lead some engines to take
// rounding noise for attacks). 44.1 kHz. A "slow" version is made by the same formula at a speed:
// onsets at t / speed, attacks and releases at their own length, everything else stretched.
#pragma once

#include <cstddef>
#include <vector>

namespace bentline::reference {

inline constexpr int rate = 44100;
using Signal = std::vector<float>;

// A steady tone: its partials' frequencies, all at amplitude over their number.
struct Tone {
    std::vector<double> partials;
    Signal sound;
};
Tone steady_tone(double hz, int partials, double seconds);
// The open low chord of a guitar in standard tuning, E2 B2 E3 G#3 (equal temperament), six partials
// each.
Tone low_chord(double seconds);

// Clicks: damped bursts of 0.9, 2.5 and 6.3 kHz, rise one sample, 3 ms to fall by 20 dB, at uneven
// distances, over nothing or over a held chord 12 dB below.
struct Clicks {
    std::vector<double> at;  // seconds
    Signal sound;
};
Clicks clicks(bool over_chord);

// A line of twelve plucked notes: additive, 14 partials, attack 3 ms, partials that fall at their
// own rates, release 15 ms into the next note. `own_decay`: its notes decay as fast as at speed 1,
// as those of an instrument played slower do.
struct Line {
    std::vector<double> onsets;  // seconds, at this speed
    Signal sound;
};
Line plucked_line(double speed, bool own_decay = false);

// Four partials whose pitch follows `cents(t)` of the recording's time t.
enum class Motion { bend, vibrato };
struct Moving {
    double hz;  // of the first partial at rest
    double seconds;
    Signal sound;
};
double motion_cents(Motion m, double t);
// Its phase at recording time t, in turns of the first partial at rest and moving.
Moving moving_tone(Motion m);

// A phrase on a guitar of FluidSynth, and the same phrase at a slower tempo.
Line synth_phrase(double speed);

// Steady noise of -20 dBFS rms: white, or pink (1/f from 40 Hz on), Gaussian.
enum class Colour { white, pink };
Signal noise(Colour colour, double seconds, unsigned seed);
// What is left of a struck cymbal after its stroke: noise above 2 kHz that falls by 60 dB in 2.4 s
// of the recording's time, beginning within 2 ms at 0.3 s.
Signal cymbal(double speed);
double cymbal_level_db(double t);  // of its noise at recording time t, against its beginning
inline constexpr double cymbal_onset = 0.3;

void add_floor(Signal& x, unsigned seed);

}  // namespace bentline::reference
