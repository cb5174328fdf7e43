// Numbers, note names and places as the lesson writes them; the same whatever the locale. [any]
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/draft/draft.h"
#include "engine/units.h"

namespace bentline {

// `places` decimals, decimal point, no "-0".
std::string figure_text(double value, int places);
double rounded_to(double value, int places);
// "E♭4", spelled with flats where the key has flats. C4 = 60.
std::string key_name(MidiKey key, const std::optional<Key>& in);
// "bar 7" where there are bars, "12.3 s" without.
std::string place_text(Seconds time, const std::optional<BarMap>& bars);
// "bars 3, 5 and 7–9": each place once, in order; at most `most`, then "and others".
std::string places_text(const std::vector<Seconds>& times, const std::optional<BarMap>& bars,
                        std::size_t most = 8);
// The bars that a span touches, "bars 3–5"; "12.3–14.0 s" without bars.
std::string span_text(SecondsRange span, const std::optional<BarMap>& bars);
// Chords, degrees or a key as typed, "Eb6 C7b9", with real flats and sharps.
std::string printed_signs(const std::string& typed);
// "1 note", "3 notes".
std::string counted(std::size_t count, const std::string& what);

}  // namespace bentline
