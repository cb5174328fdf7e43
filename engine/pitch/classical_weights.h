// Weights of the evidence without the network, fitted by maximum likelihood to generated music: in
// the order of the measures in evidence.cpp, first for a sound alone, then for a crowd.
#pragma once

#include "engine/pitch/evidence.h"

namespace bentline {

inline constexpr EvidenceModel classical_weights{
    {{0.386F,  3.489F,  1.309F,  -0.436F, -0.191F, 0.517F,   0.433F,  -0.943F, 0.541F,
      0.861F,  1.176F,  2.910F,  -3.201F, -0.498F, 0.452F,   -2.997F, 0.254F,  0.201F,
      0.065F,  -1.951F, -0.378F, 0.077F,  0.406F,  1.735F,   0.479F,  -0.242F, 1.054F,
      -1.458F, 0.169F,  -1.503F, -0.002F, 0.697F,  -10.830F, -0.975F, -1.680F, -0.296F},
     {-0.386F, -0.613F, 0.183F, -0.646F, -3.239F, 0.651F, 0.758F, 1.264F, -1.966F, -0.530F, -0.298F,
      0.169F, 0.917F, 0.668F, 0.819F, 0.202F}},
    {{0.113F, 1.866F,  0.813F,  -0.043F, -0.555F, 0.117F,  1.049F,  0.048F,  -0.400F,
      0.772F, -2.026F, 2.581F,  -2.084F, -1.653F, 0.916F,  -5.309F, -0.816F, 1.175F,
      0.149F, -0.766F, -1.885F, -0.575F, 1.284F,  8.133F,  -1.257F, 0.677F,  0.977F,
      0.283F, 2.503F,  -1.512F, 1.060F,  0.466F,  -4.392F, -0.334F, -4.061F, -0.370F},
     {-0.113F, -1.095F, -2.724F, -0.049F, -3.086F, -0.737F, 0.499F, -0.208F, -0.977F, -0.141F,
      -0.274F, -1.936F, -2.257F, 0.508F, 0.447F, -0.393F}}};

}  // namespace bentline
