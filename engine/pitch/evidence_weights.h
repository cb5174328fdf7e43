// Weights of the evidence with the network, fitted by maximum likelihood to generated music
// (tests/pitch/fit_evidence.cpp): in the order of the measures in evidence.cpp, first for a sound
// alone, then for a crowd.
#pragma once

#include "engine/pitch/evidence.h"

namespace bentline {

inline constexpr EvidenceModel fitted_weights{
    {{0.357F,  0.977F,  0.808F,  -0.382F, -0.443F, 0.747F, 0.301F, -0.582F, 0.884F,  -0.594F,
      1.898F,  0.514F,  -0.770F, 0.302F,  1.376F,  0.553F, 0.095F, 0.430F,  -0.410F, 1.795F,
      -0.163F, -0.293F, 1.426F,  0.383F,  0.879F,  0.087F, 1.005F, -0.219F, -0.846F, -0.901F,
      -0.511F, 0.702F,  -4.806F, -0.350F, -0.303F, 0.513F, 3.777F, -2.138F, 3.545F,  -0.036F},
     {-0.357F, -0.220F, -0.384F, -1.094F, -3.852F, -0.090F, 0.368F, 0.494F, -1.283F, -0.260F,
      0.640F, -0.742F, -0.217F, -0.068F, 1.685F, 0.433F, 3.374F, 3.321F}},
    {{0.136F,  0.138F,  0.828F,  0.652F, 0.010F, -0.270F, -0.044F, -0.123F, 0.475F,  -0.007F,
      -1.496F, -0.439F, 0.108F,  0.097F, 0.176F, -0.196F, 0.055F,  0.160F,  -0.056F, 2.209F,
      -0.112F, -0.075F, 1.310F,  2.621F, 0.529F, 0.016F,  -1.011F, 0.311F,  -0.626F, -0.232F,
      -0.113F, -0.233F, -4.498F, 0.306F, 0.458F, 0.166F,  1.828F,  1.274F,  2.131F,  -0.024F},
     {-0.136F, -0.811F, -1.779F, -0.037F, 0.714F, -0.663F, -0.889F, 0.470F, -0.641F, -0.607F,
      -0.349F, -0.902F, -1.262F, -0.532F, -0.899F, -0.364F, 3.165F, 0.807F}}};

}  // namespace bentline
