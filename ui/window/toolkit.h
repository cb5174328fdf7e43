// The toolkit's context for one window: made, given our type, and taken down again.
#pragma once

#include <set>

#include "ui/window/raster.h"
#include "ui/window/scratch.h"
#include "ui/window/state.h"

struct ImGuiContext;

namespace bentline::window {

// One at a time. [window]
class Toolkit {
  public:
    // Makes a context and loads the type at `scale` pixels a point.
    explicit Toolkit(float scale);
    ~Toolkit();
    Toolkit(const Toolkit&) = delete;
    Toolkit& operator=(const Toolkit&) = delete;

    // Loads the type anew at another scale; the shell must then send the texture again.
    void rescale(float scale);
    // Loads letters that were found wanting, once each. True: the type is new, send the texture
    // again.
    bool learn(const std::set<char16_t>& letters);
    const Fonts& fonts() const { return fonts_; }
    // The font atlas as pixels; valid until the next rescale.
    TextureView texture() const;

  private:
    ImGuiContext* context_;
    Fonts fonts_;
    float scale_ = 1.0F;
    std::set<char16_t> further_;
};

// The width of the bench's grid, in staff spaces of the manuscript, for Desk::set_bench_width.
double bench_width(float width, float height, float scale);

// The state drawn off screen: no display, no GPU. Draws a few frames first, so that what the
// toolkit settles only in a second frame is settled. width, height: pixels. [window]
Image picture_of(const State& state, int width, int height, float scale);

}  // namespace bentline::window
