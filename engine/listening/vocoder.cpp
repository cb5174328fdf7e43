// Planning frames round attacks, and overlapping them in the output.
#include "engine/listening/vocoder.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

namespace bentline {

namespace {

constexpr double pi = std::numbers::pi;
constexpr std::size_t table_size = 8192;
constexpr float least_weight = 0.02F;  // below it the output fades rather than amplifies rounding

}  // namespace

Vocoder::Vocoder(SampleRate rate, int channels, const VocoderSettings& settings)
    : settings_(settings),
      channels_(static_cast<std::size_t>(channels)),
      size_(static_cast<std::int64_t>(good_fft_size(
          static_cast<std::size_t>(to_frames(settings.window, rate).value() / 16 * 16)))),
      half_(size_ / 2),
      hop_(std::max<std::int64_t>(1, size_ / settings.overlap)),
      edge_(std::max<std::int64_t>(2, to_frames(settings.edge, rate).value())),
      attack_(to_frames(settings.attack, rate).value()),
      settle_(settings.settle.value() * rate.value()),
      guard_(to_frames(settings.guard, rate).value()),
      fade_(to_frames(settings.fade_to_line, rate).value()),
      buffer_(channels, static_cast<std::size_t>(size_ * 4)),
      attacks_(rate),
      noise_(rate, static_cast<std::size_t>(size_)),
      fft_(static_cast<std::size_t>(size_)),
      half_table_(table_size + 1),
      time_(static_cast<std::size_t>(size_)),
      power_(fft_.bins()),
      power_before_(fft_.bins()),
      theta_(fft_.bins()),
      omega_(fft_.bins()),
      bend_before_(fft_.bins()),
      peaks_(fft_.bins()),
      share_(fft_.bins()),
      turns_(1024) {
    for (std::size_t i = 0; i < turns_.size(); ++i) {
        const double angle = 2.0 * pi * static_cast<double>(i) / static_cast<double>(turns_.size());
        turns_[i] = {static_cast<float>(std::cos(angle)), static_cast<float>(std::sin(angle))};
    }
    for (auto& sums : noise_sums_)
        sums.resize(fft_.bins() + 1);
    for (std::size_t i = 0; i <= table_size; ++i) {
        const double x = static_cast<double>(i) / static_cast<double>(table_size);
        half_table_[i] = static_cast<float>(0.5 + 0.5 * std::cos(pi * x));
    }
    full_half_.resize(static_cast<std::size_t>(half_));
    for (std::size_t i = 0; i < full_half_.size(); ++i) {
        const double x = static_cast<double>(i) / static_cast<double>(half_);
        full_half_[i] = static_cast<float>(0.5 + 0.5 * std::cos(pi * x));
    }
    calibrate_bend();
    std::size_t ring = 1;
    while (ring < static_cast<std::size_t>(size_ * 2))
        ring *= 2;
    out_mask_ = ring - 1;
    weight_.assign(ring, 0.0F);
    for (std::size_t c = 0; c < channels_; ++c) {
        now_[c].resize(fft_.bins());
        before_[c].resize(fft_.bins());
        sum_[c].assign(ring, 0.0F);
    }
    start(0.0);
}

Frames Vocoder::lookahead() const {
    return Frames(half_ + attacks_.reach() +
                  static_cast<std::int64_t>(4.0 * static_cast<double>(half_ + hop_)));
}

float Vocoder::half_window(std::int64_t i, std::int64_t length) const {
    if (i >= length) return 0.0F;
    if (length == half_) return full_half_[static_cast<std::size_t>(i)];
    return half_table_[static_cast<std::size_t>(i) * table_size / static_cast<std::size_t>(length)];
}

void Vocoder::add_anchor(std::int64_t out, double line) {
    anchors_[anchor_count_ % anchors_.size()] = {out, line};
    ++anchor_count_;
}

double Vocoder::nominal(std::int64_t out) const {
    return base_.line + speed_ * static_cast<double>(out - base_.out);
}

// How far the line is ahead of its even course: during an attack it runs at its own speed,
// afterwards it falls back to its course.
double Vocoder::lead_at(std::int64_t out) const {
    const std::int64_t attack =
        std::clamp<std::int64_t>(attack_until_ - base_.out, 0, out - base_.out);
    const std::int64_t rest = out - base_.out - attack;
    return (lead_ + (1.0 - speed_) * static_cast<double>(attack)) *
           std::exp(-static_cast<double>(rest) / settle_);
}

double Vocoder::place_at(std::int64_t out) const {
    if (out >= base_.out) return nominal(out) + lead_at(out);
    Anchor later = {base_.out, base_.line + lead_};
    for (std::size_t i = 0; i < std::min(anchor_count_, anchors_.size()); ++i) {
        const Anchor& a = anchors_[(anchor_count_ - 1 - i) % anchors_.size()];
        if (a.out <= out) {
            if (later.out == a.out) return a.line;
            const double share =
                static_cast<double>(out - a.out) / static_cast<double>(later.out - a.out);
            return a.line + share * (later.line - a.line);
        }
        later = a;
    }
    return later.line;
}

void Vocoder::start(double place) {
    next_out_ = 0;
    base_ = {0, place};
    lead_ = 0.0;
    attack_until_ = 0;
    anchor_count_ = 0;
    std::fill(weight_.begin(), weight_.end(), 0.0F);
    for (std::size_t c = 0; c < channels_; ++c)
        std::fill(sum_[c].begin(), sum_[c].end(), 0.0F);
    have_before_ = false;
    const auto centre = static_cast<std::int64_t>(std::llround(place));
    buffer_.restart(centre - half_);
    attacks_.restart(centre - half_);
    noise_.restart();
    barrier_ = centre;
    last_out_ = -1;  // nothing laid down yet
    last_centre_ = centre;
    std::fill(theta_.begin(), theta_.end(), 0.0F);
    if (speed_ == 1.0) {
        mode_ = Mode::line;
        line_delay_ = -centre;
        base_.line = static_cast<double>(centre);
    } else {
        mode_ = Mode::frames;
    }
}

void Vocoder::reread() {
    const auto from = static_cast<std::int64_t>(std::ceil(place()));
    buffer_.forget(from);
    attacks_.forget(from);
}

void Vocoder::set_speed(double speed) {
    assert(speed > 0.0);
    if (speed == speed_) return;
    if (next_out_ > base_.out) {
        const double lead = lead_at(next_out_);
        base_ = {next_out_, nominal(next_out_)};
        lead_ = lead;
        add_anchor(base_.out, base_.line + lead_);
    }
    if (mode_ == Mode::line) {
        // Frames begin here, exactly where the line is: nothing is rotated yet.
        const std::int64_t centre = next_out_ - line_delay_;
        base_ = {next_out_, static_cast<double>(centre)};
        lead_ = 0.0;
        attack_until_ = next_out_;
        std::fill(weight_.begin(), weight_.end(), 0.0F);
        for (std::size_t c = 0; c < channels_; ++c)
            std::fill(sum_[c].begin(), sum_[c].end(), 0.0F);
        std::fill(theta_.begin(), theta_.end(), 0.0F);
        have_before_ = false;
        attacks_.restart(std::max(buffer_.begin(), centre - half_));
        noise_.restart();
        barrier_ = centre;
        last_out_ = next_out_ - 1;
        last_centre_ = centre;
        mode_ = Mode::frames;
    } else if (speed == 1.0) {
        base_.line = std::round(base_.line + lead_);
        lead_ = 0.0;
        to_line_from_ = std::max(base_.out, next_out_);
        line_delay_ = base_.out - static_cast<std::int64_t>(base_.line);
        mode_ = Mode::to_line;
    } else {
        mode_ = Mode::frames;
    }
    speed_ = speed;
}

Vocoder::Planned Vocoder::plan(FrameSource& line) {
    Planned p{};
    const bool first = last_out_ < base_.out && !have_before_;
    // Steps are shorter where the line runs fast, so that phases can be followed from frame to
    // frame, and right after an attack, where frames are short.
    std::int64_t hop = hop_;
    if (speed_ > 2.0) hop /= 2;
    p.out = first ? base_.out : last_out_ + hop;
    p.place = place_at(p.out);
    p.centre = std::llround(p.place);
    const std::int64_t wanted = p.centre + half_ + attacks_.reach();
    buffer_.fill(line, wanted);
    attacks_.look(buffer_);
    const std::int64_t attack = first ? AttackFinder::none : attacks_.next(barrier_ + 1);
    if (attack != AttackFinder::none) {
        // The cut lies an edge before the attack; the attack itself lands exactly where it belongs.
        const auto due = static_cast<std::int64_t>(
                             std::llround((static_cast<double>(attack) - base_.line) / speed_)) +
                         base_.out - edge_;
        if (due <= p.out) {
            p.at_attack = true;
            p.out = std::max(due, last_out_);
            p.centre = attack - edge_;
            p.place = static_cast<double>(p.centre);
        } else if (p.centre > attack - edge_) {
            p.centre = attack - edge_;
            p.place = static_cast<double>(p.centre);
        }
    }
    p.left = std::clamp<std::int64_t>(p.centre - barrier_, edge_, half_);
    const std::int64_t ahead = attacks_.next(p.at_attack ? attack + 1 : p.centre + edge_);
    p.right = ahead == AttackFinder::none
                  ? half_
                  : std::clamp<std::int64_t>(ahead - edge_ / 2 - p.centre, edge_ / 2, half_);
    return p;
}

void Vocoder::analyse(std::int64_t centre, std::int64_t left, std::int64_t right) {
    const auto l = static_cast<std::size_t>(left);
    const auto r = static_cast<std::size_t>(right);
    const auto n = static_cast<std::size_t>(size_);
    whole_ = left == half_ && right == half_;
    length_ = left + right;
    // Of half a Hann window of length 1: mean place 2 (1/4 - 1/pi^2) of its weight 1/2.
    middle_ = 2.0 * (0.25 - 1.0 / (pi * pi)) * static_cast<double>(right * right - left * left) /
              static_cast<double>(right + left);
    std::fill(power_.begin(), power_.end(), 0.0F);
    for (std::size_t c = 0; c < channels_; ++c) {
        // Centre at index 0, what lies before it at the end.
        buffer_.copy(c, centre, std::span(time_).first(r));
        std::fill(time_.begin() + static_cast<std::ptrdiff_t>(r),
                  time_.end() - static_cast<std::ptrdiff_t>(l), 0.0F);
        buffer_.copy(c, centre - left, std::span(time_).subspan(n - l, l));
        for (std::int64_t i = 0; i < right; ++i)
            time_[static_cast<std::size_t>(i)] *= half_window(i, right);
        for (std::int64_t i = 1; i <= left; ++i)
            time_[n - static_cast<std::size_t>(i)] *= half_window(i, left);
        fft_.forward(time_, now_[c]);
        for (std::size_t k = 0; k < power_.size(); ++k)
            power_[k] += std::norm(now_[c][k]);
    }
}

void Vocoder::add(std::int64_t out, std::int64_t left, std::int64_t right) {
    const std::int64_t from = std::max(-left + 1, next_out_ - out);
    for (std::size_t c = 0; c < channels_; ++c) {
        fft_.inverse(now_[c], time_);
        for (std::int64_t i = from; i < right; ++i) {
            const float w = i < 0 ? half_window(-i, left) : half_window(i, right);
            const auto t = static_cast<std::size_t>(i < 0 ? i + size_ : i);
            sum_[c][static_cast<std::size_t>(out + i) & out_mask_] += w * time_[t];
        }
    }
    for (std::int64_t i = from; i < right; ++i) {
        const float w = i < 0 ? half_window(-i, left) : half_window(i, right);
        weight_[static_cast<std::size_t>(out + i) & out_mask_] += w * w;
    }
}

void Vocoder::lay_down(const Planned& p, Kind kind, std::int64_t left, std::int64_t right) {
    const std::int64_t gain = (p.out - p.centre) - (last_out_ - last_centre_);
    analyse(p.centre, left, right);
    rotate(p, have_before_ ? gain : 0, kind);
    add(p.out, left, right);
    last_out_ = p.out;
    last_centre_ = p.centre;
}

void Vocoder::put_out(std::span<float* const> out, std::size_t at, std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) {
        const auto slot =
            static_cast<std::size_t>(next_out_ + static_cast<std::int64_t>(i)) & out_mask_;
        const float scale = 1.0F / std::max(weight_[slot], least_weight);
        weight_[slot] = 0.0F;
        for (std::size_t c = 0; c < channels_; ++c) {
            out[c][at + i] = sum_[c][slot] * scale;
            sum_[c][slot] = 0.0F;
        }
    }
}

