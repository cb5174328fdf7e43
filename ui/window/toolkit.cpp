// Context, type, and pictures without a display.
#include "ui/window/toolkit.h"

#include <imgui.h>

#include "ui/window/layout.h"
#include "ui/window/palette.h"
#include "ui/window/view.h"

namespace bentline::window {

Toolkit::Toolkit(float scale) : context_(ImGui::CreateContext()) {
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr;  // what is worth keeping, we keep ourselves
    io.LogFilename = nullptr;
    rescale(scale);
}

Toolkit::~Toolkit() {
    ImGui::DestroyContext(context_);
}

void Toolkit::rescale(float scale) {
    ImFontAtlas& atlas = *ImGui::GetIO().Fonts;
    atlas.Clear();
    scale_ = scale;
    fonts_ = load_fonts(atlas, scale, further_);
}

bool Toolkit::learn(const std::set<char16_t>& letters) {
    const std::size_t before = further_.size();
    further_.insert(letters.begin(), letters.end());
    if (further_.size() == before) return false;
    rescale(scale_);
    return true;
}

TextureView Toolkit::texture() const {
    unsigned char* pixels = nullptr;
    int width = 0, height = 0;
    ImGui::GetIO().Fonts->GetTexDataAsRGBA32(&pixels, &width, &height);
    return {pixels, width, height};
}

double bench_width(float width, float height, float scale) {
    const Layout l = lay_out(width, height, scale, true);
    return static_cast<double>(l.manuscript.w() / l.space);
}

Image picture_of(const State& state, int width, int height, float scale) {
    Toolkit toolkit(scale);
    Scratch scratch;
    scratch.fonts = toolkit.fonts();
    scratch.scale = scale;
    ImGuiIO& io = ImGui::GetIO();
    io.DisplaySize = ImVec2(static_cast<float>(width), static_cast<float>(height));
    io.MousePos = ImVec2(-1e6F, -1e6F);
    io.DeltaTime = 1.0F / 60.0F;
    io.BackendFlags |= ImGuiBackendFlags_RendererHasVtxOffset;  // rasterise() follows offsets
    (void)toolkit.texture();                                    // has the type built
    for (int frame = 0; frame < 3; ++frame) {
        ImGui::NewFrame();
        (void)draw(state, scratch);
        ImGui::Render();
        if (frame == 0 && toolkit.learn(scratch.unknown)) {
            scratch.fonts = toolkit.fonts();
            (void)toolkit.texture();
        }
    }
    return rasterise(*ImGui::GetDrawData(), toolkit.texture(),
                     palette(state.remembered.dark ? Paper::dark : Paper::light).desk);
}

}  // namespace bentline::window
