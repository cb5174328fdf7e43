// What the audio callback does: commands, count-in, the deck, level, limiter, meter, status.
#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

#include "engine/listening/player_parts.h"

namespace bentline {

namespace {
constexpr double click_hz = 1568.0;  // G6: stands clear of a guitar's range
constexpr double click_seconds = 0.03;
constexpr double click_amplitude = 0.5;  // before the level
}  // namespace

Deck::Deck(const std::shared_ptr<const Audio>& audio, SampleRate device_rate)
    : line(audio),
      filter(audio->rate, static_cast<int>(audio->channels.size())),
      stretcher(std::make_unique<Stretcher>(audio->rate, static_cast<int>(audio->channels.size()),
                                            device_rate)),
      channels(audio->channels.size()) {
    filter.set(line);
    stretcher->start(audio->start);
}

PlayerStage::PlayerStage(SampleRate device_rate)
    : rate(device_rate),
      limiter_(device_rate),
      meter_(device_rate),
      level_(amplitude(first_level)),
      level_now_(level_) {}

PlayerStage::~PlayerStage() {
    delete deck_;
    if (load_) delete *load_;
    delete second_;
    while (const auto c = commands.pop()) {
        delete c->deck;
        delete c->second;
        delete c->sound;
    }
    while (const auto d = retired.pop())
        delete *d;
    while (const auto s = retired_seconds.pop())
        delete *s;
    while (const auto s = retired_sounds.pop())
        delete *s;
}

void PlayerStage::change_rate(SampleRate device_rate) {
    const bool other = device_rate != rate;
    rate = device_rate;
    const auto renew = [&](Deck* d) {
        if (d == nullptr) return;
        d->stretcher =
            std::make_unique<Stretcher>(d->line.audio().rate, static_cast<int>(d->channels), rate);
    };
    if (other) {
        limiter_ = Limiter(rate);
        meter_ = Meter(rate);
        heard_count_ = 0;
        if (deck_ != nullptr) {
            const double place = deck_->line.place(deck_->stretcher->place());
            renew(deck_);
            deck_->stretcher->set_speed(speed_);
            deck_->stretcher->set_retune(retune_);
            lead_from(std::llround(place));
        }
        if (load_) renew(*load_);
        if (second_ != nullptr) second_->set_rate(rate);
    }
    // What is still on its way is renewed too, and carried out, so that orders given while no
    // device runs never fill the queue.
    for (std::size_t i = 0; i < 256; ++i) {
        const auto c = commands.pop();
        if (!c) break;
        if (other) {
            if (c->kind == PlayerCommand::Kind::load) renew(c->deck);
            if (c->second != nullptr) c->second->set_rate(rate);
        }
        obey(*c);
    }
}

void PlayerStage::lead_from(std::int64_t place) {
    deck_->line.lead(place, place, deck_->line.loop());
    deck_->filter.restart();
    deck_->stretcher->start(Frames(place));
    round_base_ = 0;
    trained_round_ = 0;
}

void PlayerStage::set_loop(std::optional<FramesRange> loop) {
    const double line = deck_->stretcher->place();
    const double place = deck_->line.place(line);
    if (loop && !(static_cast<double>(loop->from.value()) <= place &&
                  place < static_cast<double>(loop->to.value()))) {
        deck_->line.lead(std::llround(place), std::llround(place), loop);
        seek_ = loop->from.value();
        return;
    }
    // The line is folded anew from here on; up to here it stays as it was heard.
    const auto from = static_cast<std::int64_t>(std::ceil(line));
    const auto to =
        static_cast<std::int64_t>(std::llround(place + (static_cast<double>(from) - line)));
    deck_->line.lead(from, to, loop);
    deck_->filter.restart();
    deck_->stretcher->reread();
    trained_round_ = 0;
}

void PlayerStage::obey(const PlayerCommand& c) {
    using Kind = PlayerCommand::Kind;
    switch (c.kind) {
        case Kind::load:
            if (load_ && *load_ != nullptr) retired.push(*load_);
            load_ = c.deck;
            playing_ = false;
            break;
        case Kind::extend: {
            Deck* const d = load_ ? *load_ : deck_;
            if (d != nullptr) {
                const Frames end = d->line.whole().to;
                d->line.exchange(*c.sound);
                // What was read ahead may have met the part's end: stretcher and filter read less
                // than a second ahead of the place.
                const Frames at(std::llround(d->line.place(d->stretcher->place())));
                if (!d->line.loop() && at + to_frames(Seconds(1), d->line.audio().rate) > end) {
                    d->filter.restart();
                    d->stretcher->reread();
                }
            }
            retired_sounds.push(c.sound);
            break;
        }
        case Kind::play:
            playing_ = true;
            if (at_end() && !seek_ && !load_) {
                const auto& loop = deck_->line.loop();
                seek_ = (loop ? loop->from : deck_->line.whole().from).value();
            }
            clicks_left_ = static_cast<int>(c.a);
            beat_frames_ = std::llround(c.b * rate.value());
            to_beat_ = 0;
            break;
        case Kind::pause:
            playing_ = false;
            clicks_left_ = 0;
            to_beat_ = 0;
            break;
        case Kind::speed:
            speed_ = c.a;
            trainer_.reset();
            break;
        case Kind::retune:
            retune_ = Cents(c.a);
            break;
        case Kind::level:
            level_ = c.a;
            break;
        case Kind::trainer:
            trainer_ = c.trainer;
            speed_ = c.trainer.start;
            trained_round_ = deck_ != nullptr ? deck_->line.round(deck_->stretcher->place()) : 0;
            break;
        case Kind::trainer_off:
            trainer_.reset();
            break;
        case Kind::focus:
        case Kind::focus_off:
            focus_on_ = c.kind == Kind::focus;
            focus_ = c.focus;
            if (deck_ == nullptr) break;
            if (focus_on_)
                deck_->filter.switch_on(focus_);
            else
                deck_->filter.switch_off();
            deck_->filter.restart();
            deck_->stretcher->reread();
            break;
        case Kind::second:
            take_second(c.second);
            break;
        case Kind::balance:
            balance_ = c.a;
            break;
        case Kind::split:
            split_ = c.a != 0.0;
            break;
        case Kind::seek:
        case Kind::loop:
        case Kind::loop_off: {
            Deck* const d = load_ ? *load_ : deck_;
            if (d == nullptr) break;
            const FramesRange whole = d->line.whole();
            if (c.kind == Kind::seek) {
                seek_ = std::clamp<std::int64_t>(static_cast<std::int64_t>(c.a), whole.from.value(),
                                                 whole.to.value());
                break;
            }
            std::optional<FramesRange> loop;
            if (c.kind == Kind::loop) {
                loop = FramesRange{Frames(static_cast<std::int64_t>(c.a)),
                                   Frames(static_cast<std::int64_t>(c.b))};
                if (loop->empty() || loop->from < whole.from || loop->to > whole.to) break;
            }
            if (load_) {
                d->line.lead(whole.from.value(), whole.from.value(), loop);
                if (loop) seek_ = loop->from.value();
            } else {
                set_loop(loop);
            }
            break;
        }
    }
    if (deck_ != nullptr) {
        deck_->stretcher->set_speed(speed_);
        deck_->stretcher->set_retune(retune_);
    }
}

void PlayerStage::obey_waiting() {
    if (load_) {
        if (deck_ != nullptr) retired.push(deck_);
        deck_ = *load_;
        load_.reset();
        if (deck_ != nullptr) {
            deck_->stretcher->set_speed(speed_);
            deck_->stretcher->set_retune(retune_);
            if (focus_on_) deck_->filter.switch_on(focus_);
            lead_from(seek_.value_or(deck_->line.whole().from.value()));
        }
        seek_.reset();
    }
    if (seek_ && deck_ != nullptr) lead_from(*seek_);
    seek_.reset();
}

bool PlayerStage::at_end() const {
    return deck_ != nullptr && deck_->line.place(deck_->stretcher->place()) >=
                                   static_cast<double>(deck_->line.whole().to.value());
}

void PlayerStage::train() {
    if (!trainer_ || deck_ == nullptr) return;
    const std::int64_t round = deck_->line.round(deck_->stretcher->place());
    if (round - trained_round_ < trainer_->rounds) return;
    trained_round_ = round;
    const double next = speed_ + trainer_->step;
    speed_ = trainer_->step >= 0.0 ? std::min(next, trainer_->end) : std::max(next, trainer_->end);
    speed_ = std::clamp(speed_, slowest, fastest);
    deck_->stretcher->set_speed(speed_);
}

void PlayerStage::remember(std::size_t count) {
    Heard h;
    h.frame = frame_;
    if (deck_ != nullptr) {
        h.line = deck_->stretcher->place();
        h.place = deck_->line.place(h.line);
        h.round = deck_->line.round(h.line);
        h.loop = deck_->line.loop();
    }
    heard_[heard_count_ % heard_.size()] = h;
    ++heard_count_;
    frame_ += static_cast<std::int64_t>(count);
}

void PlayerStage::add_click(std::span<float* const> out, std::size_t count) {
    const double decay = 1.0 / (click_seconds / 4.0 * rate.value());
    for (std::size_t i = 0; i < count && click_age_ >= 0; ++i) {
        const auto age = static_cast<double>(click_age_);
        const double x = click_amplitude * std::exp(-age * decay) *
                         std::sin(2.0 * std::numbers::pi * click_hz * age / rate.value());
        out[0][i] += static_cast<float>(x);
        out[1][i] += static_cast<float>(x);
        if (++click_age_ > static_cast<std::int64_t>(click_seconds * rate.value())) click_age_ = -1;
    }
}

void PlayerStage::render_piece(std::span<float* const> out, std::size_t count) {
    std::fill_n(out[0], count, 0.0F);
    std::fill_n(out[1], count, 0.0F);
    const bool counting = playing_ && (clicks_left_ > 0 || to_beat_ > 0);
    if (fade_ == 0.0) obey_waiting();
    const bool wanted = playing_ && !counting && !seek_ && !load_ && deck_ != nullptr;
    remember(count);
    const bool sounds = deck_ != nullptr && (wanted || fade_ > 0.0);
    if (sounds) {
        std::array<float*, 2> into = {out[0], out[1]};
        deck_->stretcher->render(deck_->filter, std::span(into.data(), deck_->channels), count);
        if (deck_->channels == 1) std::copy_n(out[0], count, out[1]);
        Heard& heard = heard_[(heard_count_ - 1) % heard_.size()];
        heard.step = (deck_->stretcher->place() - heard.line) / static_cast<double>(count);
        if (second_ != nullptr) {
            render_second(heard, count);
            mix_second(out, count);
        }
        for (std::size_t i = 0; i < count; ++i) {
            fade_ =
                wanted ? std::min(1.0, fade_ + gain_step()) : std::max(0.0, fade_ - gain_step());
            if (fade_ == 1.0) break;
            out[0][i] *= static_cast<float>(fade_);
            out[1][i] *= static_cast<float>(fade_);
        }
        train();
        if (at_end()) playing_ = false;
    } else if (second_leaves_) {
        retired_seconds.push(second_);
        second_ = nullptr;
        second_leaves_ = false;
    }
    add_click(out, count);
    const double slope = (level_ - level_now_) / static_cast<double>(count);
    for (std::size_t i = 0; i < count; ++i) {
        level_now_ += slope;
        const auto g = static_cast<float>(i + 1 == count ? level_ : level_now_);
        const auto limited = limiter_.next({out[0][i] * g, out[1][i] * g});
        out[0][i] = limited[0];
        out[1][i] = limited[1];
        meter_.add(limited[0], limited[1]);
    }
    level_now_ = level_;
}

void PlayerStage::process(std::span<float* const> out, std::size_t count) {
    while (const auto c = commands.pop())
        obey(*c);
    const std::int64_t first = frame_;
    for (std::size_t at = 0; at < count;) {
        std::size_t n = std::min(piece_frames, count - at);
        if (playing_ && (clicks_left_ > 0 || to_beat_ > 0) && fade_ == 0.0) {
            if (to_beat_ == 0) {
                click_age_ = 0;
                --clicks_left_;
                to_beat_ = beat_frames_;
            }
            n = std::min(n, static_cast<std::size_t>(to_beat_));
            to_beat_ -= static_cast<std::int64_t>(n);
            // The piece before the sound is still counted in: restore what render_piece looks at.
            const std::array<float*, 2> into = {out[0] + at, out[1] + at};
            const std::int64_t rest = to_beat_;
            to_beat_ = std::max<std::int64_t>(rest, 1);
            render_piece(into, n);
            to_beat_ = rest;
        } else {
            const std::array<float*, 2> into = {out[0] + at, out[1] + at};
            render_piece(into, n);
        }
        at += n;
    }
    // What is under the ear when this block's first frame is asked for.
    const std::int64_t late =
        limiter_.delay().value() + output_latency.load(std::memory_order_relaxed);
    const std::int64_t ear = first - late;
    StatusWords s;
    const std::size_t held = std::min(heard_count_, heard_.size());
    for (std::size_t i = 0; i < held; ++i) {
        const Heard& h = heard_[(heard_count_ - 1 - i) % heard_.size()];
        if (h.frame > ear && i + 1 < held) continue;
        double place =
            h.place + h.step * static_cast<double>(std::max<std::int64_t>(0, ear - h.frame));
        s.round = h.round;
        if (h.loop) {
            const auto length = static_cast<double>((h.loop->to - h.loop->from).value());
            while (place >= static_cast<double>(h.loop->to.value())) {
                place -= length;
                ++s.round;
            }
        }
        s.place = static_cast<std::int64_t>(std::floor(place + 1e-6));
        break;
    }
    s.loaded = deck_ != nullptr || (load_ && *load_ != nullptr);
    s.playing = playing_ || fade_ > 0.0;
    s.count_in_left = playing_ ? clicks_left_ : 0;
    s.speed = speed_;
    s.retune = retune_.value();
    if (deck_ != nullptr && deck_->line.loop()) {
        s.looping = true;
        s.loop_from = deck_->line.loop()->from.value();
        s.loop_to = deck_->line.loop()->to.value();
    }
    s.peak = meter_.peak().value();
    s.rms = meter_.rms().value();
    s.limiter_gain = decibels(limiter_.gain()).value();
    s.balance = balance_;
    s.split = split_;
    s.second = second_ != nullptr && !second_leaves_;
    published.publish(s);
}

}  // namespace bentline
