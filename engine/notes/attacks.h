// Where a string is struck: evidence of a pluck at each moment, and the plucks themselves.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "engine/notes/fine_line.h"
#include "engine/notes/lead_signal.h"
#include "engine/notes/note_settings.h"
#include "engine/work.h"

namespace bentline::notes {

// What speaks for a pluck at one moment. Each is 0 where nothing happens, but
// for those from `followed` on, which tell what is around.
enum Evidence : std::size_t {
    flux_rise,      // mean rise over the bands of the log spectrum, vibrato suppressed, nepers
    flux_surprise,  // the same against its median over a quarter of a second, nepers
    burst_rise,     // rise of the level above 3 kHz, decibels / 10
    harmonic_rise,  // mean rise of the followed pitch's own harmonics, decibels / 10
    level_rise,     // rise of the whole level, decibels / 10
    harmonic_dip,   // how far those harmonics had dipped just before, decibels / 10
    pitch_step,     // change of the pitch from 20 ms before to 20 ms after, semitones, 1.5 at most
    entrance,       // 1 where the lead comes in from silence
    likeness_dip,   // how far the sound's likeness to itself falls here below that around, 0 to 1
    swerve,         // largest distance of the pitch from the way between its sides, semitones
    trust_dip,      // how far the tracker's confidence falls here below that around, 0 to 1
    followed,       // 1 where a pitch is followed at all
    lead_share,     // level of the followed harmonics below the whole, decibels / 10
    purity,  // how alike the sound around is to itself one lag on: low under other instruments
    trust_around,  // the tracker's confidence around, 0 where it follows nothing
    evidence_count
};
using EvidenceVector = std::array<double, evidence_count>;

struct Pluck {
    double time = 0.0;      // seconds; where the attack begins, to a few ms
    double log_odds = 0.0;  // natural log-odds that a string was struck here
    EvidenceVector evidence{};
};

struct Attacks {
    double start = 0.0;  // seconds, of the first frame
    double hop = 0.005;
    std::vector<double> log_odds;  // a frame
    std::vector<double> level;     // dB re full scale, of the followed pitch's harmonics; -120
                                   // where no pitch is followed
    std::vector<double> sound;     // dB re full scale, of everything
    std::vector<Pluck> plucks;     // sorted by time; local maxima above -4
    double end() const { return start + hop * static_cast<double>(level.size()); }
    std::size_t frame_at(double seconds) const;  // nearest, clamped
};

// Spectral flux after Böck & Widmer 2013 ("Maximum filter vibrato suppression for onset detection",
// DAFx): quarter-tone bands, log magnitude, the earlier frame widened over three bands. The
// evidence is weighed by a logistic model whose weights were fitted to generated phrases with known
// plucks. Empty when the work is stopped. [worker]
Attacks find_attacks(const LeadSignal& lead, const FineLine& line, const NoteSettings& settings,
                     const Work& work);

}  // namespace bentline::notes
