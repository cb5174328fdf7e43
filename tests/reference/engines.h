// The engines compared: our own and three of general-purpose libraries, each slowing whole sounds.
#pragma once

#include <string>
#include <vector>

#include "tests/reference/materials.h"

namespace bentline::reference {

enum class Engine { own, rubberband_r2, rubberband_r3, soundtouch };
inline constexpr Engine engines[] = {Engine::own, Engine::rubberband_r2, Engine::rubberband_r3,
                                     Engine::soundtouch};
std::string name(Engine e);

// Slows a mono or stereo sound to round(frames / speed) frames; what an engine gives less is
// silence. The libraries run with all the sound known beforehand, which is their better way.
// `given`, when not null, receives the number of frames that the engine gave.
std::vector<Signal> slow(Engine e, const std::vector<Signal>& in, double speed,
                         std::size_t* given = nullptr);
Signal slow(Engine e, const Signal& in, double speed);

}  // namespace bentline::reference
