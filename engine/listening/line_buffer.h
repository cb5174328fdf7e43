// A window on the line: the frames around the present place, read once from a FrameSource and kept.
#pragma once

#include <array>
#include <cassert>
#include <cstdint>
#include <span>
#include <vector>

#include "engine/listening/frame_source.h"

namespace bentline {

// A ring that holds the last `capacity` frames read, addressed by line place. Allocates in the
// constructor only. [audio]
class LineBuffer {
  public:
    LineBuffer(int channels, std::size_t capacity);

    // Empties it; the next frame to be read is `from`.
    void restart(std::int64_t from);
    // Forgets what lies at and after `from`, so that it is read again.
    void forget(std::int64_t from);
    // Reads on until `to` is reached. to - (oldest frame still wanted) must be within the capacity.
    void fill(FrameSource& line, std::int64_t to);

    std::int64_t begin() const { return begin_; }  // oldest frame held
    std::int64_t end() const { return end_; }      // one past the newest
    int channels() const { return static_cast<int>(rings_.size()); }

    // Frame `at` of channel c; silence outside [begin, end).
    float at(std::size_t c, std::int64_t at) const {
        return at < begin_ || at >= end_ ? 0.0F : rings_[c][index(at)];
    }
    // Copies [from, from + out.size()), silence outside what is held.
    void copy(std::size_t c, std::int64_t from, std::span<float> out) const;

  private:
    std::size_t index(std::int64_t at) const {
        return static_cast<std::size_t>(at) &
               mask_;  // a power of two: right for negative places too
    }

    std::vector<std::vector<float>> rings_;
    std::size_t mask_;
    std::int64_t begin_ = 0;
    std::int64_t end_ = 0;
};

}  // namespace bentline
