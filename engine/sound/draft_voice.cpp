// Strokes, releases and jumps over the recording's time.
#include "engine/sound/draft_voice.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace bentline {
namespace {

constexpr int steer_frames = 16;
// Common practice, no source.
constexpr Seconds lifted{0.06};        // the finger leaves: 60 dB down
constexpr Seconds clipped{0.025};      // staccato
constexpr Seconds struck_over{0.012};  // the next stroke stops the note before
constexpr Seconds hushed{0.008};
constexpr Seconds step_ramp{0.004};  // from fret to fret
constexpr Seconds dies_away{0.5};    // while sliding to nowhere: 60 dB down in this
// A pickup with its cable: common practice, no source.
constexpr Hertz pickup_resonance{3800.0};
constexpr double pickup_q = 1.1;
constexpr Decibels most_swell{6.0};  // of a note that is not struck, against how it would ring on

}  // namespace

DraftVoice::DraftVoice(std::shared_ptr<const PlayedPart> part, SampleRate rate,
                       const StringSettings& settings)
    : part_(std::move(part)),
      settings_(settings),
      rate_(rate),
      strings_{PluckedString(rate, settings), PluckedString(rate, settings)} {
    set_rate(rate);
}

void DraftVoice::set_rate(SampleRate rate) {
    if (rate != rate_) strings_ = {PluckedString(rate, settings_), PluckedString(rate, settings_)};
    rate_ = rate;
    state_ = State{};
    next_ = 0;
    // Lowpass of the second order by the bilinear transform.
    const double f = std::min(pickup_resonance.value(), 0.4 * rate.value());
    const double k = std::tan(std::numbers::pi * f / rate.value());
    const double norm = 1.0 / (1.0 + k / pickup_q + k * k);
    b0_ = k * k * norm;
    b1_ = 2.0 * b0_;
    a1_ = 2.0 * (k * k - 1.0) * norm;
    a2_ = (1.0 - k / pickup_q + k * k) * norm;
}

double DraftVoice::coloured(double x) {
    auto& [s1, s2] = state_.colour;
    const double y = b0_ * x + s1;
    s1 = b1_ * x - a1_ * y + s2;
    s2 = b0_ * x - a2_ * y;
    if (std::abs(s1) < 1e-15) s1 = 0.0;
    if (std::abs(s2) < 1e-15) s2 = 0.0;
    // A soft knee from 0.8 to 1.
    const double size = std::abs(y);
    if (size <= 0.8) return y;
    return std::copysign(0.8 + 0.2 * std::tanh((size - 0.8) / 0.2), y);
}

// The loop's pitch is the mean over the period behind it: it is steered by the course half a period
// ago.
Hertz DraftVoice::pitch_at(Seconds at, Seconds a_frame, Cents retune) const {
    const Seconds period =
        a_frame * (rate_.value() / strings_[state_.string].frequency_now().value());
    const Seconds t = at - period * 0.5;
    const Seconds ramp = std::max(period, a_frame * (step_ramp.value() * rate_.value()));
    Pitch pitch = state_.note->course.at(t, ramp);
    if (state_.joins) {
        const double share = (at - state_.since) / std::max(ramp, Seconds(0.01));
        if (share < 1.0) {
            const double left = 0.5 + 0.5 * std::cos(std::numbers::pi * std::max(0.0, share));
            pitch = pitch + (state_.before.at(t, ramp) - pitch) * left;
        }
    }
    return frequency(pitch, part_->tuning + retune);
}

void DraftVoice::steer(Seconds at, const PlaceInTime& place, Cents retune) {
    string().steer(pitch_at(at + place.a_frame * steer_frames, place.a_frame, retune),
                   steer_frames);
    state_.to_steer = steer_frames;
}

void DraftVoice::strike(const PlayedNote& note, Seconds at, Decibels level,
                        const PlaceInTime& place, Cents retune) {
    string().damp(struck_over);
    state_.string = 1 - state_.string;
    state_.note = note;
    state_.released = false;
    state_.joins = false;
    state_.stroke = at;
    state_.struck_level = note.level;
    // Harder strokes are brighter; a player's middling one is -20 dB here.
    const double hard = std::pow(10.0, (level.value() + 20.0) / 60.0) * (note.accent ? 1.5 : 1.0);
    const Seconds early = at + place.a_frame * 0.5;
    string().strike(frequency(note.course.at(early, place.a_frame), part_->tuning + retune), level,
                    std::clamp(hard, 0.4, 2.5), ++state_.strokes);
    state_.to_steer = 0;
}

