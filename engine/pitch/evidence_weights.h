// Weights of the evidence with the network, fitted by maximum likelihood to generated music
// (tests/pitch/fit_evidence.cpp): in the order of the measures in evidence.cpp, first for a sound
// alone, then for a crowd.
#pragma once

#include "engine/pitch/evidence.h"

namespace bentline {

inline constexpr EvidenceModel fitted_weights{
    {{0.407F,  0.393F,  0.554F,  0.483F,  -0.316F, 0.572F, 0.464F,  -0.098F, 0.297F,  0.421F,
      -0.072F, -0.813F, 0.378F,  0.442F,  0.596F,  0.131F, -0.067F, 0.139F,  -0.458F, 1.626F,
      0.350F,  -0.085F, 1.058F,  1.754F,  -0.749F, 0.261F, 0.485F,  0.381F,  -0.710F, -0.440F,
      -0.772F, 0.490F,  -5.362F, -0.018F, 0.595F,  0.033F, 3.001F,  -0.381F, 2.320F,  -0.093F},
     {-0.407F, -0.245F, 0.628F, -0.381F, -1.871F, -0.387F, 0.494F, 0.270F, -0.202F, 0.597F, 0.249F,
      -0.295F, 0.128F, -0.084F, 0.536F, -0.117F, 4.340F, 1.561F}},
    {{0.151F,  1.115F,  1.112F,  -0.255F, -0.147F, -0.487F, 0.755F,  0.238F,  0.271F,  -0.279F,
      -0.781F, -0.244F, 0.753F,  -0.024F, 0.007F,  -1.239F, 0.087F,  -0.155F, 0.036F,  1.304F,
      0.238F,  0.048F,  0.693F,  1.753F,  2.256F,  -0.092F, -0.318F, -0.401F, -1.012F, 0.236F,
      -0.139F, 0.848F,  -6.519F, -0.831F, -2.062F, -0.308F, 2.311F,  1.779F,  2.042F,  -0.092F},
     {-0.151F, -0.553F, -0.233F, -0.261F, 0.107F, -0.640F, -0.560F, 0.537F, -0.843F, -0.856F,
      -0.225F, -1.071F, -0.745F, -0.650F, 0.220F, 0.114F, 2.321F, 0.810F}}};

}  // namespace bentline
