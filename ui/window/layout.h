// Where each part of the window lies. Pure; tests check that nothing overlaps or falls off.
#pragma once

#include <algorithm>

#include "engine/units.h"

namespace bentline::window {

// A rectangle on screen, pixels, y downward.
struct Box {
    float x0 = 0, y0 = 0, x1 = 0, y1 = 0;
    float w() const { return x1 - x0; }
    float h() const { return y1 - y0; }
    float mid_x() const { return 0.5F * (x0 + x1); }
    float mid_y() const { return 0.5F * (y0 + y1); }
    bool holds(float x, float y) const { return x >= x0 && x < x1 && y >= y0 && y < y1; }
    Box inset(float dx, float dy) const { return {x0 + dx, y0 + dy, x1 - dx, y1 - dy}; }
};

struct Layout {
    Box heading;      // the sheet's name, files
    Box overview;     // the whole recording
    Box margin;       // one line: progress, what went wrong, what can be done next
    Box chart;        // the chorus, four bars a line
    Box bench;        // the whole sheet on the right; all but the stage lie on it
    Box counting;     // bars and beats above the grid; loops are drawn here
    Box names;        // row names, neck marks, register bracket
    Box grid;         // the pitch line and the notes
    Box signature;    // clef and key of the manuscript, under the names
    Box manuscript;   // staff and tablature, under the grid and in time with it; else empty
    Box stage;        // where on the stage: on the line of the margin, over the bench
    Box slip;         // everything about the picked note
    Box transport;    // playing
    float space = 6;  // of the manuscript's staff, pixels
};

// width, height: pixels; scale: pixels a point. Made for 1280 x 720 points and more; below 960 x
// 600 the chart folds away (width 0). manuscript: it is shown; needs: how high it must be, points,
// at its smallest size; on a high window it is larger.
inline constexpr float manuscript_height = 138.0F;
Layout lay_out(float width, float height, float scale, bool manuscript = false,
               float needs = manuscript_height);

// How large a staff space of the manuscript is drawn at least, points.
inline constexpr float staff_space = 6.0F;

// Time and pitch on the grid.
struct Axes {
    Box box;
    SecondsRange look;
    Range<int> rows;

    float row_height() const {
        return box.h() / static_cast<float>(std::max(1, rows.to - rows.from));
    }
    float pixels_a_second() const {
        return box.w() / static_cast<float>((look.to - look.from).value());
    }
    float x(Seconds t) const {
        return box.x0 + static_cast<float>((t - look.from).value()) * pixels_a_second();
    }
    Seconds time(float x) const {
        return look.from + Seconds(static_cast<double>((x - box.x0) / pixels_a_second()));
    }
    // The middle of a key's row for a whole number.
    float y(Pitch p) const {
        return box.y1 - (static_cast<float>(p.value() - rows.from) + 0.5F) * row_height();
    }
    Pitch pitch(float y) const {
        return Pitch(static_cast<double>((box.y1 - y) / row_height() - 0.5F) + rows.from);
    }
};

}  // namespace bentline::window
