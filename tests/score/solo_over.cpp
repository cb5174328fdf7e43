// The soloist's part for a band.
#include "tests/score/solo_over.h"

#include "tests/support/dice.h"

namespace bentline::testing {
namespace {

// To the nearest note of the major scale on the tonic.
MidiKey in_scale(MidiKey key, int tonic) {
    static constexpr bool scale[12] = {true,  false, true,  false, true,  true,
                                       false, true,  false, true,  false, true};
    const int above = ((key.value() - tonic) % 12 + 12) % 12;
    return scale[above] ? key : MidiKey(key.value() - 1);
}

}  // namespace

Performance solo_over(const Band& band, std::uint64_t seed) {
    Dice dice(seed * 31 + 7);
    PerformanceSettings s;
    s.seed = seed;
    s.metre = band.metre;
    s.tempo = band.tempo.value();
    s.swing = band.swing;
    s.late = dice.between(-0.01, 0.04);
    s.loose = dice.chance(0.5);
    const double beat = 60.0 / s.tempo;
    s.triplets = beat / 3 >= 0.080;
    s.sixteenths = beat / 4 >= 0.075;
    s.sextuplets = beat / 6 >= 0.085;
    s.beats.assign(band.beats.begin() + band.count_in_beats, band.beats.end());
    s.bars = static_cast<int>(s.beats.size()) / s.metre.beats_per_bar() - 1;
    const Seconds last = s.beats.back() - s.beats[s.beats.size() - 2];
    for (int i = 0; i < 12; ++i)
        s.beats.push_back(s.beats.back() + last);
    Performance p = perform(s);
    for (Note& n : p.played)
        n.key = in_scale(n.key, band.tonic);
    return p;
}

std::vector<corpus::BandNote> as_band_notes(const Performance& solo) {
    std::vector<corpus::BandNote> notes;
    for (const Note& n : solo.played)
        notes.push_back({n.onset, n.offset - n.onset, n.key.value(), 90});
    return notes;
}

}  // namespace bentline::testing
