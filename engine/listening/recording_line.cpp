// Folding the line into the loop, and the cross-fade at its seam.
#include "engine/listening/recording_line.h"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace bentline {

RecordingLine::RecordingLine(std::shared_ptr<const Audio> audio)
    : audio_(std::move(audio)), line_from_(audio_->start.value()), place_from_(line_from_) {}

float RecordingLine::sample(std::size_t c, std::int64_t place) const {
    const std::int64_t i = place - audio_->start.value();
    if (i < 0 || i >= audio_->length().value()) return 0.0F;
    const float x = audio_->channels[c][static_cast<std::size_t>(i)];
    return std::isfinite(x) ? x : 0.0F;
}

void RecordingLine::lead(std::int64_t line, std::int64_t place, std::optional<FramesRange> loop) {
    assert(!loop || loop->from < loop->to);
    line_from_ = line;
    place_from_ = place;
    loop_ = loop;
    if (!loop_) return;
    const std::int64_t length = (loop_->to - loop_->from).value();
    fade_ = std::min(to_frames(5.0_ms, audio_->rate).value(), length / 4);
    double xy = 0.0;
    double xx = 1e-12;
    double yy = 1e-12;
    for (std::size_t c = 0; c < audio_->channels.size(); ++c) {
        for (std::int64_t i = 1; i <= fade_; ++i) {
            const auto x = static_cast<double>(sample(c, loop_->to.value() - i));
            const auto y = static_cast<double>(sample(c, loop_->from.value() - i));
            xy += x * y;
            xx += x * x;
            yy += y * y;
        }
    }
    alike_ = std::clamp(xy / std::sqrt(xx * yy), 0.0, 1.0);
}

double RecordingLine::place(double line) const {
    const double at = line - static_cast<double>(line_from_) + static_cast<double>(place_from_);
    if (!loop_ || at < static_cast<double>(loop_->to.value())) return at;
    const auto length = static_cast<double>((loop_->to - loop_->from).value());
    return static_cast<double>(loop_->from.value()) +
           std::fmod(at - static_cast<double>(loop_->from.value()), length);
}

std::int64_t RecordingLine::round(double line) const {
    const double at = line - static_cast<double>(line_from_) + static_cast<double>(place_from_);
    if (!loop_ || at < static_cast<double>(loop_->to.value())) return 0;
    return static_cast<std::int64_t>((at - static_cast<double>(loop_->from.value())) /
                                     static_cast<double>((loop_->to - loop_->from).value()));
}

void RecordingLine::read(Frames from, std::size_t count, std::span<float* const> out) {
    for (std::size_t i = 0; i < count; ++i) {
        std::int64_t at = from.value() + static_cast<std::int64_t>(i) - line_from_ + place_from_;
        double ahead = 0.0;  // share of what leads up to the loop's beginning
        if (loop_) {
            const std::int64_t a = loop_->from.value();
            const std::int64_t b = loop_->to.value();
            if (at >= b) at = a + (at - a) % (b - a);
            if (at >= b - fade_)
                ahead = static_cast<double>(at - (b - fade_) + 1) / static_cast<double>(fade_ + 1);
            if (ahead > 0.0) {
                const double rest = 1.0 - ahead;
                const double power = rest * rest + ahead * ahead + 2.0 * alike_ * rest * ahead;
                const double scale = 1.0 / std::sqrt(power);
                for (std::size_t c = 0; c < out.size(); ++c) {
                    out[c][i] = static_cast<float>(
                        scale * (rest * sample(c, at) + ahead * sample(c, at - b + a)));
                }
                continue;
            }
        }
        for (std::size_t c = 0; c < out.size(); ++c)
            out[c][i] = sample(c, at);
    }
}

}  // namespace bentline
