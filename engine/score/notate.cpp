// Fills each bar with heads and rests, brackets tuplets, joins beams.
#include "engine/score/notate.h"

#include <algorithm>
#include <bit>

#include "engine/score/bar_grid.h"
#include "engine/score/pulses.h"

namespace bentline {
namespace {

int flags_of(const Event& event) {
    if (!event.head || event.shape.denominator < 8) return 0;
    return std::countr_zero(static_cast<unsigned>(event.shape.denominator)) - 2;
}

// Beams over events [first, last] of one group, none of them a rest, each with a flag.
void join(std::vector<Event>& events, std::size_t first, std::size_t last) {
    if (first == last) return;
    for (std::size_t i = first; i <= last; ++i) {
        for (int level = 1; level <= flags_of(events[i]); ++level) {
            const bool before = i > first && flags_of(events[i - 1]) >= level;
            const bool after = i < last && flags_of(events[i + 1]) >= level;
            Beam beam = Beam::on;
            if (before && !after)
                beam = Beam::end;
            else if (!before && after)
                beam = Beam::begin;
            else if (!before)
                beam = i == first ? Beam::forward_hook : Beam::backward_hook;
            events[i].head->beams.push_back(beam);
        }
    }
}

class BarWriter {
  public:
    BarWriter(const QuantisedLine& line, const std::vector<Pulse>& pulses, const Metre& metre)
        : line_(line),
          bar_from_(pulses.front().start.value()),
          grid_(metre, pulses, boundaries(line, pulses)) {
        out_.measure.number = pulses.front().bar;
        out_.measure.metre = metre;
        out_.measure.length = Ticks(grid_.length());
        out_.measure.from = pulses.front().from;
        out_.measure.to = pulses.back().to;
    }

    // The bar is written from here on (a pickup).
    void skip(std::int64_t ticks, Seconds from) {
        at_ = ticks;
        out_.measure.skipped = Ticks(ticks);
        out_.measure.length = Ticks(grid_.length() - ticks);
        out_.measure.from = from;
    }

    NotatedMeasure write() {
        for (std::size_t i = 0; i < line_.notes.size(); ++i) {
            const WrittenNote& n = line_.notes[i];
            const std::int64_t from = n.start.value() - bar_from_;
            const std::int64_t to = from + n.length.value();
            if (n.grace() || to <= at_ || from >= grid_.length()) continue;
            rest_until(from);
            note(i, std::max(from, at_), std::min(to, grid_.length()), from, to);
        }
        if (out_.measure.events.empty() && at_ == 0) {
            out_.measure.events.push_back(
                {Ticks(0), out_.measure.length, {1, 0}, true, std::nullopt});
            out_.note.emplace_back();
        } else {
            rest_until(grid_.length());
        }
        bracket_tuplets();
        join_beams();
        return std::move(out_);
    }

  private:
    static std::vector<std::int64_t> boundaries(const QuantisedLine& line,
                                                const std::vector<Pulse>& pulses) {
        const Ticks from = pulses.front().start;
        const Ticks to = pulses.back().start + pulses.back().length;
        std::vector<std::int64_t> found;
        for (const WrittenNote& n : line.notes) {
            for (const Ticks t : {n.start, n.start + n.length}) {
                if (!n.grace() && from <= t && t <= to) found.push_back((t - from).value());
            }
        }
        return found;
    }

    void push(const Piece& piece, std::optional<Head> head, std::optional<std::size_t> note) {
        out_.measure.events.push_back({Ticks(piece.from) - out_.measure.skipped,
                                       Ticks(piece.to - piece.from), piece.shape, false,
                                       std::move(head)});
        out_.note.push_back(note);
        zones_.push_back(piece.zone);
        at_ = piece.to;
    }

    void rest_until(std::int64_t to) {
        if (at_ >= to) return;
        for (const Piece& piece : grid_.rest_pieces(at_, to))
            push(piece, std::nullopt, std::nullopt);
    }

