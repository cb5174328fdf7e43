// Weights of the evidence with the network, fitted by maximum likelihood to generated music
// (tests/pitch/fit_evidence.cpp): in the order of the measures in evidence.cpp, first for a sound
// alone, then for a crowd.
#pragma once

#include "engine/pitch/evidence.h"

namespace bentline {

inline constexpr EvidenceModel fitted_weights{
    {{0.666F,  0.591F,  0.618F,  -0.247F, -0.538F, 0.701F, 0.452F,  -0.806F, 0.509F,  -0.979F,
      1.958F,  0.340F,  -0.408F, 0.147F,  1.403F,  0.201F, -0.133F, 0.014F,  -0.288F, 0.692F,
      -0.048F, -0.143F, 1.011F,  -0.398F, 0.443F,  0.039F, 1.275F,  -0.248F, -0.747F, -0.989F,
      -0.412F, 0.522F,  -4.742F, -0.599F, -0.805F, 0.668F, 4.031F,  -2.740F, 4.679F,  -0.033F},
     {-0.666F, -0.512F, -0.503F, -0.246F, -3.782F, -0.344F, 0.693F, 0.464F, -1.158F, -0.002F,
      0.356F, -1.121F, -0.482F, 0.168F, 2.138F, 0.574F, 3.790F, 3.036F}},
    {{-0.058F, 0.300F,  0.556F,  0.378F, -0.188F, -0.052F, 0.349F,  -0.123F, 0.058F,  0.116F,
      -1.123F, 0.204F,  -0.055F, 0.019F, 0.277F,  -0.666F, -0.096F, 0.031F,  -0.124F, 2.224F,
      0.294F,  -0.058F, 1.912F,  2.278F, 0.084F,  0.019F,  -1.495F, -0.151F, -0.401F, -0.227F,
      -0.618F, 0.429F,  -4.296F, 0.024F, -0.427F, 0.241F,  1.580F,  1.182F,  2.064F,  -0.011F},
     {0.058F, -0.886F, -1.916F, 0.522F, 0.669F, -0.669F, -0.778F, 0.555F, -0.496F, -0.466F, -0.625F,
      -0.211F, -0.533F, -0.137F, -0.836F, -0.391F, 3.741F, 0.936F}}};

}  // namespace bentline
