// What is drawn for each take: instrument and amplifier of the lead, rests, the others'
// instruments, levels, the sound of the whole.
#include "tests/corpus/training/wide_takes.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tests/corpus/other_band.h"
#include "tests/corpus/patch_file.h"
#include "tests/corpus/phrase.h"
#include "tests/corpus/recorded_voice.h"
#include "tests/corpus/sampled_voice.h"
#include "tests/corpus/scene.h"
#include "tests/corpus/string_voice.h"
#include "tests/support/dice.h"

namespace bentline::corpus {

namespace {

using testing::Dice;

constexpr SampleRate rate{44100};
constexpr std::uint64_t training_seeds = 50'000'000;
// Shares of the leads; what is left are a soundfont's guitars.
constexpr double summed_share = 0.25;
constexpr double patch_share = 0.2;
constexpr double wind_share = 0.08;
constexpr double other_band_share = 0.35;

// General MIDI from 0. Nylon guitars are left out: the locked takes alone have them.
constexpr int guitars[] = {25, 26, 26, 27, 27, 28, 29, 30};
constexpr int other_plucked[] = {46, 105, 106, 107};
constexpr int winds[] = {22, 56, 57, 66, 68, 71, 73};
constexpr int comping_programs[] = {0,  1,  2,  3,  4,  5,  7,  11, 12, 16, 17, 18, 19,
                                    21, 24, 25, 26, 27, 28, 29, 48, 49, 50, 52, 61, 89};
constexpr int bass_programs[] = {32, 32, 32, 33, 33, 34, 35, 36, 38, 39, 43};
constexpr int kits[] = {0, 8, 16, 24, 25, 32, 40};
constexpr int answering_programs[] = {56, 57, 58, 59, 60, 61, 64, 65, 66, 67, 68,
                                      71, 72, 73, 40, 41, 42, 22, 21, 11, 12, 0,
                                      4,  16, 18, 26, 27, 25, 52, 53, 80, 81};

// Takes the soloist out of a stretch, so that the others play on alone.
void rest_for_a_while(Phrase& phrase, Dice& dice) {
    const double from = dice.between(0.5, phrase.length.value() - 1.5);
    const double to = from + dice.between(0.8, 3.0);
    std::vector<std::size_t> new_index(phrase.strokes.size(), phrase.strokes.size());
    std::vector<Stroke> strokes;
    for (std::size_t i = 0; i < phrase.strokes.size(); ++i) {
        const double at = phrase.strokes[i].pluck.value();
        if (at >= from && at < to) continue;
        new_index[i] = strokes.size();
        strokes.push_back(phrase.strokes[i]);
    }
    if (strokes.size() < 6) return;
    std::vector<PhraseNote> notes;
    for (PhraseNote n : phrase.notes) {
        if (new_index[n.stroke] == phrase.strokes.size()) continue;
        n.stroke = new_index[n.stroke];
        notes.push_back(n);
    }
    phrase.strokes = std::move(strokes);
    phrase.notes = std::move(notes);
}

// One pole of a low-pass, in place.
void dull(std::vector<float>& x, double corner) {
    const double keep = std::exp(-2.0 * std::numbers::pi * corner / rate.value());
    double y = 0.0;
    for (float& v : x) {
        y = keep * y + (1.0 - keep) * static_cast<double>(v);
        v = static_cast<float>(y);
    }
}

// Tilts the spectrum about a corner by up to `most` dB a side.
void tilt(std::vector<float>& x, Dice& dice, double most) {
    std::vector<float> low = x;
    dull(low, dice.between(200.0, 2000.0));
    const double below = amplitude(Decibels(dice.between(-most, most)));
    for (std::size_t i = 0; i < x.size(); ++i) {
        x[i] += static_cast<float>((below - 1.0) * static_cast<double>(low[i]));
    }
}

double rms(const std::vector<float>& x) {
    double power = 1e-20;
    for (const float v : x)
        power += static_cast<double>(v) * static_cast<double>(v);
    return std::sqrt(power / static_cast<double>(x.size()));
}

// A valve's soft limit, a little lopsided; the loudness stays.
void drive(std::vector<float>& x, double gain) {
    const double before = rms(x);
    const double scale = gain / (4.0 * before);
    for (float& v : x) {
        v = static_cast<float>(std::tanh(scale * static_cast<double>(v) + 0.1) - std::tanh(0.1));
    }
    const double after = rms(x);
    for (float& v : x)
        v = static_cast<float>(static_cast<double>(v) * before / after);
}

void colour_lead(std::vector<float>& x, Dice& dice) {
    if (dice.chance(0.5)) tilt(x, dice, 9.0);
    if (dice.chance(0.3)) {
        drive(x, amplitude(Decibels(dice.between(-6.0, 15.0))));
        if (dice.chance(0.7)) dull(x, dice.between(1500.0, 6000.0));
    }
}

void transpose(BandPart& part, int by) {
    for (BandNote& n : part.notes)
        n.key = std::clamp(n.key + by, 24, 96);
}

std::vector<BandPart> wide_band(const Phrase& phrase, const Truth& lead, Dice& dice) {
    std::vector<BandPart> parts = write_accompaniment(phrase, lead, dice);
    // The order of parts: comping, bass, drums and, if there is one, the answering voice.
    if (dice.chance(0.4)) {
        std::vector<BandPart> more = write_accompaniment(phrase, lead, dice);
        if (more.size() > 3) parts.push_back(std::move(more[3]));
    }
    if (dice.chance(0.2)) {
        std::vector<BandPart> more = write_accompaniment(phrase, lead, dice);
        more[0].program = dice.pick(comping_programs);
        more[0].level = Decibels(dice.between(-8.0, 0.0));
        parts.push_back(std::move(more[0]));
    }
    if (dice.chance(0.7)) parts[0].program = dice.pick(comping_programs);
    if (dice.chance(0.3)) transpose(parts[0], dice.chance(0.5) ? 12 : -7);
    parts[0].level = Decibels(dice.between(-5.0, 3.0));
    parts[0].place = std::clamp(0.5 * dice.normal(), -0.9, 0.9);
    if (dice.chance(0.5)) parts[1].program = dice.pick(bass_programs);
    if (dice.chance(0.15)) transpose(parts[1], 12);
    if (dice.chance(0.4)) parts[2].program = dice.pick(kits);
    for (std::size_t i = 3; i < parts.size(); ++i) {
        if (dice.chance(0.7)) parts[i].program = dice.pick(answering_programs);
        if (dice.chance(0.4)) transpose(parts[i], dice.whole(-7, 12));
    }
    // A band without bass or drums.
    if (dice.chance(0.08)) parts.erase(parts.begin() + 2);
    if (dice.chance(0.08)) parts.erase(parts.begin() + 1);
    return parts;
}

void bracket(const Take& take, Focus& focus, Dice& dice) {
    double low = 100.0;
    double high = 20.0;
    for (const auto& row : take.truth.rows) {
        if (!row) continue;
        low = std::min(low, pitch_of(*row).value());
        high = std::max(high, pitch_of(*row).value());
    }
    focus.lowest = Pitch(std::max(23.0, low - dice.between(0.5, 5.0)));
    focus.highest = Pitch(std::min(100.0, high + dice.between(0.5, 5.0)));
}

}  // namespace

WideTakes::WideTakes(const std::vector<std::string>& files) {
    for (const std::string& file : files)
        (file.ends_with(".pat") ? patches_ : fonts_).push_back(file);
}

Result<LeadVoice*> WideTakes::draw_voice(Dice& dice, std::uint64_t seed) {
    const auto one_of = [&](const std::vector<std::string>& files) {
        return files[static_cast<std::size_t>(dice.whole(0, static_cast<int>(files.size()) - 1))];
    };
    const double kind = dice.unit();
    if (kind < summed_share) {
        drawn_ = std::make_unique<StringVoice>(draw_string(seed), rate);
        return drawn_.get();
    }
    std::string file;
    int program = 0;
    Drift drift = Drift::plucked;
    if (kind < summed_share + patch_share && !patches_.empty()) {
        file = one_of(patches_);
    } else {
        file = one_of(fonts_);
        if (kind > 1.0 - wind_share) {
            program = dice.pick(winds);
            drift = Drift::breathed;
        } else {
            program = dice.chance(0.85) ? dice.pick(guitars) : dice.pick(other_plucked);
        }
    }
    std::unique_ptr<LeadVoice>& voice = voices_[{file, program}];
    if (voice) return voice.get();
    if (file.ends_with(".pat")) {
        auto tones = read_patch(file);
        if (!tones) return tones.failure();
        voice = std::make_unique<RecordedVoice>(std::move(*tones), rate);
    } else {
        auto opened = SampledVoice::open(file, program, rate, drift);
        if (!opened) return opened.failure();
        voice = std::make_unique<SampledVoice>(std::move(*opened));
    }
    return voice.get();
}

Result<TrainingTake> WideTakes::make(int number) {
    const std::uint64_t seed = training_seeds + static_cast<std::uint64_t>(number);
    Dice dice(seed ^ 0x7EACULL);
    PhraseSettings settings;
    settings.length = Seconds(dice.between(7.0, 9.0));
    settings.lowest = MidiKey(dice.whole(40, 50));
    settings.highest = MidiKey(dice.whole(76, 88));
    Phrase phrase = write_phrase(seed, settings);
    if (dice.chance(0.4)) rest_for_a_while(phrase, dice);
    if (dice.chance(0.1)) rest_for_a_while(phrase, dice);

    const auto lead_voice = draw_voice(dice, seed);
    if (!lead_voice) return lead_voice.failure();
    LeadTrack lead = render_lead(phrase, **lead_voice, seed);
    colour_lead(lead.samples, dice);

    const double kind = dice.unit();
    const Scene scene = kind < 0.08 ? Scene::clean : kind < 0.18 ? Scene::room : Scene::band;
    const std::string& band_font =
        fonts_[static_cast<std::size_t>(dice.whole(0, static_cast<int>(fonts_.size()) - 1))];
    auto staged =
        stage(scene, Decibels(dice.between(-5.0, 10.0)), phrase, std::move(lead), band_font, rate,
              dice, dice.chance(other_band_share) ? write_other_band : wide_band);
    if (!staged) return staged.failure();
    TrainingTake out;
    out.take = std::move(*staged);
    if (dice.chance(0.4)) {
        Dice same = dice.branch(1);
        for (std::vector<float>& channel : out.take.audio.channels) {
            Dice each = same;
            tilt(channel, each, 6.0);
        }
    }
    bracket(out.take, out.take.focus, dice);
    out.pointed = scene != Scene::clean && dice.chance(0.35);
    return out;
}

}  // namespace bentline::corpus
