// bentline info: what a recording is, how loud, and how far off concert pitch.
#include <algorithm>
#include <memory>

#include <nlohmann/json.hpp>

#include "engine/pitch/tracker.h"
#include "engine/recording/loudness.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

// Tuning is read from at most this much sound from the middle: enough notes to settle on a cent or
// two, and a long file does not make the player wait.
constexpr Seconds tuning_excerpt{180.0};

struct InfoOptions {
    Common common;
    Span span;
    std::string recording;
};

// All of the span, or its middle where it is longer than the excerpt.
FramesRange middle_of(FramesRange span, SampleRate rate) {
    const Frames most = to_frames(tuning_excerpt, rate);
    const Frames length = span.to - span.from;
    if (length <= most) return span;
    const Frames from = span.from + Frames((length - most).value() / 2);
    return {from, from + most};
}

// The level of the span; a whole recording is measured without having it in memory.
Result<Loudness> loudness_of(const Recording& recording, FramesRange span, const Work& work) {
    if (span == recording.info().whole()) return measure_loudness(recording, work);
    const auto audio = recording.read(span, work);
    if (!audio) return audio.failure();
    return measure_loudness(*audio);
}

int run(const InfoOptions& options) {
    Console console(options.common.quiet);
    auto recording = Recording::open(options.recording);
    if (!recording) return console.fail(recording.failure());
    const RecordingInfo& info = recording->info();
    const auto span = span_of(info, options.span.from, options.span.to);
    if (!span) return console.fail(span.failure());
    if (auto ok = check_out(options.common.out, {info.path}); !ok)
        return console.fail(ok.failure());
    if (!info.note.empty()) console.say(info.note);

    auto loudness = loudness_of(*recording, *span, console.work("Measuring the level"));
    if (!loudness) return console.fail(loudness.failure());

    nlohmann::ordered_json result = {{"format", info.format},
                                     {"sample_rate", info.rate.value()},
                                     {"channels", info.file_channels},
                                     {"duration_s", rounded(info.duration().value(), 6)}};
    if (loudness->peak) result["peak_db"] = rounded(loudness->peak->value(), 2);
    if (loudness->integrated) result["loudness_lufs"] = rounded(loudness->integrated->value(), 2);

    auto audio = recording->read(middle_of(*span, info.rate), console.work("Reading"));
    if (!audio) return console.fail(audio.failure());
    auto curve = track_pitch(*audio, Focus{}, {}, console.work("Listening for the tuning"));
    if (!curve) return console.fail(curve.failure());
    const bool any_pitch = std::any_of(curve->points.begin(), curve->points.end(),
                                       [](const PitchPoint& p) { return p.f0.has_value(); });
    if (any_pitch) result["tuning_cents"] = rounded(curve->tuning.value(), 1);

    auto written = write_result(options.common.out, result.dump(2) + "\n");
    return written ? exit_done : console.fail(written.failure());
}

}  // namespace

void add_info(CLI::App& app, Run& out) {
    auto options = std::make_shared<InfoOptions>();
    CLI::App* verb = app.add_subcommand(
        "info", "What a recording is: format, length, level, and how far off concert pitch");
    verb->add_option("REC", options->recording, "The recording")->required();
    add_common(*verb, options->common, "the answer (JSON)");
    add_span(*verb, options->span);
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
