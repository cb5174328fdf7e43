// A random source for test material: the same numbers from the same seed on every machine.
//
// The standard library fixes its engines but not its distributions; this fixes both. SplitMix64
// (Steele, Lea & Flood 2014, figure 16): passes the usual batteries, one 64-bit word of state.
#pragma once

#include <cassert>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <span>

namespace bentline::testing {

class Dice {
  public:
    explicit Dice(std::uint64_t seed) : state_(seed * 0x9E3779B97F4A7C15ULL + 0x1234567ULL) {
        next();
        next();
    }

    std::uint64_t next() {
        std::uint64_t z = (state_ += 0x9E3779B97F4A7C15ULL);
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
        return z ^ (z >> 31);
    }
    // Uniform in [0, 1).
    double unit() { return static_cast<double>(next() >> 11) * 0x1.0p-53; }
    // Uniform in [low, high).
    double between(double low, double high) { return low + (high - low) * unit(); }
    // Uniform whole number in [low, high], both included.
    int whole(int low, int high) {
        assert(low <= high);
        const auto n = static_cast<std::uint64_t>(high - low) + 1;
        return low + static_cast<int>(next() % n);
    }
    bool chance(double probability) { return unit() < probability; }
    // Normal, mean 0, standard deviation 1 (Box & Muller 1958).
    double normal() {
        const double radius = std::sqrt(-2.0 * std::log(1.0 - unit()));
        return radius * std::cos(2.0 * std::numbers::pi * unit());
    }
    template <class T>
    const T& pick(std::span<const T> from) {
        return from[static_cast<std::size_t>(whole(0, static_cast<int>(from.size()) - 1))];
    }
    template <class T, std::size_t N>
    const T& pick(const T (&from)[N]) {
        return pick(std::span<const T>(from));
    }
    // An independent source for one part of the material, so that a change in one part does not
    // shift the numbers of another.
    Dice branch(std::uint64_t name) { return Dice(next() ^ (name * 0xD1342543DE82EF95ULL)); }

  private:
    std::uint64_t state_;
};

}  // namespace bentline::testing
