// Plans lines or phrases, slows each in memory and lays the clicks before it.
#include "engine/export/clips.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/export/number_text.h"
#include "engine/listening/stretcher.h"
#include "engine/recording/wav_file.h"

namespace bentline {
namespace {

// [first, last) bars of each line.
std::vector<Range<int>> lines_of(const Draft& draft, Range<int> bars) {
    std::vector<int> starts;
    int next = 1;
    for (const Section& s : draft.form) {
        for (int bar = s.first_bar; bar < s.first_bar + s.bars; bar += clip_bars)
            starts.push_back(bar);
        next = s.first_bar + s.bars;
    }
    for (; next < bars.to; next += clip_bars)
        starts.push_back(next);
    std::vector<Range<int>> lines;
    for (std::size_t i = 0; i < starts.size(); ++i) {
        const int to = i + 1 < starts.size() ? starts[i + 1] : std::max(bars.to, starts[i] + 1);
        lines.push_back({starts[i], std::min(to, bars.to)});
    }
    std::erase_if(lines, [&](const Range<int>& l) { return l.to <= bars.from || l.empty(); });
    if (!lines.empty()) lines.front().from = std::min(lines.front().from, bars.from);
    return lines;
}

// The bars of the chorus: of the form, of the chords, and those with notes.
Range<int> bars_of(const Draft& draft, const std::vector<Note>& notes) {
    Range<int> bars{1, 1};
    for (const Section& s : draft.form)
        bars.to = std::max(bars.to, s.first_bar + s.bars);
    bars.to = std::max(bars.to, static_cast<int>(draft.chords.size()) + 1);
    if (!notes.empty()) {
        const auto bar_of = [&](Seconds t) {
            return draft.bars->position_of(draft.bars->beats_at(t) + clip_early).bar;
        };
        bars.from = std::min(bars.from, bar_of(notes.front().onset));
        bars.to = std::max(bars.to, bar_of(notes.back().onset) + 1);
    }
    return bars;
}

std::string padded(int number, int digits) {
    std::string text = std::to_string(std::abs(number));
    if (static_cast<int>(text.size()) < digits)
        text.insert(0, static_cast<std::size_t>(digits) - text.size(), '0');
    return (number < 0 ? "minus" : "") + text;
}

ClipPlan line_plan(const BarMap& map, Range<int> bars, int digits) {
    ClipPlan plan;
    plan.name = "bars-" + padded(bars.from, digits) + "-" + padded(bars.to - 1, digits);
    const Beats from = map.beats_of({bars.from, Beats(0.0)});
    const Beats to = map.beats_of({bars.to, Beats(0.0)});
    plan.sound = {map.time_of(from - clip_early), map.time_of(to + clip_ring)};
    plan.bar_line = map.time_of(from);
    // The bar before may be anything; what is counted is the beat of the bar that comes.
    const int beats = map.metre_at(bars.from).beats_per_bar();
    const Seconds beat = (map.time_of(map.beats_of({bars.from + 1, Beats(0.0)})) - plan.bar_line) /
                         static_cast<double>(beats);
    for (int b = beats; b >= 1; --b)
        plan.clicks.push_back(plan.bar_line - beat * static_cast<double>(b));
    return plan;
}

std::vector<ClipPlan> phrase_plans(const std::vector<Note>& notes) {
    constexpr Seconds around{0.1};
    std::vector<ClipPlan> plans;
    for (std::size_t i = 0; i < notes.size();) {
        std::size_t last = i;
        while (last + 1 < notes.size() && notes[last + 1].onset - notes[last].offset < clip_pause)
            ++last;
        ClipPlan plan;
        plan.bar_line = notes[i].onset;
        plan.sound = {notes[i].onset - around, notes[last].offset + around * 3.0};
        std::string second = fixed_text(notes[i].onset.value(), 2);
        if (second.size() < 7) second.insert(0, 7 - second.size(), '0');
        plan.name = "second-" + second;
        plans.push_back(std::move(plan));
        i = last + 1;
    }
    return plans;
}

// A short, soft tick: 25 ms, fading.
void add_click(Audio& audio, Frames at, bool first) {
    const double rate = audio.rate.value();
    const double peak = amplitude(click_level);
    const double hertz = first ? 1760.0 : 1175.0;  // A6 and D6
    const auto length = static_cast<std::int64_t>(0.025 * rate);
    for (std::int64_t i = 0; i < length; ++i) {
        const std::int64_t frame = at.value() + i;
        if (frame < 0 || frame >= audio.length().value()) continue;
        const double t = static_cast<double>(i) / rate;
        const double fade = std::exp(-t / 0.006) * std::min(1.0, t / 0.001);
        const double sample = peak * fade * std::sin(2.0 * std::numbers::pi * hertz * t);
        for (std::vector<float>& channel : audio.channels) {
            float& s = channel[static_cast<std::size_t>(frame)];
            s = static_cast<float>(std::clamp(s + sample, -1.0, 1.0));
        }
    }
}

// 5 ms in and out, so that a cut makes no click.
void fade_ends(Audio& audio) {
    const auto frames = static_cast<std::size_t>(audio.length().value());
    const std::size_t fade =
        std::min(frames / 2, static_cast<std::size_t>(0.005 * audio.rate.value()));
    for (std::vector<float>& channel : audio.channels) {
        for (std::size_t i = 0; i < fade; ++i) {
            const float gain = static_cast<float>(i) / static_cast<float>(fade);
            channel[i] *= gain;
            channel[frames - 1 - i] *= gain;
        }
    }
}

// The clip: clicks, then the slowed sound, which begins under the last of them.
Audio counted_in(const ClipPlan& plan, Audio slowed, Seconds begins, double speed) {
    const SampleRate rate = slowed.rate;
    fade_ends(slowed);
    Seconds start = begins;
    if (!plan.clicks.empty()) start = std::min(start, plan.clicks.front());
    const auto place = [&](Seconds t) { return to_frames((t - start) / speed, rate); };
    Audio clip;
    clip.rate = rate;
    const auto offset = static_cast<std::size_t>(place(begins).value());
    for (const std::vector<float>& channel : slowed.channels) {
        std::vector<float> out(offset, 0.0F);
        out.insert(out.end(), channel.begin(), channel.end());
        clip.channels.push_back(std::move(out));
    }
    for (std::size_t i = 0; i < plan.clicks.size(); ++i)
        add_click(clip, place(plan.clicks[i]), i == 0);
    return clip;
}

}  // namespace

std::vector<ClipPlan> plan_clips(const Draft& draft, WhichNotes which) {
    const std::vector<Note> notes = select_notes(draft, which);
    if (!draft.bars) return phrase_plans(notes);
    const Range<int> bars = bars_of(draft, notes);
    const int digits = std::max(2, static_cast<int>(std::to_string(bars.to - 1).size()));
    std::vector<ClipPlan> plans;
    for (const Range<int>& line : lines_of(draft, bars))
        plans.push_back(line_plan(*draft.bars, line, digits));
    return plans;
}

std::string clip_file(const ClipPlan& plan, int percent) {
    return plan.name + "-" + std::to_string(percent) + ".wav";
}

Result<int> write_planned_clips(const std::vector<ClipPlan>& plans, const Recording& recording,
                                const std::filesystem::path& folder, const Work& work) {
    const RecordingInfo& info = recording.info();
    int written = 0;
    double done = 0.0;
    const double whole = static_cast<double>(plans.size() * std::size(clip_speeds));
    for (const ClipPlan& plan : plans) {
        const Frames from =
            std::clamp(to_frames(plan.sound.from, info.rate), Frames(0), info.frames);
        const Frames to = std::clamp(to_frames(plan.sound.to, info.rate), from, info.frames);
        if (from == to) continue;
        auto audio = recording.read({from, to});
        if (!audio) return audio.failure();
        for (const int percent : clip_speeds) {
            const double speed = percent / 100.0;
            auto slowed =
                slow_down(*audio, speed, Cents(0.0), work.part(done / whole, (done + 1.0) / whole));
            if (!slowed) return slowed.failure();
            const Audio clip =
                counted_in(plan, std::move(slowed).value(), audio->start_time(), speed);
            if (auto ok = write_wav(folder / clip_file(plan, percent), clip); !ok)
                return ok.failure();
            ++written;
            done += 1.0;
        }
    }
    return written;
}

}  // namespace bentline
