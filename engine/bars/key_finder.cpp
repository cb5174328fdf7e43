// Key finding by correlation with key profiles.
#include "engine/bars/key_finder.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace bentline {

const KeyProfile major_profile = {6.35, 2.23, 3.48, 2.33, 4.38, 4.09,
                                  2.52, 5.19, 2.39, 3.66, 2.29, 2.88};
const KeyProfile minor_profile = {6.33, 2.68, 3.52, 5.38, 2.60, 3.53,
                                  2.54, 4.75, 3.98, 2.69, 3.34, 3.17};

namespace {

// Pearson's correlation of x with a profile whose tonic is pitch class `tonic`.
double correlation(const KeyProfile& x, const KeyProfile& profile, int tonic) {
    const double mean_x = std::accumulate(x.begin(), x.end(), 0.0) / 12.0;
    const double mean_p = std::accumulate(profile.begin(), profile.end(), 0.0) / 12.0;
    double xp = 0.0;
    double xx = 0.0;
    double pp = 0.0;
    for (int k = 0; k < 12; ++k) {
        const double a = x[static_cast<std::size_t>((k + tonic) % 12)] - mean_x;
        const double b = profile[static_cast<std::size_t>(k)] - mean_p;
        xp += a * b;
        xx += a * a;
        pp += b * b;
    }
    return xx > 0.0 ? xp / std::sqrt(xx * pp) : 0.0;
}

Key spelled(int tonic, bool minor) {
    // Fifths above C of the tonic's signature, brought between six flats and five sharps.
    int fifths = (tonic * 7 - (minor ? 3 : 0)) % 12;
    while (fifths > 5)
        fifths -= 12;
    while (fifths < -6)
        fifths += 12;
    return {fifths, minor};
}

}  // namespace

std::vector<KeyFit> fit_keys(const KeyProfile& durations) {
    std::vector<KeyFit> fits;
    for (int tonic = 0; tonic < 12; ++tonic) {
        fits.push_back({spelled(tonic, false), correlation(durations, major_profile, tonic)});
        fits.push_back({spelled(tonic, true), correlation(durations, minor_profile, tonic)});
    }
    std::stable_sort(fits.begin(), fits.end(), [](const KeyFit& a, const KeyFit& b) {
        return a.correlation > b.correlation;
    });
    return fits;
}

std::vector<KeyFit> fit_keys(const std::vector<Note>& notes) {
    if (notes.empty()) return {};
    KeyProfile durations{};
    for (const Note& n : notes) {
        durations[static_cast<std::size_t>(((n.key.value() % 12) + 12) % 12)] +=
            (n.offset - n.onset).value();
    }
    return fit_keys(durations);
}

}  // namespace bentline
