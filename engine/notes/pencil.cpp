// Tracker and note finder, one after the other.
#include "engine/notes/pencil.h"

#include <algorithm>
#include <functional>
#include <utility>

#include "engine/notes/find_notes.h"
#include "engine/pitch/tracker.h"

namespace bentline {

namespace {

Audio part_of(const Audio& audio, SecondsRange span) {
    const auto at = [&](Seconds t) {
        return std::clamp(to_frames(t, audio.rate) - audio.start, Frames(0), audio.length());
    };
    const Frames from = at(span.from);
    const Frames to = std::max(from, at(span.to));
    Audio part{audio.rate, audio.start + from, {}};
    for (const auto& channel : audio.channels)
        part.channels.emplace_back(channel.begin() + from.value(), channel.begin() + to.value());
    return part;
}

}  // namespace

Result<Pencilled> pencil_notes(const Audio& audio, const Focus& focus, const Work& work) {
    return pencil_notes(audio, focus, Hints{}, work);
}

Result<Pencilled> pencil_notes(const Audio& audio, const Focus& focus, const Hints& hints,
                               const Work& work) {
    return pencil_in_order(audio, focus, hints, {}, {}, work);
}

Result<Pencilled> pencil_in_order(const Audio& audio, const Focus& focus, const Hints& hints,
                                  SecondsRange first, const std::function<void(Pencilled)>& ready,
                                  const Work& work) {
    double begun = 0.0;  // share of the work that the part takes
    const Audio part =
        ready && !first.empty()
            ? part_of(audio, {first.from - first_look_margin, first.to + first_look_margin})
            : Audio{audio.rate, audio.start, {}};
    if (part.length() > Frames(0)) {
        begun = part.duration() / (part.duration() + audio.duration());
        auto early = pencil_notes(part, focus, hints, work.part(0.0, begun));
        if (!early) return early.failure();
        std::erase_if(early->notes, [first](const Note& n) { return !first.contains(n.onset); });
        ready(std::move(*early));
    }
    const double found = begun + 0.7 * (1.0 - begun);
    auto curve = track_pitch(audio, focus, path_hints(hints), {}, work.part(begun, found));
    if (!curve) return curve.failure();
    auto notes = find_notes(audio, *curve, focus, hints, {}, work.part(found, 1.0));
    if (!notes) return notes.failure();
    return Pencilled{std::move(curve).value(), std::move(notes).value()};
}

}  // namespace bentline
