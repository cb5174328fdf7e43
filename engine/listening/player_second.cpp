// The player's second source: handed over, rendered at the recording's places, mixed.
#include <algorithm>
#include <cmath>
#include <span>

#include "engine/listening/player_parts.h"

namespace bentline {

// A new source carries on what the one before was sounding; none lets it fade out first.
void PlayerStage::take_second(SecondSource* second) {
    if (second == nullptr) {
        second_leaves_ = second_ != nullptr;
        return;
    }
    if (second_ != nullptr) {
        second->take_over(*second_);
        retired_seconds.push(second_);
    } else {
        gains_now_ = {1.0, 0.0};
        split_now_ = 0.0;
    }
    second_ = second;
    second_leaves_ = false;
}

// The piece just rendered, [from.line, the stretcher's place now), seam by seam of the loop.
void PlayerStage::render_second(const Heard& from, std::size_t count) {
    const double frames_a_second = deck_->line.audio().rate.value();
    const Seconds a_frame(from.step / frames_a_second);
    double place = from.place;
    for (std::size_t done = 0; done < count;) {
        std::size_t n = count - done;
        if (from.loop) {
            const auto end = static_cast<double>(from.loop->to.value());
            const auto length = static_cast<double>((from.loop->to - from.loop->from).value());
            while (place >= end)
                place -= length;
            // The first frame at or beyond the seam begins the next round.
            const double to_seam = std::ceil((end - place) / from.step - 1e-9);
            n = std::min(n, static_cast<std::size_t>(std::max(1.0, to_seam)));
        }
        second_->render({Seconds(place / frames_a_second), a_frame}, retune_,
                        std::span(second_frames_.data() + done, n));
        place += static_cast<double>(n) * from.step;
        done += n;
    }
}

void PlayerStage::mix_second(std::span<float* const> out, std::size_t count) {
    BalanceGains wanted = gains_at(balance_);
    if (second_leaves_) wanted = {1.0, 0.0};
    const double apart = split_ && !second_leaves_ ? 1.0 : 0.0;
    const auto towards = [step = gain_step()](double now, double to) {
        return now < to ? std::min(to, now + step) : std::max(to, now - step);
    };
    for (std::size_t i = 0; i < count; ++i) {
        gains_now_ = {towards(gains_now_.recording, wanted.recording),
                      towards(gains_now_.second, wanted.second)};
        split_now_ = towards(split_now_, apart);
        const auto recording = static_cast<float>(gains_now_.recording);
        const auto second = static_cast<float>(gains_now_.second) * second_frames_[i];
        const auto split = static_cast<float>(split_now_);
        const float left = recording * out[0][i];
        const float right = recording * out[1][i];
        out[0][i] = left + split * 0.5F * (right - left) + (1.0F - split) * second;
        out[1][i] = (1.0F - split) * right + second;
    }
    if (second_leaves_ && gains_now_.second == 0.0 && gains_now_.recording == 1.0 &&
        split_now_ == 0.0) {
        retired_seconds.push(second_);
        second_ = nullptr;
        second_leaves_ = false;
    }
}

}  // namespace bentline
