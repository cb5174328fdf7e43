// Cuts lengths where a reader needs to see the metre.
#include "engine/score/bar_grid.h"

#include <algorithm>

#include "engine/score/pulses.h"

namespace bentline {
namespace {

// Groups of two beats, with one of three where the count is odd: at the front in five, at the end
// in seven.
std::vector<std::int64_t> group_starts(const Metre& metre, std::int64_t unit) {
    std::vector<std::int64_t> starts{0};
    const auto add = [&](std::int64_t beats) { starts.push_back(starts.back() + beats * unit); };
    if (metre.compound()) {
        for (int i = 0; i < metre.beats_per_bar(); ++i)
            add(3);
        return starts;
    }
    int left = metre.count;
    if (metre.unit == 2) {  // half-note beats are groups of their own
        for (; left > 0; --left)
            add(1);
        return starts;
    }
    if (left == 6) {
        add(3);
        add(3);
        return starts;
    }
    if (left == 5) {
        add(3);
        left = 2;
    }
    while (left > 3) {
        add(2);
        left -= 2;
    }
    add(left);
    return starts;
}

std::int64_t next_multiple(std::int64_t at, std::int64_t step) {
    return (at / step + 1) * step;
}
std::int64_t last_multiple_before(std::int64_t at, std::int64_t step) {
    return (at - 1) / step * step;
}

}  // namespace

std::optional<NoteShape> plain_shape(std::int64_t ticks) {
    for (int denominator = 1; denominator <= 128; denominator *= 2) {
        for (int dots = 0; dots <= 1; ++dots) {
            const NoteShape shape{denominator, dots};
            if (length_of(shape).value() == ticks) return shape;
        }
    }
    return std::nullopt;
}

BarGrid::BarGrid(const Metre& metre, const std::vector<Pulse>& pulses,
                 const std::vector<std::int64_t>& boundaries)
    : length_(bar_length(metre).value()),
      pulse_(pulses.front().length.value()),
      compound_(metre.compound()),
      groups_(group_starts(metre, 4 * quarter.value() / metre.unit)) {
    find_zones(pulses, boundaries);
}

void BarGrid::find_zones(const std::vector<Pulse>& pulses,
                         const std::vector<std::int64_t>& boundaries) {
    if (compound_) return;
    const std::int64_t bar = pulses.front().start.value();
    for (const Pulse& p : pulses) {
        const std::int64_t from = p.start.value() - bar;
        if (p.grid == Grid::second_of_pair) continue;
        // A quarter triplet spans two pulses; its half is one.
        const bool wide = p.grid == Grid::quarter_triplets;
        const std::int64_t half = wide ? p.length.value() : p.length.value() / 2;
        bool middle = false;
        bool odd[2] = {false, false};  // something off the halving grid in either half
        for (const std::int64_t b : boundaries) {
            const std::int64_t within = b - from;
            if (within <= 0 || within >= 2 * half) continue;
            if (within == half) middle = true;
            if (within % (p.length.value() / 8) != 0) odd[within > half] = true;
        }
        if (!odd[0] && !odd[1]) continue;
        if (p.grid == Grid::sextuplets && middle && odd[0] != odd[1]) {
            const std::int64_t start = odd[0] ? from : from + half;
            zones_.push_back({start, start + half, 3, 2});
        } else if (p.grid == Grid::sextuplets) {
            zones_.push_back({from, from + 2 * half, 6, 4});
        } else {
            zones_.push_back({from, from + 2 * half, 3, 2});
        }
    }
}

std::int64_t BarGrid::group_start(std::int64_t at) const {
    return *(std::upper_bound(groups_.begin(), groups_.end() - 1, at) - 1);
}

std::int64_t BarGrid::group_end(std::int64_t at) const {
    return *std::upper_bound(groups_.begin(), groups_.end() - 1, at);
}

int BarGrid::zone_at(std::int64_t at) const {
    for (std::size_t i = 0; i < zones_.size(); ++i) {
        if (zones_[i].from <= at && at < zones_[i].to) return static_cast<int>(i);
    }
    return -1;
}

std::int64_t BarGrid::stop_before_zone(std::int64_t from, std::int64_t to) const {
    for (const TupletZone& z : zones_) {
        if (from < z.from && z.from < to) return z.from;
    }
    return to;
}

// The first piece of [from, to) inside a tuplet: its looks are longer than its sound.
std::optional<Piece> BarGrid::zone_piece(std::int64_t from, std::int64_t to) const {
    const int zone = zone_at(from);
    if (zone < 0) return std::nullopt;
    const TupletZone& z = zones_[static_cast<std::size_t>(zone)];
    std::int64_t end = std::min(to, z.to);
    while (end > from) {
        if (const auto shape = plain_shape((end - from) * z.actual / z.normal)) {
            return Piece{from, end, *shape, zone};
        }
        end -= (z.to - z.from) / z.actual;
    }
    return std::nullopt;
}

std::int64_t BarGrid::compound_note_end(std::int64_t from, std::int64_t to) const {
    const std::int64_t group = group_end(from);
    const std::int64_t eighth = pulse_ / 3;
    if (to > group) {
        // Whole beats from a beat on; in 12/8 the middle of the bar stays visible.
        const std::int64_t half = length_ == 4 * pulse_ ? 2 * pulse_ : length_;
        const std::int64_t limit = from == 0 ? length_ : from < half ? half : length_;
        std::int64_t end = std::min(to, limit) / pulse_ * pulse_;
        if (from % pulse_ != 0) return group;
        while (end > group && !plain_shape(end - from))
            end -= pulse_;
        return std::max(end, group);
    }
    if (plain_shape(to - from)) return to;
    return from % eighth != 0 ? next_multiple(from, eighth) : last_multiple_before(to, eighth);
}

// How far the first head of [from, to) may reach; plain time, no tuplet inside.
std::int64_t BarGrid::note_end(std::int64_t from, std::int64_t to) const {
    if (compound_) return compound_note_end(from, to);
    const std::int64_t half_pulse = pulse_ / 2;
    const bool on_beat = from % pulse_ == 0;
    // Finer than half a beat: every beat shows.
    if (from % half_pulse != 0) to = std::min(to, next_multiple(from, pulse_));
    if (to % half_pulse != 0 && last_multiple_before(to, pulse_) > from)
        to = last_multiple_before(to, pulse_);
    if (to > group_end(from)) {
        const bool whole_beats = on_beat && to % pulse_ == 0 && plain_shape(to - from).has_value();
        const bool four_four = groups_.size() == 3 && length_ == 4 * pulse_;
        const bool from_group = from == group_start(from) && to == group_end(to - 1);
        if (!whole_beats || !(four_four || from_group)) to = group_end(from);
    }
    const std::int64_t longest_off_beat = 3 * half_pulse;
    if (!on_beat && to - from > longest_off_beat) return next_multiple(from, pulse_);
    if (plain_shape(to - from)) return to;
    const std::int64_t beat = last_multiple_before(to, pulse_);
    if (beat > from) return on_beat ? beat : next_multiple(from, pulse_);
    // Inside one beat: to the half, or by sixteenths.
    const std::int64_t half = next_multiple(from, half_pulse);
    return half < to ? half : std::max(from + 1, last_multiple_before(to, half_pulse / 4));
}

std::int64_t BarGrid::rest_end(std::int64_t from, std::int64_t to) const {
    const std::int64_t group = group_end(from);
    to = std::min(to, group);
    if (compound_) {
        const std::int64_t eighth = pulse_ / 3;
        if (from % pulse_ == 0 && to == group) return to;
        if (from % pulse_ == 0 && to - from >= 2 * eighth) return from + 2 * eighth;
        return from % eighth != 0 ? std::min(to, next_multiple(from, eighth))
                                  : std::min(to, from + eighth);
    }
    const bool starts_group = from == group_start(from);
    if (starts_group && to == group && group - from == 2 * pulse_) return to;
    if (from % pulse_ == 0 && to - from >= pulse_) return from + pulse_;
    to = std::min(to, next_multiple(from, pulse_));
    if (from % (pulse_ / 2) != 0)
        to = std::min(to, next_multiple(from, pulse_ / 2));
    else if (to - from > pulse_ / 2)
        to = from + pulse_ / 2;
    for (std::int64_t step = pulse_ / 2; step > 1 && to - from < pulse_ / 2; step /= 2) {
        if (step <= to - from) return from + step;
    }
    return to;
}

std::vector<Piece> BarGrid::note_pieces(std::int64_t from, std::int64_t to) const {
    std::vector<Piece> pieces;
    while (from < to) {
        if (const auto piece = zone_piece(from, to)) {
            pieces.push_back(*piece);
        } else {
            const std::int64_t end = note_end(from, stop_before_zone(from, to));
            pieces.push_back({from, end, plain_shape(end - from).value_or(NoteShape{64, 0}), -1});
        }
        from = pieces.back().to;
    }
    return pieces;
}

std::vector<Piece> BarGrid::rest_pieces(std::int64_t from, std::int64_t to) const {
    std::vector<Piece> pieces;
    while (from < to) {
        if (const auto piece = zone_piece(from, to)) {
            pieces.push_back(*piece);
        } else {
            const std::int64_t end = rest_end(from, stop_before_zone(from, to));
            pieces.push_back({from, end, plain_shape(end - from).value_or(NoteShape{64, 0}), -1});
        }
        from = pieces.back().to;
    }
    return pieces;
}

}  // namespace bentline
