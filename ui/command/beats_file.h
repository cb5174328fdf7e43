// A file of beats, in the machine-readable form that the beat follower writes and a user may write
// by hand: { "beats": [s …], "downbeats": [s …], "beats_per_bar": 4, "metre": "4/4" }.
#pragma once

#include <filesystem>
#include <optional>

#include "engine/bars/bar_map.h"
#include "engine/result.h"

namespace bentline::command {

// The bar map of a beats file: bar 1 begins at the first downbeat, or at the beat nearest to
// `bar_one`. `metre` overrides the file's metre, or its beats_per_bar (which is counted in
// quarters); without either, 4/4. Fails as reading a file does, and with out_of_range where the
// file is no such JSON, has fewer than two beats, or beats out of order.
Result<BarMap> read_beats_file(const std::filesystem::path& path, const std::optional<Metre>& metre,
                               const std::optional<Seconds>& bar_one = {});

}  // namespace bentline::command
