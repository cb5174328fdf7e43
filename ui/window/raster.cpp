// Triangles of the toolkit into pixels, by edge functions in fixed point.
#include "ui/window/raster.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <imgui.h>

namespace bentline::window {
namespace {

constexpr int sub_bits = 4;
constexpr std::int64_t sub = 1 << sub_bits;

struct Texel {
    float r, g, b, a;  // 0 to 255
};

struct Clip {
    int x0, y0, x1, y1;  // pixels, half-open
};

struct Corner {
    std::int64_t x, y;  // 1/16 pixel
    float u, v;
    Texel colour;
};

Texel unpack(std::uint32_t c) {
    return {static_cast<float>(c & 0xFF), static_cast<float>((c >> 8) & 0xFF),
            static_cast<float>((c >> 16) & 0xFF), static_cast<float>((c >> 24) & 0xFF)};
}

Texel texel_at(const TextureView& t, int x, int y) {
    x = std::clamp(x, 0, t.width - 1);
    y = std::clamp(y, 0, t.height - 1);
    const std::uint8_t* p = t.rgba + (static_cast<std::ptrdiff_t>(y) * t.width + x) * 4;
    return {static_cast<float>(p[0]), static_cast<float>(p[1]), static_cast<float>(p[2]),
            static_cast<float>(p[3])};
}

Texel mix(const Texel& a, const Texel& b, float w) {
    return {a.r + (b.r - a.r) * w, a.g + (b.g - a.g) * w, a.b + (b.b - a.b) * w,
            a.a + (b.a - a.a) * w};
}

Texel sample(const TextureView& t, float u, float v) {
    if (t.rgba == nullptr) return {255, 255, 255, 255};
    const float x = u * static_cast<float>(t.width) - 0.5F;
    const float y = v * static_cast<float>(t.height) - 0.5F;
    const float fx = std::floor(x), fy = std::floor(y);
    const int ix = static_cast<int>(fx), iy = static_cast<int>(fy);
    const Texel top = mix(texel_at(t, ix, iy), texel_at(t, ix + 1, iy), x - fx);
    const Texel low = mix(texel_at(t, ix, iy + 1), texel_at(t, ix + 1, iy + 1), x - fx);
    return mix(top, low, y - fy);
}

void blend(std::uint8_t* p, const Texel& colour, const Texel& t) {
    const float a = colour.a * t.a * (1.0F / (255.0F * 255.0F));
    if (a <= 0.0F) return;
    const std::array<float, 3> over{colour.r * t.r / 255.0F, colour.g * t.g / 255.0F,
                                    colour.b * t.b / 255.0F};
    for (std::size_t c = 0; c < 3; ++c) {
        const float under = static_cast<float>(p[c]);
        p[c] = static_cast<std::uint8_t>(
            std::clamp(under + (over[c] - under) * a + 0.5F, 0.0F, 255.0F));
    }
}

// Twice the signed area; positive for corners that run clockwise on screen (y grows downward).
std::int64_t cross(const Corner& a, const Corner& b, std::int64_t x, std::int64_t y) {
    return (b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x);
}

// A pixel centre exactly on an edge belongs to the triangle only if the edge is a top or a left
// one.
std::int64_t edge_bias(const Corner& a, const Corner& b) {
    const bool top = a.y == b.y && b.x > a.x;
    const bool left = b.y < a.y;
    return top || left ? 0 : -1;
}

void triangle(Image& image, const TextureView& texture, const Clip& clip, Corner a, Corner b,
              Corner c) {
    std::int64_t area = cross(a, b, c.x, c.y);
    if (area == 0) return;
    if (area < 0) {
        std::swap(b, c);
        area = -area;
    }
    const auto pixel_floor = [](std::int64_t v) { return static_cast<int>(v >> sub_bits); };
    const int x0 = std::max(clip.x0, pixel_floor(std::min({a.x, b.x, c.x})));
    const int y0 = std::max(clip.y0, pixel_floor(std::min({a.y, b.y, c.y})));
    const int x1 = std::min(clip.x1, pixel_floor(std::max({a.x, b.x, c.x})) + 1);
    const int y1 = std::min(clip.y1, pixel_floor(std::max({a.y, b.y, c.y})) + 1);
    const std::int64_t bias_a = edge_bias(b, c), bias_b = edge_bias(c, a), bias_c = edge_bias(a, b);
    const bool plain = a.u == b.u && b.u == c.u && a.v == b.v && b.v == c.v;
    const Texel plain_texel = plain ? sample(texture, a.u, a.v) : Texel{};
    const float per_area = 1.0F / static_cast<float>(area);
    for (int y = y0; y < y1; ++y) {
        const std::int64_t py = y * sub + sub / 2;
        std::uint8_t* row =
            &image.rgba[(static_cast<std::size_t>(y) * static_cast<std::size_t>(image.width)) * 4];
        for (int x = x0; x < x1; ++x) {
            const std::int64_t px = x * sub + sub / 2;
            const std::int64_t wa = cross(b, c, px, py);
            const std::int64_t wb = cross(c, a, px, py);
            const std::int64_t wc = cross(a, b, px, py);
            if (wa + bias_a < 0 || wb + bias_b < 0 || wc + bias_c < 0) continue;
            const float ka = static_cast<float>(wa) * per_area;
            const float kb = static_cast<float>(wb) * per_area;
            const float kc = static_cast<float>(wc) * per_area;
            const Texel colour{ka * a.colour.r + kb * b.colour.r + kc * c.colour.r,
                               ka * a.colour.g + kb * b.colour.g + kc * c.colour.g,
                               ka * a.colour.b + kb * b.colour.b + kc * c.colour.b,
                               ka * a.colour.a + kb * b.colour.a + kc * c.colour.a};
            blend(row + static_cast<std::ptrdiff_t>(x) * 4, colour,
                  plain ? plain_texel
                        : sample(texture, ka * a.u + kb * b.u + kc * c.u,
                                 ka * a.v + kb * b.v + kc * c.v));
        }
    }
}

}  // namespace

Image rasterise(const ImDrawData& data, const TextureView& texture, std::uint32_t ground) {
    const ImVec2 scale = data.FramebufferScale;
    Image image;
    image.width = std::max(0, static_cast<int>(std::lround(data.DisplaySize.x * scale.x)));
    image.height = std::max(0, static_cast<int>(std::lround(data.DisplaySize.y * scale.y)));
    image.rgba.resize(static_cast<std::size_t>(image.width) *
                      static_cast<std::size_t>(image.height) * 4);
    for (std::size_t i = 0; i < image.rgba.size(); i += 4) {
        image.rgba[i] = static_cast<std::uint8_t>(ground & 0xFF);
        image.rgba[i + 1] = static_cast<std::uint8_t>((ground >> 8) & 0xFF);
        image.rgba[i + 2] = static_cast<std::uint8_t>((ground >> 16) & 0xFF);
        image.rgba[i + 3] = 255;
    }
    const auto corner = [&](const ImDrawVert& v) {
        return Corner{
            std::llround((v.pos.x - data.DisplayPos.x) * scale.x * static_cast<float>(sub)),
            std::llround((v.pos.y - data.DisplayPos.y) * scale.y * static_cast<float>(sub)), v.uv.x,
            v.uv.y, unpack(v.col)};
    };
    for (int n = 0; n < data.CmdListsCount; ++n) {
        const ImDrawList& list = *data.CmdLists[n];
        for (const ImDrawCmd& cmd : list.CmdBuffer) {
            if (cmd.UserCallback != nullptr) continue;
            const Clip clip{
                std::max(0, static_cast<int>((cmd.ClipRect.x - data.DisplayPos.x) * scale.x)),
                std::max(0, static_cast<int>((cmd.ClipRect.y - data.DisplayPos.y) * scale.y)),
                std::min(image.width,
                         static_cast<int>((cmd.ClipRect.z - data.DisplayPos.x) * scale.x)),
                std::min(image.height,
                         static_cast<int>((cmd.ClipRect.w - data.DisplayPos.y) * scale.y))};
            if (clip.x0 >= clip.x1 || clip.y0 >= clip.y1) continue;
            for (unsigned i = 0; i + 2 < cmd.ElemCount; i += 3) {
                const auto at = [&](unsigned k) -> const ImDrawVert& {
                    const ImDrawIdx index = list.IdxBuffer[static_cast<int>(cmd.IdxOffset + i + k)];
                    return list.VtxBuffer[static_cast<int>(cmd.VtxOffset + index)];
                };
                triangle(image, texture, clip, corner(at(0)), corner(at(1)), corner(at(2)));
            }
        }
    }
    return image;
}

}  // namespace bentline::window
