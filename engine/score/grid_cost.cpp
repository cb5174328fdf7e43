// What a pulse's grid, its pattern and its neighbour cost.
#include "engine/score/grid_cost.h"

#include <bit>

namespace bentline {
namespace {

// How hard a pattern is to read and how seldom it is played, by which places of the grid are struck
// (bit 0: the beat itself). 1 is about e times as rare. Patterns that a simpler grid also has cost
// so much that the simpler grid writes them. Common practice, no source; the order of magnitude
// follows the beat patterns of jazz solos counted by ear.
double triplet_pattern(unsigned mask) {
    switch (mask) {
        case 0b111:
            return 0.9;
        case 0b110:
            return 1.8;
        case 0b011:
            return 2.4;
        case 0b010:
            return 3.2;
        case 0b101:  // swung eighths
        case 0b100:
            return 4.5;
        default:
            return no_pattern;
    }
}

double sixteenth_pattern(unsigned mask) {
    switch (mask) {
        case 0b1111:
            return 0.9;
        case 0b1101:
        case 0b0111:
            return 1.7;
        case 0b1110:
            return 1.9;
        case 0b1011:
            return 2.2;
        case 0b1100:
            return 2.4;
        case 0b1001:
            return 3.0;  // dotted eighth and sixteenth: swung eighths, mostly
        case 0b0011:
        case 0b0110:
            return 3.2;
        case 0b1010:
            return 3.6;
        case 0b1000:
        case 0b0010:
            return 3.8;
        default:
            return no_pattern;
    }
}

double sextuplet_pattern(unsigned mask) {
    const int count = std::popcount(mask);
    if (mask == 0b111111) return 1.8;
    if (mask == 0b111110) return 2.4;
    if (mask == 0b111001 || mask == 0b001111) return 2.6;  // a sixteenth triplet and an eighth
    if (mask == 0b111000 || mask == 0b000111) return 3.4;
    return count >= 4 ? 4.0 : no_pattern;
}

double quarter_triplet_pattern(unsigned mask) {
    switch (mask) {
        case 0b111:
            return 1.6;
        case 0b110:
        case 0b011:
            return 3.0;
        default:
            return no_pattern;
    }
}

double thirty_second_pattern(unsigned mask) {
    return mask & 0b10101010U ? 2.6 + 0.3 * (8 - std::popcount(mask)) : no_pattern;
}

// Compound pulses: three eighths; sixteenths are six.
double compound_sixteenth_pattern(unsigned mask) {
    const int odd = std::popcount(mask & 0b101010U);
    return odd == 0 ? no_pattern : 0.7 + 0.4 * (3 - odd) + 0.3 * (6 - std::popcount(mask));
}

}  // namespace

double pattern_cost(GridState state, bool compound, unsigned mask) {
    switch (state) {
        case swung:
            return 0.0;
        case straight:
            return mask & 0b10U ? 0.7 : no_pattern;
        case triplets:
            return triplet_pattern(mask);
        case sixteenths:
            return compound ? compound_sixteenth_pattern(mask) : sixteenth_pattern(mask);
        case sextuplets:
            return sextuplet_pattern(mask);
        case quarter_triplets:
            return quarter_triplet_pattern(mask);
        default:
            return thirty_second_pattern(mask);
    }
}

double change_cost(int before, int now) {
    const bool plain_before = before <= straight;
    const bool plain_now = now <= straight;
    if (plain_before && plain_now) return before == now ? 0.0 : 0.3;
    if (plain_before || plain_now) return 0.0;
    return before == now ? -0.3 : 0.5;
}

double rounded_square(double z) {
    return z < 2.5 ? 0.5 * z * z : 2.5 * z - 3.125;
}

}  // namespace bentline
