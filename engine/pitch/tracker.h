// The tracker: a recording and a focus in, the solo's pitch line out.
//
// Hypotheses come from YIN's difference function with windows that suit each period (de Cheveigne &
// Kawahara 2002; thresholds of pYIN, Mauch & Dixon 2014) and from the harmonic sum of whitened
// partials (Klapuri 2006; Salamon & Gomez 2012). A log-linear model weighs them, by other measures
// where a sound is alone than in a crowd; a hidden Markov model over a 10-cent grid with voicing
// finds the path; what follows a damped note in the room is taken out of it (damped_tails.h); on it
// the period of the lower partials gives the exact pitch where the lead sounds alone, and where
// those partials lie in the spectrum elsewhere.
#pragma once

#include "engine/pitch/curve.h"
#include "engine/pitch/path_hints.h"
#include "engine/pitch/pitch_path.h"
#include "engine/recording/audio.h"
#include "engine/recording/focus.h"
#include "engine/result.h"
#include "engine/work.h"

namespace bentline {

struct TrackerSettings {
    // Distance of the line's points. 2 to 20 ms.
    Seconds hop{0.005};
    // Below this a frame has no lead. dB re full scale, -120 to 0. Between the noise of a good
    // converter (-90) and the softest tails worth following (common practice, no source).
    Decibels floor{-66.0};
    // How far a moment's evidence counts against its neighbours', 0 to 1: neighbouring moments
    // share most of their sound. Chosen on generated music.
    double trust = 0.35;
    // Also ask the lead network (lead_net.h). Without it the tracker rests on the classical
    // measures alone.
    bool network = true;
    PathSettings path;
};

// Stated accuracy, asserted by tests/pitch. Steady harmonic tones of the register E2 to E6 and
// recordings at 16 kHz and above:
inline constexpr Cents steady_tone_accuracy{1.0};
// The same of a stiff string, with softer sounds beside it, from its first five partials' pitch:
inline constexpr Cents accompanied_tone_accuracy{6.0};
// A vibrato of 7.5 Hz keeps its depth but for this, above 160 Hz:
inline constexpr Cents vibrato_depth_loss{2.0};

// Of a lead as loud as its band (bands of tests/corpus, no hints), the share of its sounding rows
// of 10 ms that are heard within 50 cents is at least the first, and the share of its silent rows
// that are called sounding at most the second; the classical measures alone do not reach either.
inline constexpr double band_raw_pitch = 0.82;
inline constexpr double band_false_alarm = 0.15;

// How far beyond the register's outermost notes a pitch is still reported as theirs: a note that is
// out of tune or shaken. Outside it nothing is reported, however loud.
inline constexpr Cents register_margin{50.0};

// The pitch line of the solo. points[i] lies at audio.start_time() + i * hop, for all i before the
// end of the audio; no frames, no points. Level: RMS of the followed mix over 10 ms, dB re full
// scale (a full-scale sine is at -3). Fails when stopped, and with out_of_range for a hop, floor or
// focus outside what is stated. Deterministic. [worker]
Result<PitchCurve> track_pitch(const Audio& audio, const Focus& focus,
                               const TrackerSettings& settings = {}, const Work& work = {});

// The same with what is already known: certain spans are followed as they are told and teach the
// soloist's portrait (stage place, timbre, loudness) for the rest; others' pitches are passed over.
Result<PitchCurve> track_pitch(const Audio& audio, const Focus& focus, const PathHints& hints,
                               const TrackerSettings& settings = {}, const Work& work = {});

}  // namespace bentline
