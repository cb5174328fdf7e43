// A solo whose written form is known, over a band whose beats are known.
#pragma once

#include <vector>

#include "tests/bars/band.h"
#include "tests/score/performance.h"

namespace bentline::testing {

// Eighths, triplets, sixteenths and sextuplets as the tempo lets a player, swung as the band
// swings, up to 40 ms behind the beat, in the band's key.
Performance solo_over(const Band& band, std::uint64_t seed);
std::vector<corpus::BandNote> as_band_notes(const Performance& solo);

}  // namespace bentline::testing
