// Our own row: the engine, called as the command line calls it.
#include <algorithm>
#include <cmath>

#include "engine/notes/find_notes.h"
#include "engine/notes/pencil.h"
#include "engine/pitch/tracker.h"
#include "tests/corpus/listeners.h"

namespace bentline::corpus {

namespace {

Heard heard_as(const Audio& audio, const PitchCurve& curve, std::vector<Note> notes) {
    Heard heard;
    heard.tuning = curve.tuning;
    heard.notes = std::move(notes);
    const auto rows = static_cast<std::size_t>(audio.duration() / row_step) + 1;
    heard.rows.resize(rows);
    for (std::size_t i = 0; i < rows; ++i) {
        const Seconds t = audio.start_time() + row_step * static_cast<double>(i);
        const double at = std::round((t - curve.start) / curve.hop);
        if (at >= 0.0 && at < static_cast<double>(curve.points.size())) {
            heard.rows[i] = curve.points[static_cast<std::size_t>(at)].f0;
        }
    }
    return heard;
}

}  // namespace

Result<Heard> hear_with_engine(const Audio& audio, const Focus& focus, const Hints& hints) {
    auto pencilled = pencil_notes(audio, focus, hints);
    if (!pencilled) return pencilled.failure();
    return heard_as(audio, pencilled->curve, std::move(pencilled->notes));
}

Result<Heard> hear_without_network(const Audio& audio, const Focus& focus) {
    TrackerSettings settings;
    settings.network = false;
    const auto curve = track_pitch(audio, focus, settings);
    if (!curve) return curve.failure();
    auto notes = find_notes(audio, *curve, focus);
    if (!notes) return notes.failure();
    return heard_as(audio, *curve, std::move(notes).value());
}

}  // namespace bentline::corpus
