// Draws the toolkit's triangles into an image in memory: pictures without a display or a GPU.
//
// Deterministic: fixed-point coverage (1/16 pixel, top-left rule), so that two triangles that share
// an edge never draw a pixel twice; textures are read with bilinear weights; colours are blended
// "over" in 8 bits a channel.
#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

#include "engine/result.h"

struct ImDrawData;

namespace bentline::window {

// Rows from the top, 4 bytes a pixel: red, green, blue, alpha (always 255 after rasterise).
struct Image {
    int width = 0;
    int height = 0;
    std::vector<std::uint8_t> rgba;

    const std::uint8_t* pixel(int x, int y) const {
        return &rgba[(static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
                      static_cast<std::size_t>(x)) *
                     4];
    }
};

// The one texture that the window draws from: the font atlas, 4 bytes a texel, not owned.
struct TextureView {
    const std::uint8_t* rgba = nullptr;
    int width = 0;
    int height = 0;
};

// Draws `data` on a ground of one colour (0xAABBGGRR as the toolkit packs it). The image has the
// size of data.DisplaySize times data.FramebufferScale. Pure. [any]
Image rasterise(const ImDrawData& data, const TextureView& texture, std::uint32_t ground);

// Writes a PNG (8-bit RGB), whole or not at all: into a file beside it, then renamed. [any]
Result<Done> write_png(const std::filesystem::path& path, const Image& image);

}  // namespace bentline::window
