// Which instruments the takes draw their leads and bands from.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "tests/corpus/plain_tone.h"
#include "tests/corpus/scene.h"

namespace bentline::corpus {

// Whose takes. Each has seeds of its own.
enum class Seeds {
    development,  // may be looked at while the engine is made
    locked,       // instruments and seeds that the development takes lack; only scored
    wide,         // may be looked at and fitted: many more instruments, and other bands
    foreign,      // judged by the instrument, never fitted: none of them is in any other set
};

enum class Maker { soundfont, patch, summed_string, waveguide, guitar_clips };

struct Instrument {
    Maker maker = Maker::soundfont;
    std::string_view file;  // of a soundfont or a patch
    int program = 0;        // of a soundfont
    int lowest = 43;        // MIDI key: some samples have no clear pitch below
    Drift drift = Drift::plucked;
};

struct Cast {
    std::span<const Instrument> leads;  // in turn
    std::span<const std::string_view> band_fonts;
    std::uint64_t first_seed;
    BandWriter write;
};
const Cast& cast_of(Seeds seeds);

// What a table calls it: "FluidR3_GM 26".
std::string name_of(const Instrument& instrument);

// The first file of these takes that is not installed; empty where all are there.
std::optional<std::string> missing_file(Seeds seeds);

}  // namespace bentline::corpus
