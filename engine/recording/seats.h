// The orders of channels that standards fix for formats that carry no channel map of their own.
// Inside engine/recording only.
#pragma once

#include <cstddef>
#include <vector>

#include "engine/recording/downmix.h"

namespace bentline {

// RFC 9639 section 9.1.3: FLAC, up to eight channels; more: unknown.
std::vector<Seat> flac_seats(std::size_t channels);
// Vorbis I section 4.3.9, which RFC 7845 section 5.1.1.2 takes over for Opus: up to eight channels;
// more: unknown.
std::vector<Seat> vorbis_seats(std::size_t channels);

}  // namespace bentline
