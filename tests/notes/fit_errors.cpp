// Standard errors: how far the figures were off, beside what the line's scatter said of them.
#include "tests/notes/fit_errors.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace bentline::testing {

void gather_errors(const corpus::Take& take, const Listened& heard, Errors& errors) {
    std::vector<Note> found;
    for (const auto& w : heard.weighed)
        found.push_back(w.note);
    const auto partner = partners(take, found, heard.curve.tuning);
    bool alone = false;
    const auto add = [&](notes::Measured m, double off, double stated) {
        const notes::ErrorScale& s = notes::error_scale(m, alone);
        const double raw = std::sqrt(std::max(0.0, stated * stated - s.least * s.least)) / s.factor;
        errors[2 * static_cast<std::size_t>(m) + (alone ? 0 : 1)].emplace_back(raw, std::abs(off));
    };
    for (std::size_t i = 0; i < found.size(); ++i) {
        if (partner[i] < 0) continue;
        alone = heard.weighed[i].telling[notes::likeness] >= notes::alone_likeness;
        const Note& e = found[i];
        const Note& t = take.truth.notes[static_cast<std::size_t>(partner[i])];
        if (t.cents && e.cents && e.cents_error)
            add(notes::Measured::cents, (*t.cents - *e.cents).value(), e.cents_error->value());
        if (const auto* a = find<Bend>(t), *b = find<Bend>(e); a && b && b->size_error)
            add(notes::Measured::bend, (a->size - b->size).value(), b->size_error->value());
        if (const auto* a = find<Vibrato>(t), *b = find<Vibrato>(e); a && b && b->rate_error) {
            add(notes::Measured::rate, a->rate.value() - b->rate.value(), b->rate_error->value());
            add(notes::Measured::depth, (a->depth - b->depth).value(), b->depth_error->value());
        }
        if (const auto* a = find<SlideIn>(t), *b = find<SlideIn>(e);
            a && b && a->span && b->span && b->span_error)
            add(notes::Measured::arrival, (a->span->to - b->span->to).value(),
                b->span_error->value());
        if (const auto* a = find<SlideOut>(t), *b = find<SlideOut>(e);
            a && b && a->span && b->span && b->span_error)
            add(notes::Measured::leaving, (a->span->from - b->span->from).value(),
                b->span_error->value());
        if (const auto* a = find<SlideToNext>(t), *b = find<SlideToNext>(e);
            a && b && a->span && b->span && b->span_error)
            add(notes::Measured::leaving_on, (a->span->from - b->span->from).value(),
                b->span_error->value());
    }
}

void fit_errors(Errors errors) {
    for (std::size_t m = 0; m < errors.size(); ++m) {
        auto& list = errors[m];
        const char* const where = m % 2 ? "others" : "alone";
        if (list.size() < 8) {
            std::printf("// figure %zu %s: only %zu\n", m / 2, where, list.size());
            continue;
        }
        std::sort(list.begin(), list.end());
        std::vector<double> sizes;
        for (const auto& [raw, off] : list)
            sizes.push_back(off);
        std::sort(sizes.begin(), sizes.end());
        const double usual = sizes[sizes.size() * 68 / 100];
        double best = 1e9;
        notes::ErrorScale found;
        std::array<double, 2> cover{};
        for (double least = 0.0; least <= 1.5 * usual; least += 0.02 * usual) {
            for (double factor = 0.02; factor < 12.0; factor = factor * 1.1 + 0.02) {
                std::array<double, 2> within{};
                std::array<double, 2> all{};
                for (std::size_t i = 0; i < list.size(); ++i) {
                    const std::size_t half = 2 * i / list.size();
                    all[half] += 1.0;
                    within[half] += list[i].second <= std::hypot(factor * list[i].first, least);
                }
                const double miss =
                    std::hypot(within[0] / all[0] - 0.683, within[1] / all[1] - 0.683);
                if (miss >= best) continue;
                best = miss;
                found = {factor, least};
                cover = {within[0] / all[0], within[1] / all[1]};
            }
        }
        std::printf(
            "    {%.2f, %.4f},  // figure %zu %s: %zu, 68 %% within %.4f, halves %.2f %.2f\n",
            found.factor, found.least, m / 2, where, list.size(), usual, cover[0], cover[1]);
    }
}

}  // namespace bentline::testing
