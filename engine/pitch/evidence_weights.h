// Weights of the evidence, fitted by maximum likelihood to generated music: in the order of the
// measures in evidence.cpp, first for a sound alone, then for a crowd.
#pragma once

#include "engine/pitch/evidence.h"

namespace bentline {

inline constexpr EvidenceModel fitted_weights{{{0.865F, 4.100F, 1.491F, -0.173F, -0.193F, 1.328F, 0.444F, -1.437F, 0.252F, 0.893F, 1.179F, 3.808F, -3.142F, 0.267F, -1.675F, -3.693F, 0.284F, 0.777F, -0.425F, -2.088F, -0.889F, 0.428F, 0.381F, -7.991F, 0.594F, -0.287F, 0.932F, -1.602F, -0.078F, -3.519F}, {-0.865F, -0.611F, 0.712F, -0.010F, -3.254F, 1.565F, 0.918F, 1.891F, -2.092F, -0.603F, -0.504F, -0.973F, -0.243F, 0.264F, 1.028F, 0.167F}}, {{-0.381F, 2.275F, 1.751F, -1.051F, -1.007F, 0.369F, 1.464F, -0.562F, 0.357F, 0.347F, -2.502F, 3.316F, -5.303F, -2.550F, -0.554F, -9.352F, 0.303F, 0.886F, -0.051F, -2.834F, -3.901F, 0.070F, 0.806F, 5.110F, -1.307F, 0.287F, -1.532F, -0.146F, 3.470F, -2.550F}, {0.381F, -1.805F, 1.162F, 0.229F, -4.063F, -0.919F, -0.611F, -1.294F, -0.784F, -0.227F, 0.447F, -3.916F, -4.254F, -0.304F, -0.396F, -1.010F}}};

}  // namespace bentline
