// Renders a phrase with a sampled voice and derives the truth from what was really sounded.
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <span>

#include "tests/corpus/take.h"
#include "tests/support/dice.h"
#include "tests/support/tones.h"

namespace bentline::corpus {

namespace {

// A stroke after damping and fades, with its level over time.
struct SoundedStroke {
    std::int64_t first = 0;  // frame in the phrase of samples[0]
    Frames pluck;            // frame in the phrase
    std::vector<float> samples;
    std::vector<Pitch> pitch;  // by block from samples[0]
};

// Gain of the hand at a time since the pluck, in dB.
double hand_gain(const Stroke& s, double t) {
    double db = 0.0;
    for (const Nudge& n : s.nudges) {
        const double since = t - n.at.value();
        if (since >= 0.0)
            db += n.by.value() * std::min(1.0, since / 0.003) * std::exp(-since / 0.06);
    }
    for (const auto& [span, lost] : s.fades) {
        db -= lost.value() *
              std::clamp((t - span.from.value()) / (span.to - span.from).value(), 0.0, 1.0);
    }
    const double damped = t - (s.damped - s.pluck).value();
    if (damped > 0.0) db -= 60.0 * damped / s.release.value();
    return db;
}

double swell_gain(const Phrase& phrase, double t) {
    double db = 0.0;
    for (const Swell& s : phrase.swells) {
        if (!s.span.contains(Seconds(t))) continue;
        db += s.from.value() + (s.to - s.from).value() * (t - s.span.from.value()) /
                                   (s.span.to - s.span.from).value();
    }
    return db;
}

SoundedStroke sound(const Phrase& phrase, const Stroke& stroke, LeadVoice& voice) {
    const Seconds length = stroke.damped - stroke.pluck + stroke.release * 1.2;
    Sounded s = voice.play(stroke.key, stroke.velocity, length,
                           [&](Seconds t) { return stroke.contour.at(t); });
    SoundedStroke out;
    out.pluck = to_frames(stroke.pluck, voice.rate());
    out.first = (out.pluck - s.pluck).value();
    out.pitch = std::move(s.pitch);
    const double level = (stroke.level - s.plain_level).value();
    out.samples = std::move(s.samples);
    for (std::size_t i = 0; i < out.samples.size(); ++i) {
        const double t = static_cast<double>(static_cast<std::int64_t>(i) - s.pluck.value()) /
                         voice.rate().value();
        const double db =
            level + hand_gain(stroke, t) + swell_gain(phrase, stroke.pluck.value() + t);
        out.samples[i] *= static_cast<float>(amplitude(Decibels(db)));
    }
    return out;
}

// RMS over 25 ms (two periods of the lowest string) around a frame of the phrase, in dB.
double level_at(const SoundedStroke& s, std::int64_t frame, SampleRate rate) {
    const std::int64_t half = rate.value() / 80;
    const auto size = static_cast<std::int64_t>(s.samples.size());
    const std::int64_t from = std::clamp<std::int64_t>(frame - s.first - half, 0, size);
    const std::int64_t to = std::clamp<std::int64_t>(frame - s.first + half, 0, size);
    double power = 0.0;
    for (std::int64_t i = from; i < to; ++i) {
        const double x = s.samples[static_cast<std::size_t>(i)];
        power += x * x;
    }
    return 10.0 * std::log10(power / static_cast<double>(2 * half) + 1e-14);
}

struct Levels {
    std::vector<double> every_5_ms;  // from the pluck
    double loudest() const { return *std::max_element(every_5_ms.begin(), every_5_ms.end()); }
};

Levels levels_of(const SoundedStroke& s, SampleRate rate) {
    Levels l;
    const std::int64_t step = rate.value() / 200;
    const std::int64_t end = s.first + static_cast<std::int64_t>(s.samples.size());
    for (std::int64_t f = s.pluck.value(); f < end || l.every_5_ms.empty(); f += step) {
        l.every_5_ms.push_back(level_at(s, f, rate));
    }
    return l;
}

// When, since the pluck, the stroke sinks under `floor` for good.
Seconds inaudible_from(const Levels& l, double floor) {
    std::size_t i = l.every_5_ms.size();
    while (i > 0 && l.every_5_ms[i - 1] < floor)
        --i;
    return Seconds(0.005 * static_cast<double>(i));
}

Pitch pitch_at(const SoundedStroke& s, Seconds t, SampleRate rate) {
    // Block i is right at its middle.
    const double at = (t.value() * rate.value() - static_cast<double>(s.first)) / pitch_block - 0.5;
    const auto last = static_cast<double>(s.pitch.size() - 1);
    const double x = std::clamp(at, 0.0, last);
    const auto i = std::min(static_cast<std::size_t>(x), s.pitch.size() - 1);
    const std::size_t j = std::min(i + 1, s.pitch.size() - 1);
    return s.pitch[i] + (s.pitch[j] - s.pitch[i]) * (x - static_cast<double>(i));
}

std::optional<Cents> plain_cents(const PhraseNote& n, const SoundedStroke& s, SampleRate rate) {
    std::vector<double> cents;
    for (Seconds t = n.plain.from; t < std::min(n.plain.to, n.truth.offset); t += Seconds(0.002)) {
        cents.push_back((pitch_at(s, t, rate) - Pitch(n.truth.key)).value());
    }
    if (cents.size() < 10 || find<Trill>(n.truth)) return std::nullopt;
    const auto middle = cents.begin() + static_cast<std::ptrdiff_t>(cents.size() / 2);
    std::nth_element(cents.begin(), middle, cents.end());
    return Cents(*middle);
}

// Noise through two resonances of Q 1.2 (band-pass of the audio equaliser cookbook, R.
// Bristow-Johnson).
void add_scratch(std::vector<float>& to, const Scratch& s, SampleRate rate, testing::Dice dice) {
    const double w = 2.0 * std::numbers::pi * s.centre.value() / rate.value();
    const double alpha = std::sin(w) / 2.4;
    const double a1 = -2.0 * std::cos(w) / (1.0 + alpha);
    const double a2 = (1.0 - alpha) / (1.0 + alpha);
    const double b = alpha / (1.0 + alpha);
    std::vector<float> x = testing::noise(Decibels(0.0), s.length, rate, dice.next());
    for (int pass = 0; pass < 2; ++pass) {
        double x1 = 0, x2 = 0, y1 = 0, y2 = 0;
        for (float& v : x) {
            const double y = b * (v - x2) - a1 * y1 - a2 * y2;
            x2 = x1;
            x1 = v;
            y2 = y1;
            y1 = y;
            v = static_cast<float>(y);
        }
    }
    double power = 1e-20;
    for (std::size_t i = 0; i < x.size(); ++i) {
        const double share = static_cast<double>(i) / static_cast<double>(x.size());
        x[i] *= static_cast<float>(std::sin(std::numbers::pi * share));
        power += static_cast<double>(x[i]) * x[i] / static_cast<double>(x.size());
    }
    const double gain = amplitude(s.level) / std::sqrt(power);
    for (float& v : x)
        v = static_cast<float>(v * gain);
    testing::mix_in(to, x, std::max(Seconds(0), s.at), rate);
}

std::vector<std::optional<Hertz>> pitch_rows(const std::vector<PhraseNote>& notes,
                                             const std::vector<SoundedStroke>& strokes,
                                             Seconds length, SampleRate rate) {
    std::vector<std::optional<Hertz>> rows(static_cast<std::size_t>(length / row_step) + 1);
    for (const PhraseNote& n : notes) {
        const auto first = static_cast<std::size_t>(std::ceil(n.truth.onset / row_step - 1e-9));
        for (std::size_t i = first; i < rows.size(); ++i) {
            const Seconds t = row_step * static_cast<double>(i);
            if (t >= n.truth.offset) break;
            rows[i] = frequency(pitch_at(strokes[n.stroke], t, rate));
        }
    }
    return rows;
}

}  // namespace

LeadTrack render_lead(const Phrase& phrase, LeadVoice& voice, std::uint64_t seed) {
    const SampleRate rate = voice.rate();
    std::vector<SoundedStroke> strokes;
    std::vector<Levels> levels;
    double peak = -200.0;
    for (const Stroke& s : phrase.strokes) {
        strokes.push_back(sound(phrase, s, voice));
        levels.push_back(levels_of(strokes.back(), rate));
        peak = std::max(peak, levels.back().loudest());
    }

    LeadTrack track;
    track.samples.assign(testing::sample_count(phrase.length, rate), 0.0F);
    for (const SoundedStroke& s : strokes) {
        for (std::size_t i = 0; i < s.samples.size(); ++i) {
            const std::int64_t at = s.first + static_cast<std::int64_t>(i);
            if (at < 0 || at >= static_cast<std::int64_t>(track.samples.size())) continue;
            track.samples[static_cast<std::size_t>(at)] += s.samples[i];
        }
    }
    for (const Beside& b : phrase.beside) {
        Stroke s = phrase.strokes[b.stroke];
        s.pluck += b.late;
        s.key = b.key;
        s.level = s.level - b.under;
        s.contour = Contour{Pitch(b.key), {}, {}};
        const SoundedStroke along = sound(phrase, s, voice);
        for (std::size_t i = 0; i < along.samples.size(); ++i) {
            const std::int64_t at = along.first + static_cast<std::int64_t>(i);
            if (at < 0 || at >= static_cast<std::int64_t>(track.samples.size())) continue;
            track.samples[static_cast<std::size_t>(at)] += along.samples[i];
        }
    }
    testing::Dice dice(seed ^ 0x5C4A7C4ULL);
    for (const Scratch& s : phrase.scratches)
        add_scratch(track.samples, s, rate, dice.branch(1));
    track.samples.resize(testing::sample_count(phrase.length, rate));

    std::vector<PhraseNote> notes = phrase.notes;
    for (std::size_t i = 0; i < notes.size(); ++i) {
        PhraseNote& n = notes[i];
        const Stroke& stroke = phrase.strokes[n.stroke];
        const bool goes_on = i + 1 < notes.size() && notes[i + 1].stroke == n.stroke;
        Seconds end = goes_on ? n.truth.offset : n.truth.offset + stroke.release / 3.0;
        if (i + 1 < notes.size()) end = std::min(end, notes[i + 1].truth.onset);
        end = std::min(
            end, stroke.pluck + inaudible_from(levels[n.stroke], peak - audible_range.value()));
        n.truth.offset = std::max(end, n.truth.onset + Seconds(0.02));
        double loudest = -120.0;
        for (Seconds t = n.truth.onset; t < n.truth.offset; t += Seconds(0.005)) {
            loudest =
                std::max(loudest, level_at(strokes[n.stroke], to_frames(t, rate).value(), rate));
        }
        n.truth.level = Decibels(loudest);
        n.truth.cents = plain_cents(n, strokes[n.stroke], rate);
        track.truth.notes.push_back(n.truth);
    }
    track.truth.rows = pitch_rows(notes, strokes, phrase.length, rate);
    track.truth.tuning = Cents(0);
    const Seconds beat(60.0 / phrase.beats_per_minute);
    for (Seconds t = phrase.first_beat; t < phrase.length; t += beat)
        track.truth.beats.push_back(t);
    return track;
}

}  // namespace bentline::corpus