void Vocoder::copy_line(FrameSource& line, std::span<float* const> out, std::size_t at,
                        std::size_t count) {
    const std::int64_t from = next_out_ - line_delay_;
    buffer_.fill(line, from + static_cast<std::int64_t>(count));
    for (std::size_t c = 0; c < channels_; ++c)
        buffer_.copy(c, from, std::span(out[c] + at, count));
}

void Vocoder::render(FrameSource& line, std::span<float* const> out, std::size_t count) {
    constexpr std::size_t piece = 256;
    for (std::size_t at = 0; at < count;) {
        const std::size_t n = std::min(piece, count - at);
        const std::int64_t end = next_out_ + static_cast<std::int64_t>(n);
        if (mode_ == Mode::line) {
            copy_line(line, out, at, n);
            next_out_ = end;
            at += n;
            continue;
        }
        for (Planned p = plan(line); p.out - p.left < end; p = plan(line)) {
            if (!have_before_) {
                lay_down(p, Kind::opening, edge_, p.right);
            } else if (p.at_attack) {
                lay_down(p, Kind::closing, p.left, edge_ / 2);
                lay_down(p, Kind::opening, edge_, p.right);
                barrier_ = p.centre + edge_ + guard_;
                noise_.attack();
            } else {
                lay_down(p, Kind::plain, p.left, p.right);
            }
            base_ = {p.out, nominal(p.out)};
            lead_ = p.place - base_.line;
            if (p.at_attack) attack_until_ = p.out + edge_ + attack_;
            add_anchor(p.out, p.place);
        }
        put_out(out, at, n);
        if (mode_ == Mode::to_line) {
            std::array<std::array<float, piece>, 2> direct{};
            const std::array<float*, 2> into = {direct[0].data(), direct[1].data()};
            copy_line(line, into, 0, n);
            for (std::size_t i = 0; i < n; ++i) {
                const std::int64_t t = next_out_ + static_cast<std::int64_t>(i) - to_line_from_;
                const float g = t <= 0 ? 0.0F : t >= fade_ ? 1.0F : 1.0F - half_window(t, fade_);
                for (std::size_t c = 0; c < channels_; ++c) {
                    out[c][at + i] += g * (direct[c][i] - out[c][at + i]);
                    if (g == 1.0F) out[c][at + i] = direct[c][i];
                }
            }
            if (end - to_line_from_ >= fade_) mode_ = Mode::line;
        }
        next_out_ = end;
        at += n;
    }
}

}  // namespace bentline
