// A toolkit without a screen for tests: feeds events, draws frames, hands out intents and draw
// data.
#pragma once

#include <string>
#include <vector>

#include <imgui.h>

#include "ui/window/palette.h"
#include "ui/window/toolkit.h"
#include "ui/window/view.h"

namespace bentline::window {

class Headless {
  public:
    explicit Headless(float width = 1280, float height = 720, float scale = 1.0F)
        : toolkit_(scale), texture_(toolkit_.texture()) {
        scratch.fonts = toolkit_.fonts();
        scratch.scale = scale;
        ImGuiIO& io = ImGui::GetIO();
        io.DisplaySize = ImVec2(width, height);
        io.DeltaTime = 1.0F / 60.0F;
        io.BackendFlags |= ImGuiBackendFlags_RendererHasVtxOffset;
        io.MousePos = ImVec2(-1e6F, -1e6F);
    }

    Scratch scratch;

    // One frame.
    std::vector<Intent> frame(const State& state) {
        ImGui::NewFrame();
        std::vector<Intent> asked = draw(state, scratch);
        ImGui::Render();
        all.insert(all.end(), asked.begin(), asked.end());
        return asked;
    }
    std::vector<Intent> stroke(const State& state, const std::string& key) {
        scratch.strokes.push_back(key);
        return frame(state);
    }
    void mouse(float x, float y, bool down) {
        ImGui::GetIO().MousePos = ImVec2(x, y);
        ImGui::GetIO().MouseDown[0] = down;
    }
    // Presses at one place, moves to another in a few steps, lets go; what was asked for meanwhile.
    std::vector<Intent> drag(const State& state, float x0, float y0, float x1, float y1) {
        all.clear();
        ImGui::GetIO().DeltaTime = 0.5F;  // so that two presses are never a double click
        mouse(x0, y0, false);
        frame(state);
        frame(state);
        mouse(x0, y0, true);
        frame(state);
        for (int i = 1; i <= 4; ++i) {
            const float share = static_cast<float>(i) / 4.0F;
            mouse(x0 + share * (x1 - x0), y0 + share * (y1 - y0), true);
            frame(state);
        }
        mouse(x1, y1, false);
        frame(state);
        frame(state);
        return all;
    }
    std::vector<Intent> press(const State& state, float x, float y) {
        return drag(state, x, y, x, y);
    }

    Image image(const State& state) {
        return rasterise(*ImGui::GetDrawData(), texture_,
                         palette(state.remembered.dark ? Paper::dark : Paper::light).desk);
    }

    std::vector<Intent> all;

  private:
    Toolkit toolkit_;
    TextureView texture_;
};

// The intents of one kind among those asked for.
template <class I>
std::vector<I> those(const std::vector<Intent>& all) {
    std::vector<I> found;
    for (const Intent& i : all) {
        if (const I* is = std::get_if<I>(&i)) found.push_back(*is);
    }
    return found;
}

}  // namespace bentline::window
