// The pitch line read again, finely: how the pitch moves within a note.
#pragma once

#include <cstddef>
#include <vector>

#include "engine/notes/lead_signal.h"
#include "engine/notes/note_settings.h"
#include "engine/pitch/curve.h"
#include "engine/work.h"

namespace bentline::notes {

// One point each `hop` seconds from `start`. Pitches are in cents above MIDI key 0 (6900 = A4), the
// recording's tuning taken out.
struct FineLine {
    double start = 0.0;
    double hop = 0.0025;
    std::vector<double> cents;    // meaningful where voiced
    std::vector<double> quality;  // 0 to 1: how alike the sound is to itself one lag on
    std::vector<char> voiced;     // 1 where the tracker follows a lead, 2 where it only leans
                                  // towards one that is clearly periodic
    std::vector<double> trust;    // the tracker's own confidence there
    std::vector<char> alone;      // 1 where the sound around is clearly periodic: nobody else plays

    std::size_t size() const { return cents.size(); }
    double time_of(std::size_t i) const { return start + hop * static_cast<double>(i); }
    std::size_t index_of(double seconds) const;  // nearest point, clamped
};

// Around the tracker's pitch the lag of greatest self-similarity is found (normalised square
// difference, McLeod & Wyvill 2005) over a window of 8 ms, or a period and a quarter where that is
// longer, at a lag of whole periods. So a step of a semitone is blurred over 13 to 30 ms, not over
// the tracker's own window. Exact to about a cent on clean tones; where the sound is not
// self-similar, or others sound along, the tracker's value stands. Empty when the work is stopped.
// [worker]
FineLine fine_line(const LeadSignal& lead, const PitchCurve& curve, const NoteSettings& settings,
                   const Work& work);

// Takes out the points that are only leaned towards, but for those that follow a pluck without a
// hole. plucks: seconds, sorted.
void keep_struck_leanings(FineLine& line, const std::vector<double>& plucks);

// The stretch of sound, in seconds, that one point of the line looks at for a pitch.
double line_blur(double cents, const NoteSettings& settings);

}  // namespace bentline::notes
