// Weights of the evidence, fitted by maximum likelihood to generated music: in the order of the
// measures in evidence.cpp, first for a sound alone, then for a crowd.
#pragma once

#include "engine/pitch/evidence.h"

namespace bentline {

inline constexpr EvidenceModel fitted_weights{{{0.660F, 2.910F, 1.546F, -0.353F, -0.212F, 0.872F, 0.754F, -0.774F, 0.322F, 0.941F, 0.736F, 3.161F, -2.874F, -0.631F, 0.367F, -1.832F, -0.279F, -0.061F, 0.048F, -3.606F, -0.477F, 0.112F, 0.656F, 1.452F, 0.001F, -0.099F, 1.331F, -1.004F, -0.221F, -1.445F, 0.189F, 0.320F, -10.671F, -0.989F, -3.498F, -0.256F}, {-0.660F, -0.636F, 0.293F, -0.838F, -3.800F, 0.253F, 0.712F, 0.824F, -1.508F, -0.716F, 0.127F, 0.210F, 0.998F, 0.689F, 0.380F, 0.361F}}, {{0.408F, 1.840F, 0.890F, -0.486F, -0.204F, -0.120F, 1.616F, 0.410F, -0.622F, 0.556F, -1.746F, 3.218F, -2.499F, -1.507F, 0.351F, -4.133F, -1.108F, 1.324F, -0.164F, 0.285F, -2.055F, -0.478F, 0.915F, 6.471F, -1.354F, 0.569F, 0.271F, -0.629F, 2.412F, -1.344F, 1.726F, -0.121F, -5.284F, -0.129F, -6.489F, -0.561F}, {-0.408F, -1.057F, -2.422F, 0.159F, -2.265F, -0.580F, -0.326F, 0.169F, -0.609F, -0.412F, -0.617F, -2.858F, -2.699F, 0.552F, -0.114F, -0.284F}}};

}  // namespace bentline
