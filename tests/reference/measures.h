// What is measured on slowed sounds. Each says exactly what its number means.
#pragma once

#include <vector>

#include "tests/reference/materials.h"

namespace bentline::reference {

// Largest distance of any partial from its frequency, cents: by the mean phase advance of the
// heterodyned partial over the middle of the sound.
double worst_partial_cents(const Tone& tone, const Signal& slowed);
// Energy more than 8 Hz away from every partial over all energy, dB, in the middle 1.5 s under a
// four-term Blackman-Harris window.
double between_partials_db(const Tone& tone, const Signal& slowed);
// Largest rms deviation of any partial's level, dB, in a 40 Hz band.
double modulation_db(const Tone& tone, const Signal& slowed);
// Residue after the best fit of steady sines at the partials' frequencies over 2 s, over all
// energy, dB.
double fit_residue_db(const Tone& tone, const Signal& slowed);

struct ClickFigures {
    double timing_ms;  // largest distance of a peak from its place, the engine's median taken out
    double offset_ms;  // that median
    double
        rise_ratio;  // median rise (10 to 90 % of the peak of the 0.2 ms envelope) over the input's
    double wrong_percent;  // clicks lost (below -12 dB) or heard again 4 to 60 ms away above -14 dB
    double pre_echo_db;  // energy 60 to 4 ms before the clicks over that from 2 before to 20 after
};
ClickFigures click_figures(const Clicks& in, const Signal& slowed, double speed, bool quiet_ground);

struct Distance {
    double whole_db;
    double attacks_db;  // frames centred 10 ms before to 40 ms after an onset
};
// Log-spectral distance: rms over bins, mean over frames, of 2048-point Hann spectra 512 apart,
// levels held above 60 dB below the reference's highest; bins where both lie there do not count.
// The best constant shift within 25 ms is taken out.
Distance spectral_distance(const Line& wanted, const Signal& slowed);

// Rms distance of the heard pitch from the slowed motion, cents, on the first partial, over the
// motion.
double motion_error_cents(Motion m, const Moving& tone, const Signal& slowed, double speed);
struct Vibrato {
    double rate_hz;
    double depth_cents;
};
Vibrato vibrato_of(const Moving& tone, const Signal& slowed, double speed);

struct NoiseFigures {
    // Correlation of a bin's log levels in 2048-point Hann spectra that lie 4096 frames apart, mean
    // over the bins from 200 Hz to 16 kHz, percent. Noise: 0. Slowed noise that warbles: the levels
    // of its bins are held.
    double held_percent;
    // Spectral flatness (geometric over arithmetic mean of power, within third octaves) of Hann
    // spectra of 2048, 8192 and 32768 frames, the worst, below that of Gaussian noise (exp of minus
    // Euler's constant, -2.507 dB). Noise: 0.
    double flatness_db;
    // Greatest normalised correlation of 2048 frames with what lies 10 to 200 ms later; mean over
    // such pieces, percent. White noise: 8.8 (measured on fresh noise); a grain heard twice: 100.
    double repeated_percent;
    // Standard deviation of 10 ms levels in a third octave at 4 kHz, over that of fresh noise.
    // Noise: 1.
    double unrest;
    // Largest distance of a third octave's level from the input's, 200 Hz to 16 kHz, dB.
    double level_db;
};
NoiseFigures noise_figures(const Signal& in, const Signal& slowed);

// Level between the partials of a tone in noise (see between_partials_db) against the input's, dB.
double noise_between_db(const Tone& in, const Signal& slowed);
// Rms distance of 20 ms levels of the slowed cymbal from its formula, over its first 40 dB, dB.
double cymbal_course_db(const Signal& slowed, double speed);

double level_db(const Signal& x);  // rms

}  // namespace bentline::reference