    // The part [from, to) of a note that lasts from `begins` to `ends`.
    void note(std::size_t index, std::int64_t from, std::int64_t to, std::int64_t begins,
              std::int64_t ends) {
        for (const Piece& piece : grid_.note_pieces(from, to)) {
            Head head;
            head.tied_from_before = piece.from > begins;
            head.tied_to_next = piece.to < ends;
            push(piece, head, index);
        }
    }

    void bracket_tuplets() {
        for (std::size_t i = 0; i < zones_.size(); ++i) {
            if (zones_[i] < 0) continue;
            const TupletZone& zone = grid_.zones()[static_cast<std::size_t>(zones_[i])];
            if (i > 0 && zones_[i - 1] == zones_[i]) {
                out_.measure.tuplets.back().last = i;
            } else {
                out_.measure.tuplets.push_back({zone.actual, zone.normal, i, i});
            }
        }
    }

    // Which events may share a beam: those of a pulse, or of a half bar that holds four plain
    // eighths.
    std::int64_t beam_group(const Event& event) const {
        const std::int64_t at = (event.start + out_.measure.skipped).value();
        const std::int64_t group = grid_.group_start(at);
        if (!grid_.compound() && grid_.group_end(at) - group == 2 * grid_.pulse()) {
            const auto plain = std::count_if(
                out_.measure.events.begin(), out_.measure.events.end(), [&](const Event& e) {
                    const std::int64_t place = (e.start + out_.measure.skipped).value();
                    return grid_.group_start(place) == group && e.head &&
                           e.shape == NoteShape{8, 0} && grid_.zone_at(place) < 0;
                });
            if (plain == 4) return group;
        }
        return at / grid_.pulse() * grid_.pulse();
    }

    void join_beams() {
        auto& events = out_.measure.events;
        for (std::size_t first = 0; first < events.size();) {
            std::size_t last = first;
            while (last + 1 < events.size() && flags_of(events[first]) > 0 &&
                   flags_of(events[last + 1]) > 0 &&
                   beam_group(events[last + 1]) == beam_group(events[first])) {
                ++last;
            }
            join(events, first, last);
            first = last + 1;
        }
    }

    const QuantisedLine& line_;
    const std::int64_t bar_from_;
    const BarGrid grid_;
    NotatedMeasure out_;
    std::vector<int> zones_;  // of each event
    std::int64_t at_ = 0;
};

// How much of a first bar before bar 1 is left out: whole pulses before its first note.
std::size_t pulses_skipped(const QuantisedLine& line, const std::vector<Pulse>& pulses,
                           Ticks pickup) {
    const Ticks end = pulses.back().start + pulses.back().length;
    Ticks from = end - std::max(pickup, pulses.front().length);
    for (const WrittenNote& n : line.notes)
        from = std::min(from, n.start);
    std::size_t skipped = 0;
    while (skipped + 1 < pulses.size() && pulses[skipped + 1].start <= from)
        ++skipped;
    return skipped;
}

}  // namespace

std::vector<NotatedMeasure> notate(const QuantisedLine& line, const std::vector<Metre>& metres,
                                   Ticks pickup) {
    std::vector<NotatedMeasure> measures;
    for (auto from = line.pulses.begin(); from != line.pulses.end();) {
        const auto to = std::find_if(from, line.pulses.end(),
                                     [&](const Pulse& p) { return p.bar != from->bar; });
        const std::vector<Pulse> pulses(from, to);
        BarWriter bar(line, pulses, metres[measures.size()]);
        if (measures.empty() && pulses.front().bar < 1) {
            const std::size_t skipped = pulses_skipped(line, pulses, pickup);
            bar.skip((pulses[skipped].start - pulses.front().start).value(), pulses[skipped].from);
        }
        measures.push_back(bar.write());
        from = to;
    }
    return measures;
}

}  // namespace bentline
