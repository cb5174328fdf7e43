// Finds attacks on the line, to the frame, ahead of the place where they are needed.
//
// In each of several frequency bands the level of a short frame is compared with the loudest of the
// 20 ms before it, so that neither beating partials nor a low string's own period count as a rise.
// Where enough bands rise at once there is an attack; its first frame is then found in the time
// domain.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "engine/listening/line_buffer.h"
#include "engine/transform/fft.h"

namespace bentline {

struct AttackSettings {
    Seconds frame{0.0058};  // length of a level frame
    Seconds hop{0.00145};   // between them
    Seconds past{0.022};    // how far back a level must be exceeded; two periods of 90 Hz
    Decibels rise{4.0};     // mean rise over the bands that makes an attack
    Decibels floor{-75.0};  // levels below this count as this
    Seconds apart{0.025};   // no two attacks closer than this
};

class AttackFinder {
  public:
    // Allocates. [any]
    AttackFinder(SampleRate rate, const AttackSettings& settings = {});

    // Forgets all; the line begins at `from`.
    void restart(std::int64_t from);
    // Forgets what was found at and after `from`.
    void forget(std::int64_t from);
    // Looks as far as the buffer's content allows. Attacks before known() are final. [audio]
    void look(const LineBuffer& line);
    std::int64_t known() const { return known_; }
    // How many frames beyond a place must be in the buffer for known() to reach it.
    std::int64_t reach() const { return reach_; }

    // The first attack at or after `from`, or none before known().
    static constexpr std::int64_t none = INT64_MAX;
    std::int64_t next(std::int64_t from) const;
    // The last attack at or before `at`, or -none.
    std::int64_t last(std::int64_t at) const;

  private:
    static constexpr std::size_t bands = 12;
    static constexpr std::size_t history = 64;
    using Levels = std::array<float, bands>;

    Levels measure(const LineBuffer& line, std::int64_t centre);
    float rise(std::int64_t hop_index) const;
    std::int64_t first_frame(const LineBuffer& line, std::int64_t about);

    AttackSettings settings_;
    std::int64_t hop_;
    std::int64_t size_;
    std::int64_t past_hops_;
    std::int64_t apart_;
    std::int64_t reach_;
    RealFft fft_;
    std::vector<float> window_;
    std::vector<float> frame_;
    std::vector<std::complex<float>> spectrum_;
    std::array<std::size_t, bands + 1> edges_{};
    std::array<Levels, history> levels_{};  // by hop index
    std::array<float, history> rises_{};
    std::int64_t next_hop_ = 0;  // hop index to measure next
    std::int64_t first_hop_ = 0;
    std::array<std::int64_t, 32> found_{};  // ring of the latest attacks
    std::size_t found_count_ = 0;
    std::int64_t known_ = 0;
};

}  // namespace bentline
