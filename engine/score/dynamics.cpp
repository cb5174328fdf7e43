// Dynamics by phrase, and hairpins where the level climbs or falls.
#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/median.h"
#include "engine/score/signs.h"

namespace bentline {
namespace {

// [first, last] of a run of notes.
struct Run {
    std::size_t first = 0;
    std::size_t last = 0;
    bool grows = false;
};

class Dynamics {
  public:
    Dynamics(Score& score, const std::vector<LoudNote>& notes, const SignRules& rules)
        : score_(score), rules_(rules) {
        for (const LoudNote& n : notes) {
            if (n.level) notes_.push_back(n);
        }
    }

    void write() {
        if (notes_.empty()) return;
        reference_ = level_between(0, notes_.size() - 1);
        std::size_t first = 0;
        for (std::size_t i = 0; i < notes_.size(); ++i) {
            const bool ends =
                i + 1 == notes_.size() || notes_[i + 1].at - notes_[i].end >= rules_.phrase_rest;
            if (!ends) continue;
            write_phrase(first, i);
            first = i + 1;
        }
    }

  private:
    // Middle of a note's level and its neighbours': one loud note is an accent.
    double level(std::size_t i) const {
        if (i == 0 || i + 1 == notes_.size()) return raw_level(i);
        const double a = raw_level(i - 1);
        const double b = raw_level(i);
        const double c = raw_level(i + 1);
        return std::max(std::min(a, b), std::min(std::max(a, b), c));
    }
    double raw_level(std::size_t i) const { return notes_[i].level->value(); }
    double level_between(std::size_t first, std::size_t last) const {
        std::vector<double> levels;
        for (std::size_t i = first; i <= last; ++i)
            levels.push_back(level(i));
        return median(std::move(levels));
    }

    // The longest run after `first` in which no note falls back by more than the slack.
    std::optional<Run> hairpin_from(std::size_t first, std::size_t end, bool grows) const {
        const double sign = grows ? 1.0 : -1.0;
        std::size_t best = first;
        for (std::size_t i = first + 1; i <= end; ++i) {
            if (sign * (level(i) - level(best)) < -rules_.hairpin_slack.value()) break;
            if (sign * (level(i) - level(best)) > 0.0) best = i;
        }
        // It begins where the level begins to move.
        const double from = level(first);
        for (std::size_t i = first + 1; i < best; ++i) {
            if (sign * (level(i) - from) < 0.5 * rules_.hairpin_slack.value()) first = i;
        }
        const bool long_enough = best - first + 1 >= static_cast<std::size_t>(rules_.hairpin_notes);
        const double change = sign * (level(best) - level(first));
        if (!long_enough || change < rules_.hairpin_change.value()) return std::nullopt;
        // A sudden change is a new dynamic, not a hairpin.
        for (std::size_t i = first; i < best; ++i) {
            if (sign * (level(i + 1) - level(i)) > 0.5 * change) return std::nullopt;
        }
        return Run{first, best, grows};
    }

    void write_phrase(std::size_t first, std::size_t last) {
        std::size_t plain = first;
        for (std::size_t i = first; i <= last;) {
            auto hairpin = hairpin_from(i, last, true);
            if (!hairpin) hairpin = hairpin_from(i, last, false);
            if (!hairpin) {
                ++i;
                continue;
            }
            // What comes before it, its start, and its end.
            i = hairpin->first;
            if (plain < i) mark(plain, level_between(plain, i - 1));
            mark(i, level(i));
            score_.hairpins.push_back({hairpin->grows, notes_[i].measure, notes_[i].event,
                                       notes_[hairpin->last].measure, notes_[hairpin->last].event});
            mark(hairpin->last, level(hairpin->last));
            plain = hairpin->last + 1;
            i = plain;
        }
        if (plain == first) mark(first, level_between(first, last));
    }

    void mark(std::size_t i, double at_level) {
        const auto& steps = rules_.dynamic_steps;
        const auto above = std::count_if(steps.begin(), steps.end(),
                                         [&](double s) { return at_level - reference_ >= s; });
        const auto dynamic = static_cast<Dynamic>(above);
        if (said_ == dynamic ||
            (said_ && std::abs(at_level - said_level_) < rules_.least_step.value()))
            return;
        said_ = dynamic;
        said_level_ = at_level;
        Measure& measure = score_.measures[notes_[i].measure];
        measure.dynamics.push_back({measure.events[notes_[i].event].start, dynamic});
    }

    Score& score_;
    const SignRules& rules_;
    std::vector<LoudNote> notes_;  // those with a level
    double reference_ = 0.0;
    std::optional<Dynamic> said_;
    double said_level_ = 0.0;
};

}  // namespace

void write_dynamics(Score& score, const std::vector<LoudNote>& notes, const SignRules& rules) {
    Dynamics(score, notes, rules).write();
}

}  // namespace bentline
