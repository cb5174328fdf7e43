// Mixing: places, levels, room, tape, hiss.
#include "tests/corpus/scene.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>

#include "tests/corpus/room.h"
#include "tests/support/tones.h"

namespace bentline::corpus {

namespace {

using testing::Dice;

// Power of both channels, over the rows where the lead sounds or over the span of its notes.
double power_of(const Stereo& s, const Truth& truth, bool only_sounding, SampleRate rate) {
    double sum = 0.0;
    std::size_t count = 0;
    const auto per_row = static_cast<std::size_t>(rate.value() / 100);
    const auto first = static_cast<std::size_t>(truth.notes.front().onset / row_step);
    const auto last = static_cast<std::size_t>(truth.notes.back().offset / row_step);
    for (std::size_t r = first; r < std::min(last, truth.rows.size()); ++r) {
        if (only_sounding && !truth.rows[r]) continue;
        for (std::size_t i = r * per_row; i < std::min((r + 1) * per_row, s.left.size()); ++i) {
            sum += static_cast<double>(s.left[i]) * s.left[i] +
                   static_cast<double>(s.right[i]) * s.right[i];
            ++count;
        }
    }
    return sum / static_cast<double>(std::max<std::size_t>(1, count)) + 1e-20;
}

Stereo placed(const std::vector<float>& mono, double place) {
    const double angle = (place + 1.0) * std::numbers::pi / 4.0;
    Stereo s{mono, mono};
    for (float& v : s.left)
        v *= static_cast<float>(std::cos(angle));
    for (float& v : s.right)
        v *= static_cast<float>(std::sin(angle));
    return s;
}

// Draws the two channels together; returns where something at `place` then stands.
double narrow(Stereo& s, double place, double keep) {
    for (std::size_t i = 0; i < s.left.size(); ++i) {
        const float middle = 0.5F * (s.left[i] + s.right[i]);
        const float side = 0.5F * static_cast<float>(keep) * (s.left[i] - s.right[i]);
        s.left[i] = middle + side;
        s.right[i] = middle - side;
    }
    const double angle = (place + 1.0) * std::numbers::pi / 4.0;
    const double m = 0.5 * (std::cos(angle) + std::sin(angle));
    const double d = 0.5 * keep * (std::cos(angle) - std::sin(angle));
    return std::atan2(m - d, m + d) * 4.0 / std::numbers::pi - 1.0;
}

Tape draw_tape(Dice& dice) {
    Tape t{};
    if (dice.chance(0.5)) t.off = Cents(dice.between(-40.0, 40.0));
    if (dice.chance(0.4)) {
        t.wow_depth = Cents(dice.between(1.0, 6.0));
        t.wow_rate = Hertz(dice.between(0.4, 1.5));
        t.phase = dice.between(0.0, 6.28);
    }
    return t;
}

void add_hiss(Stereo& s, Decibels level, SampleRate rate, Dice& dice) {
    const Seconds length =
        to_seconds(Frames(static_cast<std::int64_t>(s.left.size())), rate) + Seconds(0.01);
    const auto left = testing::noise(level, length, rate, dice.next());
    const auto right = testing::noise(level, length, rate, dice.next());
    for (std::size_t i = 0; i < s.left.size(); ++i) {
        s.left[i] += left[i];
        s.right[i] += right[i];
    }
}

double peak_of(const Stereo& s) {
    float peak = 1e-6F;
    for (float v : s.left)
        peak = std::max(peak, std::abs(v));
    for (float v : s.right)
        peak = std::max(peak, std::abs(v));
    return peak;
}

}  // namespace

Result<Take> stage(Scene scene, Decibels lead_over_band, const Phrase& phrase, LeadTrack lead,
                   const std::string& band_font, SampleRate rate, Dice& dice,
                   const BandWriter& write) {
    Take take;
    take.truth = std::move(lead.truth);
    if (scene == Scene::clean) {
        testing::mix_in(lead.samples,
                        testing::noise(Decibels(-84.0), phrase.length, rate, dice.next()),
                        Seconds(0), rate);
        take.audio = testing::audio_of(std::move(lead.samples), rate);
        return take;
    }

    double place = std::clamp(0.35 * dice.normal(), -0.7, 0.7);
    Stereo mix = placed(lead.samples, place);
    if (scene == Scene::band) {
        const auto parts = write(phrase, take.truth, dice);
        auto others = play_parts(parts, band_font, phrase.length, rate);
        if (!others) return others.failure();
        const double gain = std::sqrt(power_of(mix, take.truth, true, rate) /
                                      power_of(*others, take.truth, false, rate)) /
                            amplitude(lead_over_band);
        const std::size_t frames = std::min(mix.left.size(), others->left.size());
        for (std::size_t i = 0; i < frames; ++i) {
            mix.left[i] += static_cast<float>(gain) * others->left[i];
            mix.right[i] += static_cast<float>(gain) * others->right[i];
        }
    }
    const RoomAnswer room = draw_room(dice, Seconds(dice.between(0.25, 0.9)), rate);
    add_room(mix, room, Decibels(dice.between(-20.0, -8.0)));
    if (dice.chance(0.35)) place = narrow(mix, place, dice.between(0.05, 0.3));
    if (dice.chance(0.6))
        limit_band(mix, Hertz(dice.between(40.0, 120.0)), Hertz(dice.between(4500.0, 10000.0)),
                   rate);
    run_tape(draw_tape(dice), mix, take.truth, rate);
    const double gain = dice.between(0.3, 0.9) / peak_of(mix);
    for (float& v : mix.left)
        v *= static_cast<float>(gain);
    for (float& v : mix.right)
        v *= static_cast<float>(gain);
    for (Note& n : take.truth.notes)
        n.level = *n.level + decibels(gain);
    add_hiss(mix, Decibels(dice.between(-72.0, -52.0)), rate, dice);
    take.focus.place = place;
    take.focus.width = 0.5;
    take.audio = testing::stereo_of(std::move(mix.left), std::move(mix.right), rate);
    return take;
}

}  // namespace bentline::corpus
