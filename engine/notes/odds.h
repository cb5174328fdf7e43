// From the weights of models against each other to a confidence.
#pragma once

#include <algorithm>
#include <cmath>

namespace bentline::notes {

// The probability (0 to 1) that goes with log odds, natural; held to ±6, since no model of an
// inflection is surer than one in four hundred.
inline double confidence_of(double odds) {
    return 1.0 / (1.0 + std::exp(-std::clamp(odds, -6.0, 6.0)));
}

}  // namespace bentline::notes
