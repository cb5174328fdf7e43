// Where a bar may be cut: groups of beats, tuplet zones, and the pieces that one length falls into.
// Inner part of notate.h.
#pragma once

#include <optional>
#include <vector>

#include "engine/score/quantise.h"
#include "engine/score/score.h"

namespace bentline {

// A stretch of a bar written as one tuplet. Ticks from the bar's first beat.
struct TupletZone {
    std::int64_t from = 0;
    std::int64_t to = 0;
    int actual = 3;
    int normal = 2;
};

// One head or rest.
struct Piece {
    std::int64_t from = 0;
    std::int64_t to = 0;
    NoteShape shape;
    int zone = -1;  // index of its tuplet zone
};

class BarGrid {
  public:
    // boundaries: where notes begin or end in the bar, ticks from its first beat.
    BarGrid(const Metre& metre, const std::vector<Pulse>& pulses,
            const std::vector<std::int64_t>& boundaries);

    const std::vector<TupletZone>& zones() const { return zones_; }
    std::int64_t length() const { return length_; }
    std::int64_t pulse() const { return pulse_; }
    bool compound() const { return compound_; }
    // Start of the group of beats that holds a place: half bars in 4/4.
    std::int64_t group_start(std::int64_t at) const;
    std::int64_t group_end(std::int64_t at) const;
    int zone_at(std::int64_t at) const;

    // The pieces of [from, to), tied if it is a note.
    std::vector<Piece> note_pieces(std::int64_t from, std::int64_t to) const;
    std::vector<Piece> rest_pieces(std::int64_t from, std::int64_t to) const;

  private:
    void find_zones(const std::vector<Pulse>& pulses, const std::vector<std::int64_t>& boundaries);
    std::optional<Piece> zone_piece(std::int64_t from, std::int64_t to) const;
    std::int64_t stop_before_zone(std::int64_t from, std::int64_t to) const;
    std::int64_t note_end(std::int64_t from, std::int64_t to) const;
    std::int64_t compound_note_end(std::int64_t from, std::int64_t to) const;
    std::int64_t rest_end(std::int64_t from, std::int64_t to) const;

    std::int64_t length_ = 0;
    std::int64_t pulse_ = 480;
    bool compound_ = false;
    std::vector<std::int64_t> groups_;  // starts, and the end
    std::vector<TupletZone> zones_;
};

// The shape of a plain length: whole to 128th, at most one dot. Empty where there is none.
std::optional<NoteShape> plain_shape(std::int64_t ticks);

}  // namespace bentline
