// The one channel that the note stage listens to.
#include "engine/notes/lead_signal.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace bentline::notes {

namespace {

// Every `factor`-th sample of x behind a Blackman-windowed sinc that cuts at 0.45 of the new rate.
std::vector<float> decimate(const std::vector<float>& x, int factor) {
    const int half = 12 * factor;
    std::vector<double> taps(static_cast<std::size_t>(2 * half + 1));
    double sum = 0.0;
    for (int i = -half; i <= half; ++i) {
        const double at = std::numbers::pi * 0.9 * i / factor;
        const double sinc = i == 0 ? 1.0 : std::sin(at) / at;
        const double turn = std::numbers::pi * i / (half + 1);
        const double window = 0.42 + 0.5 * std::cos(turn) + 0.08 * std::cos(2.0 * turn);
        taps[static_cast<std::size_t>(i + half)] = sinc * window;
        sum += sinc * window;
    }
    const auto length = static_cast<std::ptrdiff_t>(x.size());
    std::vector<float> out((x.size() + static_cast<std::size_t>(factor) - 1) /
                           static_cast<std::size_t>(factor));
    for (std::size_t n = 0; n < out.size(); ++n) {
        const auto centre = static_cast<std::ptrdiff_t>(n) * factor;
        const std::ptrdiff_t from = std::max<std::ptrdiff_t>(0, centre - half);
        const std::ptrdiff_t to = std::min<std::ptrdiff_t>(length - 1, centre + half);
        double y = 0.0;
        for (std::ptrdiff_t j = from; j <= to; ++j) {
            y += taps[static_cast<std::size_t>(j - centre + half)] * x[static_cast<std::size_t>(j)];
        }
        out[n] = static_cast<float>(y / sum);
    }
    return out;
}

}  // namespace

std::ptrdiff_t LeadSignal::index_of(double seconds) const {
    const double at = std::round((seconds - start) * rate);
    const double last = std::max(0.0, static_cast<double>(samples.size()) - 1.0);
    return static_cast<std::ptrdiff_t>(std::clamp(at, 0.0, last));
}

LeadSignal lead_signal(const Audio& audio, const Focus& focus) {
    LeadSignal lead;
    lead.rate = audio.rate.value();
    lead.start = audio.start_time().value();
    const auto length = static_cast<std::size_t>(audio.length().value());
    lead.samples.resize(length);
    double left = 0.5;
    double right = 0.5;
    if (!focus.whole_stage()) {
        const double angle = (std::clamp(focus.place, -1.0, 1.0) + 1.0) * std::numbers::pi / 4.0;
        const double sum = std::cos(angle) + std::sin(angle);
        left = std::cos(angle) / sum;
        right = std::sin(angle) / sum;
    }
    for (std::size_t i = 0; i < length; ++i) {
        double v = audio.channels[0][i];
        if (audio.channels.size() > 1)
            v = left * v + right * static_cast<double>(audio.channels[1][i]);
        lead.samples[i] = std::isfinite(v) ? static_cast<float>(v) : 0.0F;
    }
    if (lead.rate > 50000.0) {
        const int factor = static_cast<int>(std::ceil(lead.rate / 50000.0));
        lead.samples = decimate(lead.samples, factor);
        lead.rate /= factor;
    }
    return lead;
}

}  // namespace bentline::notes
