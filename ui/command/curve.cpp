// bentline curve: the pitch line of the lead, one row each 10 ms.
#include <memory>

#include "engine/pitch/tracker.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

constexpr Seconds row_step{0.010};

struct CurveOptions {
    Common common;
    Span span;
    Focus focus;
    std::string recording;
};

// The row at time t is the curve's point nearest to it. Rows start at 0, or at the first whole row
// of an excerpt.
std::string rows(const PitchCurve& curve) {
    std::string text = "time_s,f0_hz,confidence,level_db\n";
    const auto first = static_cast<long>(std::ceil(curve.start / row_step - 1e-6));
    const auto last = static_cast<long>(std::ceil(curve.end() / row_step - 1e-6));
    for (long row = first; row < last; ++row) {
        const Seconds t = row_step * static_cast<double>(row);
        const auto i = static_cast<std::size_t>(std::lround((t - curve.start) / curve.hop));
        if (i >= curve.points.size()) break;
        const PitchPoint& p = curve.points[i];
        text += fixed(t.value(), 2) + "," + fixed(p.f0 ? p.f0->value() : 0.0, 3) + "," +
                fixed(p.confidence, 3) + "," + fixed(p.level.value(), 2) + "\n";
    }
    return text;
}

int run(const CurveOptions& options) {
    Console console(options.common.quiet);
    if (auto ok = check_out(options.common.out, {options.recording}); !ok)
        return console.fail(ok.failure());
    auto audio = read_span(options.recording, options.span.from, options.span.to, console);
    if (!audio) return console.fail(audio.failure());
    auto curve = track_pitch(*audio, options.focus, {}, console.work("Following the pitch"));
    if (!curve) return console.fail(curve.failure());
    auto written = write_result(options.common.out, rows(*curve));
    return written ? exit_done : console.fail(written.failure());
}

}  // namespace

void add_curve(CLI::App& app, Run& out) {
    auto options = std::make_shared<CurveOptions>();
    CLI::App* verb = app.add_subcommand(
        "curve",
        "The pitch line of the lead as a table: a row each 10 ms, 0 Hz where he is silent");
    verb->add_option("REC", options->recording, "The recording")->required();
    add_common(*verb, options->common, "the table (CSV)");
    add_span(*verb, options->span);
    add_focus(*verb, options->focus);
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
