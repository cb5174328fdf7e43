// The ring behind LineBuffer.
#include "engine/listening/line_buffer.h"

#include <algorithm>
#include <bit>

namespace bentline {

LineBuffer::LineBuffer(int channels, std::size_t capacity)
    : rings_(static_cast<std::size_t>(channels)), mask_(std::bit_ceil(capacity) - 1) {
    assert(channels == 1 || channels == 2);
    for (auto& r : rings_)
        r.assign(mask_ + 1, 0.0F);
}

void LineBuffer::restart(std::int64_t from) {
    begin_ = end_ = from;
}

void LineBuffer::forget(std::int64_t from) {
    end_ = std::clamp(from, begin_, end_);
}

void LineBuffer::fill(FrameSource& line, std::int64_t to) {
    while (end_ < to) {
        const std::size_t start = index(end_);
        const std::size_t count = std::min(static_cast<std::size_t>(to - end_), mask_ + 1 - start);
        std::array<float*, 2> out{};
        for (std::size_t c = 0; c < rings_.size(); ++c)
            out[c] = rings_[c].data() + start;
        line.read(Frames(end_), count, std::span(out.data(), rings_.size()));
        end_ += static_cast<std::int64_t>(count);
    }
    begin_ = std::max(begin_, end_ - static_cast<std::int64_t>(mask_ + 1));
}

void LineBuffer::copy(std::size_t c, std::int64_t from, std::span<float> out) const {
    for (std::size_t i = 0; i < out.size();) {
        const std::int64_t p = from + static_cast<std::int64_t>(i);
        if (p < begin_ || p >= end_) {
            const std::int64_t stop = p < begin_ && begin_ < end_ ? begin_ : INT64_MAX;
            const auto gap = static_cast<std::size_t>(
                std::min<std::int64_t>(stop - p, static_cast<std::int64_t>(out.size() - i)));
            std::fill_n(out.begin() + static_cast<std::ptrdiff_t>(i), gap, 0.0F);
            i += gap;
            continue;
        }
        const std::size_t start = index(p);
        const std::size_t count =
            std::min({out.size() - i, static_cast<std::size_t>(end_ - p), mask_ + 1 - start});
        std::copy_n(rings_[c].begin() + static_cast<std::ptrdiff_t>(start), count,
                    out.begin() + static_cast<std::ptrdiff_t>(i));
        i += count;
    }
}

}  // namespace bentline
