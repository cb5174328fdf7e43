// One line of music as ink: the staff with what belongs to it, the tablature, and both as a system.
//
// The staff's block has y 0 on its middle line, the tablature's on its first; engrave_system() sets
// them as close as their outlines allow. A window can use the same functions on places of its own.
// [any]
#pragma once

#include <vector>

#include "engine/export/engraving/block.h"
#include "engine/export/engraving/spacing.h"

namespace bentline::engraving {

inline constexpr double line_thickness = 0.1;
inline constexpr double stem_thickness = 0.13;
inline constexpr double tab_gap = 1.45;  // between two lines of the tablature
inline constexpr double small_type = 1.35;

// A head in its place on the staff.
struct PlacedHead {
    std::size_t bar = 0;  // index into the line's bars
    std::size_t event = 0;
    const Event* written = nullptr;
    const EventPlan* plan = nullptr;
    double x = 0.0;  // left edge
    double y = 0.0;
    bool up = true;  // the stem
    bool has_stem = true;
    double stem_x = 0.0;
    double stem_end = 0.0;
    bool beamed = false;
    const Head& head() const { return *written->head; }
    Owner owner(const LinePlace& line) const {
        return {line.bars[bar].measure, written->head->note};
    }
};
using Heads = std::vector<PlacedHead>;  // in order

// The head before the first one of a line; none at the score's beginning or behind a rest.
const Head* head_before(const Task& task, const LinePlace& line);
// The head behind its last one; none at the score's end or behind a rest.
const Head* head_after(const Task& task, const LinePlace& line);

// Heads of a line with stems and beams settled.
Heads place_heads(const Task& task, const LinePlace& line);

// Steps of the staff, in the order in which they take their room.
void draw_frame(Block& staff, const Task& task, const LinePlace& line);  // lines, clef, key, metre
void draw_heads(Block& staff, const Task& task, const LinePlace& line, const Heads& heads);
void draw_beams(Block& staff, const LinePlace& line, const Heads& heads);
void draw_rests(Block& staff, const Task& task, const LinePlace& line, const Heads& heads);
void draw_ties_and_slides(Block& staff, const Task& task, const LinePlace& line,
                          const Heads& heads);
void draw_articulations(Block& staff, const LinePlace& line, const Heads& heads);
void draw_tuplets(Block& staff, const Task& task, const LinePlace& line, const Heads& heads);
void draw_waves_and_trills(Block& staff, const Task& task, const LinePlace& line,
                           const Heads& heads);
void draw_dynamics(Block& staff, const Task& task, const LinePlace& line, const Heads& heads);
void draw_chords(Block& staff, const Task& task, const LinePlace& line);

Block engrave_staff(const Task& task, const LinePlace& line);
Block engrave_tab(const Task& task, const LinePlace& line);
// A bend's arrow from a point beside the struck note up to the height `top`, `way` to the right,
// and as far again where it is released; the figure stands over it.
void draw_bend(Block& block, const Task& task, Owner owner, const BendSign& bend, Point from,
               double middle, double top, double way = bend_reach);

// The whole line, its highest ink at y 0.
System engrave_system(const Task& task, const LinePlace& line);

// How far apart two blocks of ink must stand, the second below the first, so that nothing in them
// comes closer than `clear`: what to add to the second one's heights.
double distance(const std::vector<Mark>& upper, const std::vector<Mark>& lower, double clear);

}  // namespace bentline::engraving
