// What each moment may be: the pitches that could be the soloist's, with what speaks for each.
#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "engine/pitch/difference.h"
#include "engine/pitch/front_end.h"
#include "engine/pitch/lead_net.h"
#include "engine/pitch/pitch_path.h"
#include "engine/pitch/salience.h"
#include "engine/result.h"
#include "engine/work.h"

namespace bentline {

// One pitch that may be sounding.
struct Hypothesis {
    double hz = 0.0;                 // as exact as could be found
    double aperiodicity = 1.0;       // of the whole sound at this period
    double half_aperiodicity = 1.0;  // at half the period: as low where the octave above is right
    double probability = 0.0;        // by the threshold distribution of pYIN; 0 if no dip lies here
    bool dip = false;                // the difference function has a dip here
    HarmonicFit fit;
};

struct Moment {
    std::vector<Hypothesis> hypotheses;
    double level = -120.0;        // dB re full scale, RMS of the mix over 10 ms
    double brief_level = -120.0;  // the same over the least whole number of periods above 5 ms
};

// Looks at the sound every `hop` seconds, `count` times, the first time at frame `margin` of the
// signal, which reaches at least listening_margin() frames before and after. view: what the lead
// network says, or nullptr; the pitches that it hears are among the hypotheses, in place of those
// from harmonic sums, which add nothing to them. Fails only when stopped.
Result<std::vector<Moment>> listen(const WorkingSignal& sound, std::size_t margin, Seconds hop,
                                   std::size_t count, const PitchGrid& grid, Decibels floor,
                                   const LeadView* view, const Work& work);
std::size_t listening_margin(const PitchGrid& grid, double rate);

}  // namespace bentline
