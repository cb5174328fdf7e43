// Two papers, one set of meanings.
#include "ui/window/palette.h"

#include <algorithm>
#include <cmath>

namespace bentline::window {
namespace {

constexpr Palette light_paper{
    .desk = rgb(0xE6DECB),
    .paper = rgb(0xFAF6EA),
    .shade = rgb(0xF0E9D8),
    .rule = rgb(0xCFC4AA),
    .ink = rgb(0x22252E),
    .soft = rgb(0x5E584A),
    .pencil = rgb(0x585C66),
    .here = rgb(0xAE3B12),
    .span = rgb(0x0A5A8C),
};

constexpr Palette dark_paper{
    .desk = rgb(0x17191E),
    .paper = rgb(0x22252B),
    .shade = rgb(0x2A2E35),
    .rule = rgb(0x474C55),
    .ink = rgb(0xF0EADB),
    .soft = rgb(0xB4AD9D),
    .pencil = rgb(0xA9ADB5),
    .here = rgb(0xF4935F),
    .span = rgb(0x77BDEB),
};

double linear(unsigned channel) {
    const double c = channel / 255.0;
    return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

double luminance(Colour c) {
    return 0.2126 * linear(c & 0xFF) + 0.7152 * linear((c >> 8) & 0xFF) +
           0.0722 * linear((c >> 16) & 0xFF);
}

}  // namespace

const Palette& palette(Paper paper) {
    return paper == Paper::dark ? dark_paper : light_paper;
}

double contrast(Colour a, Colour b) {
    const double la = luminance(a), lb = luminance(b);
    return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
}

}  // namespace bentline::window