void DraftVoice::begin(const PlayedNote& note, Seconds at, const PlaceInTime& place, Cents retune) {
    if (note.struck || !state_.note || state_.released || string().silent()) {
        strike(note, at, note.level, place, retune);
        return;
    }
    // The string sounds on. Its level follows the measured one, as far as a finger can.
    const Seconds heard_since = (at - state_.stroke) / (place.a_frame.value() * rate_.value());
    const Decibels died(-60.0 * (heard_since / decay_time(string().frequency_now(), settings_)));
    const Decibels wanted = note.level - (state_.struck_level + died);
    const Decibels swell =
        note.measured ? std::clamp(wanted, -most_swell, most_swell) : Decibels(0.0);
    string().swell(amplitude(swell), Seconds(0.02));
    state_.stroke = at;
    state_.struck_level = state_.struck_level + died + swell;
    state_.before = state_.note->course;
    state_.since = at;
    state_.joins = true;
    state_.note = note;
}

void DraftVoice::jump(Seconds at, const PlaceInTime& place, Cents retune) {
    hush();
    const auto& notes = part_->notes;
    const auto after = std::upper_bound(notes.begin(), notes.end(), at,
                                        [](Seconds t, const PlayedNote& n) { return t < n.onset; });
    next_ = static_cast<std::size_t>(after - notes.begin());
    if (next_ == 0) return;
    const PlayedNote& under = notes[next_ - 1];
    const double heard = 1.0 / (place.a_frame.value() * rate_.value());
    if (at == under.onset) {
        --next_;  // begins with this very frame
        return;
    }
    if ((under.offset - at) * heard < voice_shortest_rest) return;
    const Hertz f = frequency(under.course.at(at, place.a_frame));
    const Decibels died(-60.0 * ((at - under.onset) * heard / decay_time(f, settings_)));
    strike(under, at, under.level + died, place, retune);
}

void DraftVoice::hush() {
    for (PluckedString& s : strings_)
        s.damp(hushed);
    state_.released = true;
    state_.note.reset();
    state_.expected.reset();
}

void DraftVoice::take_over(SecondSource& before) {
    auto* const other = dynamic_cast<DraftVoice*>(&before);
    if (other == nullptr || other->rate_ != rate_) return;
    for (std::size_t i = 0; i < strings_.size(); ++i)
        strings_[i].copy_sound(other->strings_[i]);
    state_ = other->state_;
    if (!state_.expected) return;
    const Seconds at = *state_.expected;
    const auto& notes = part_->notes;
    const auto after = std::upper_bound(notes.begin(), notes.end(), at,
                                        [](Seconds t, const PlayedNote& n) { return t < n.onset; });
    next_ = static_cast<std::size_t>(after - notes.begin());
    if (next_ > 0 && state_.note && !state_.released) {
        const PlayedNote& under = notes[next_ - 1];
        if (under.onset == state_.note->onset && at < under.offset) {
            // The same stroke, perhaps with another course: the string goes over to it.
            if (!(under.course == state_.note->course)) {
                state_.before = state_.note->course;
                state_.since = at;
                state_.joins = true;
            }
            state_.note = under;
            return;
        }
    }
    if (state_.note) state_.expected.reset();  // something else sounds here now: as after a jump
}

void DraftVoice::render(PlaceInTime place, Cents retune, std::span<float> out) {
    const auto& notes = part_->notes;
    const Seconds slack = place.a_frame * 1.5;
    if (!state_.expected || place.at > *state_.expected + slack ||
        place.at < *state_.expected - slack) {
        jump(place.at, place, retune);
    }
    for (std::size_t i = 0; i < out.size(); ++i) {
        const Seconds at = place.at + place.a_frame * static_cast<double>(i);
        // A millionth of a frame: sums of places are not exact.
        const Seconds now = at + place.a_frame * 1e-6;
        while (next_ < notes.size() && notes[next_].onset <= now)
            begin(notes[next_++], at, place, retune);
        if (!state_.released && state_.note && now >= state_.note->offset) {
            const bool sounds_on = next_ < notes.size() && !notes[next_].struck;
            if (!sounds_on) {
                string().damp(state_.note->staccato ? clipped : lifted);
                state_.released = true;
            }
        }
        if (state_.note && !string().silent()) {
            if (state_.to_steer == 0) {
                steer(at, place, retune);
                const auto dying = state_.note->course.dying();
                if (dying && dying->contains(at)) string().damp(dies_away);
            }
            --state_.to_steer;
        }
        out[i] = static_cast<float>(coloured(strings_[0].next() + strings_[1].next()));
    }
    state_.expected = place.at + place.a_frame * static_cast<double>(out.size());
}

}  // namespace bentline
