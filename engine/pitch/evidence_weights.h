// Weights of the evidence, fitted by maximum likelihood to generated music: in the order of the
// measures in evidence.cpp, first for a sound alone, then for a crowd.
#pragma once

#include "engine/pitch/evidence.h"

namespace bentline {

inline constexpr EvidenceModel fitted_weights{
    {{1.034F,  3.520F, 1.296F,  -0.316F, -0.082F, 0.849F,  0.663F,  -1.190F, 0.239F,  0.885F,
      0.508F,  3.068F, -2.960F, -0.833F, 0.194F,  -4.497F, -0.591F, 0.123F,  -0.168F, -2.511F,
      -1.394F, 0.121F, -0.184F, -3.059F, 0.329F,  -0.069F, 1.234F,  -1.641F, 0.224F,  -1.329F},
     {-1.034F, -0.628F, 0.449F, -0.370F, -4.078F, 0.723F, 0.616F, 1.148F, -1.504F, -0.867F, -0.055F,
      -0.152F, 0.845F, 0.531F, 0.409F, 0.277F}},
    {{0.412F,  1.749F, 0.901F,  -0.258F, 0.340F,  0.005F,  1.943F,  0.195F,  -1.007F, 0.656F,
      -2.326F, 3.004F, -2.845F, -1.800F, 0.243F,  -8.457F, -0.933F, 1.559F,  -0.391F, 0.782F,
      -5.469F, 0.024F, 0.579F,  4.227F,  -3.405F, 0.537F,  0.085F,  -0.782F, 2.952F,  -1.215F},
     {-0.412F, -1.505F, -1.446F, 0.085F, -2.809F, -0.765F, -0.248F, -0.169F, -0.827F, -0.218F,
      -0.526F, -3.067F, -2.733F, -0.213F, 0.426F, -0.288F}}};

}  // namespace bentline
