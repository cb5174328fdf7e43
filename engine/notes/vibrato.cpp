// Finds where a held or pushed pitch is shaken.
#include <algorithm>
#include <cmath>
#include <optional>

#include "engine/notes/line_models.h"
#include "engine/notes/odds.h"
#include "engine/notes/reading.h"
#include "engine/notes/words.h"

namespace bentline::notes {

void read_vibrato(ReadNote& note, const FineLine& line, const std::vector<double>& weights,
                  const NoteSettings& settings) {
    for (const Inflection& i : note.inflections) {
        if (std::holds_alternative<Trill>(i.what)) return;
    }
    std::optional<VibratoFit> best;
    const auto settle = static_cast<std::size_t>(0.02 / line.hop);
    std::vector<Hold> places = note.plain;
    for (const Inflection& i : note.inflections) {
        if (const auto* b = std::get_if<Bend>(&i.what); b != nullptr && b->peak && !b->prebend) {
            const std::size_t from = line.index_of(b->peak->value());
            std::size_t to = note.to;
            if (b->release_span) to = line.index_of(b->release_span->from.value());
            if (from < to) places.push_back({from, to, 0.0, false});
        }
    }
    for (const Hold& h : places) {
        const std::size_t from = std::max(h.from, note.from) + settle;
        const std::size_t to = std::min(h.to, note.to);
        if (to <= from + 40) continue;
        // Vibrato often begins late: the stretch whose sine explains most, weighed by its length.
        const std::size_t length = to - from;
        double best_score = 0.0;
        std::optional<VibratoFit> here;
        for (const double skip : {0.0, 0.15, 0.3, 0.45}) {
            const auto a = from + static_cast<std::size_t>(skip * static_cast<double>(length));
            const auto fit = fit_vibrato(line, weights, a, to, settings);
            if (!fit || fit->cycles < settings.vibrato_cycles) continue;
            const double score = fit->share * fit->share * std::sqrt(fit->cycles);
            if (score > best_score * 1.03) {
                best_score = score;
                here = fit;
            }
        }
        if (!here || here->share < settings.vibrato_fit ||
            here->depth < settings.shallowest_vibrato.value()) {
            continue;
        }
        if (!best || here->share * here->cycles > best->share * best->cycles) best = here;
    }
    if (!best) return;
    Vibrato v;
    v.rate = Hertz(best->rate);
    v.depth = Cents(best->depth);
    // A shake grows: its depth is that of its later part, where that is long enough to tell.
    const std::size_t later = best->from + (best->to - best->from) * 2 / 5;
    const auto grown = fit_vibrato(line, weights, later, best->to, settings);
    if (grown && grown->cycles >= settings.vibrato_cycles && grown->share > best->share - 0.05 &&
        std::abs(grown->rate - best->rate) < 0.6) {
        v.depth = Cents(grown->depth);
    }
    v.span = SecondsRange{Seconds(line.time_of(best->from)), Seconds(line.time_of(best->to))};
    const double odds = 6.0 * (best->share - 0.6) + 0.8 * (best->cycles - 1.8);
    note.inflections.push_back(
        {v, confidence_of(odds),
         words({"shook ", count(best->cycles), " times, ", cents(best->depth), " to each side, ",
                count(best->rate), " a second"})});
}

}  // namespace bentline::notes
