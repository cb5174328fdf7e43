// Writes an image as PNG, whole or not at all.
#include <string>
#include <string_view>

#include <png.h>

#include "engine/recording/atomic_file.h"
#include "ui/window/raster.h"

namespace bentline::window {
namespace {

std::vector<std::uint8_t> without_alpha(const Image& image) {
    std::vector<std::uint8_t> rgb;
    rgb.reserve(image.rgba.size() / 4 * 3);
    for (std::size_t i = 0; i + 3 < image.rgba.size(); i += 4) {
        rgb.insert(rgb.end(), {image.rgba[i], image.rgba[i + 1], image.rgba[i + 2]});
    }
    return rgb;
}

}  // namespace

Result<Done> write_png(const std::filesystem::path& path, const Image& image) {
    png_image png{};
    png.version = PNG_IMAGE_VERSION;
    png.width = static_cast<png_uint_32>(image.width);
    png.height = static_cast<png_uint_32>(image.height);
    png.format = PNG_FORMAT_RGB;
    const std::vector<std::uint8_t> rgb = without_alpha(image);
    png_alloc_size_t bytes = 0;
    std::string file;
    bool made = png_image_write_to_memory(&png, nullptr, &bytes, 0, rgb.data(), 0, nullptr) != 0;
    if (made) {
        file.resize(bytes);
        made = png_image_write_to_memory(&png, file.data(), &bytes, 0, rgb.data(), 0, nullptr) != 0;
    }
    const std::string why(static_cast<const char*>(png.message));
    png_image_free(&png);
    if (!made) {
        return Failure{
            FailureKind::cannot_write,
            "cannot make the picture " + path.string() + ": " + why + "; ask for a smaller one",
            {path.string(), {}, {}}};
    }
    return write_file(path, std::string_view(file).substr(0, bytes));
}

}  // namespace bentline::window
