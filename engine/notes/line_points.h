// The points of a stretch of the fine line that count, for fits of moving pitch. Private to them.
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

#include "engine/notes/fine_line.h"

namespace bentline::notes {

// Times in seconds, heights in cents, weights above 0 and their sum.
struct Points {
    std::vector<double> t, y, w;
    double weight = 0.0;
};

// Of [from, to): where the line is voiced and weighs something.
inline Points gather(const FineLine& line, const std::vector<double>& weights, std::size_t from,
                     std::size_t to) {
    Points p;
    for (std::size_t i = from; i < std::min(to, line.size()); ++i) {
        if (!line.voiced[i] || weights[i] <= 0.0) continue;
        p.t.push_back(line.time_of(i));
        p.y.push_back(line.cents[i]);
        p.w.push_back(weights[i]);
        p.weight += weights[i];
    }
    return p;
}

}  // namespace bentline::notes
