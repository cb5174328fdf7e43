// window: the rasteriser on shapes whose pixels can be counted by hand, and PNG files.
#include <array>
#include <vector>

#include <doctest/doctest.h>
#include <imgui.h>
#include <imgui_internal.h>
#include <png.h>

#include "tests/support/folder.h"
#include "ui/window/raster.h"

using namespace bentline::window;

namespace {

// A draw list of our own making: no context, no fonts.
struct Sheet {
    ImDrawListSharedData shared;
    ImDrawList list{&shared};
    ImDrawList* lists = &list;
    ImDrawData data;

    Sheet(float w, float h, float scale = 1.0F) {
        list._ResetForNewFrame();
        list.PushTextureID(nullptr);
        list.PushClipRect(ImVec2(0, 0), ImVec2(w, h));
        list.Flags = 0;
        data.DisplaySize = ImVec2(w, h);
        data.FramebufferScale = ImVec2(scale, scale);
        data.CmdLists = &lists;
        data.CmdListsCount = 1;
        data.Valid = true;
    }
    void triangle(ImVec2 a, ImVec2 b, ImVec2 c, ImU32 colour) {
        list.PrimReserve(3, 3);
        for (const ImVec2 p : {a, b, c})
            list.PrimVtx(p, ImVec2(0, 0), colour);
    }
};

constexpr ImU32 white = 0xFFFFFFFF, black = 0xFF000000, half_black = 0x80000000;

int dark_pixels(const Image& image) {
    int n = 0;
    for (int y = 0; y < image.height; ++y) {
        for (int x = 0; x < image.width; ++x)
            n += image.pixel(x, y)[0] < 128 ? 1 : 0;
    }
    return n;
}

}  // namespace

TEST_CASE("raster: the ground fills what nothing covers") {
    const Sheet sheet(5, 3);
    const Image image = rasterise(sheet.data, {}, 0xFF112233);
    CHECK(image.width == 5);
    CHECK(image.height == 3);
    CHECK(image.pixel(4, 2)[0] == 0x33);
    CHECK(image.pixel(4, 2)[1] == 0x22);
    CHECK(image.pixel(4, 2)[2] == 0x11);
    CHECK(image.pixel(4, 2)[3] == 255);
}

TEST_CASE("raster: a rectangle on whole pixels covers exactly width times height [hand count]") {
    Sheet sheet(20, 20);
    sheet.triangle({3, 4}, {10, 4}, {10, 9}, black);
    sheet.triangle({3, 4}, {10, 9}, {3, 9}, black);
    CHECK(dark_pixels(rasterise(sheet.data, {}, white)) == 7 * 5);
}

TEST_CASE("raster: the edge that two triangles share is drawn once [hand count]") {
    Sheet sheet(20, 20);
    sheet.triangle({0, 0}, {20, 0}, {20, 20}, half_black);
    sheet.triangle({0, 0}, {20, 20}, {0, 20}, half_black);
    const Image image = rasterise(sheet.data, {}, white);
    for (int y = 0; y < 20; ++y) {
        for (int x = 0; x < 20; ++x) {
            // 255 * (1 - 128/255) = 127, within one for rounding; twice would be 63.
            CHECK(std::abs(image.pixel(x, y)[1] - 127) <= 1);
        }
    }
}

TEST_CASE("raster: the half of a square has the pixels under its diagonal [hand count]") {
    Sheet sheet(16, 16);
    sheet.triangle({0, 0}, {16, 16}, {0, 16}, black);  // anticlockwise on screen
    // Rows 0 to 15 hold 0 to 15 pixel centres strictly under the diagonal, and the 16 on it belong
    // to only one of the two halves.
    const int under = dark_pixels(rasterise(sheet.data, {}, white));
    Sheet other(16, 16);
    other.triangle({0, 0}, {16, 0}, {16, 16}, black);
    const int over = dark_pixels(rasterise(other.data, {}, white));
    CHECK(under + over == 256);
    CHECK((under == 120 || under == 136));
}

TEST_CASE("raster: colours run evenly between corners") {
    Sheet sheet(100, 10);
    sheet.list.AddRectFilledMultiColor(ImVec2(0, 0), ImVec2(100, 10), black, white, white, black);
    const Image image = rasterise(sheet.data, {}, white);
    // The centre of pixel x lies at (x + 0.5) / 100 of the way from 0 to 255; 2: rounding.
    for (const int x : {0, 25, 50, 99}) {
        CHECK(std::abs(image.pixel(x, 5)[0] - 255.0 * (x + 0.5) / 100.0) <= 2.0);
    }
}

TEST_CASE("raster: nothing is drawn outside the clip") {
    Sheet sheet(20, 20);
    sheet.list.PushClipRect(ImVec2(5, 5), ImVec2(8, 9));
    sheet.triangle({-100, -100}, {200, -100}, {0, 200}, black);
    CHECK(dark_pixels(rasterise(sheet.data, {}, white)) == 3 * 4);
}

TEST_CASE("raster: at twice the density a shape has four times the pixels") {
    Sheet sheet(20, 20, 2.0F);
    sheet.list.AddRectFilled(ImVec2(3, 4), ImVec2(10, 9), black);
    const Image image = rasterise(sheet.data, {}, white);
    CHECK(image.width == 40);
    CHECK(dark_pixels(image) == 4 * 7 * 5);
}

TEST_CASE("raster: a texture is read between its texels") {
    const std::array<std::uint8_t, 8> two{255, 255, 255, 0, 255, 255, 255, 255};  // clear, full
    Sheet sheet(64, 4);
    sheet.list.PrimReserve(6, 4);
    sheet.list.PrimRectUV(ImVec2(0, 0), ImVec2(64, 4), ImVec2(0, 0), ImVec2(1, 1), black);
    const Image image = rasterise(sheet.data, {two.data(), 2, 1}, white);
    CHECK(image.pixel(0, 1)[0] == 255);
    CHECK(image.pixel(63, 1)[0] == 0);
    // Half way between the two texel centres: half covered; 3: rounding of one step of 64.
    CHECK(std::abs(image.pixel(32, 1)[0] - 127) <= 4);
}

TEST_CASE("png: a written picture is read back pixel by pixel [libpng]") {
    Image image{3, 2, {}};
    for (int i = 0; i < 6; ++i) {
        const auto v = static_cast<std::uint8_t>(40 * i);
        image.rgba.insert(image.rgba.end(), {v, static_cast<std::uint8_t>(255 - v), 7, 255});
    }
    const bentline::testing::Folder folder("png");
    const auto path = folder / "picture.png";
    REQUIRE(write_png(path, image).ok());
    png_image png{};
    png.version = PNG_IMAGE_VERSION;
    REQUIRE(png_image_begin_read_from_file(&png, path.c_str()) != 0);
    png.format = PNG_FORMAT_RGBA;
    std::vector<std::uint8_t> back(PNG_IMAGE_SIZE(png));
    REQUIRE(png_image_finish_read(&png, nullptr, back.data(), 0, nullptr) != 0);
    CHECK(back == image.rgba);
}

TEST_CASE("png: a folder that is not there gives one sentence and leaves nothing") {
    const auto result = write_png("/nowhere/at/all.png", Image{1, 1, {0, 0, 0, 255}});
    REQUIRE_FALSE(result.ok());
    CHECK(result.failure().kind == bentline::FailureKind::cannot_write);
    CHECK(result.failure().sentence.find("/nowhere/at/all.png") != std::string::npos);
}
