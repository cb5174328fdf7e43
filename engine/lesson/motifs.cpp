// Repeats found by comparing every place with every later one, then chosen by how much they cover.
#include "engine/lesson/motifs.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace bentline {
namespace {

class Finder {
  public:
    Finder(const std::vector<Note>& notes, const std::vector<SoloPhrase>& phrases,
           const std::vector<double>& times, const MotifRules& rules)
        : notes_(notes), times_(times), rules_(rules), used_(notes.size(), false) {
        phrase_end_.assign(notes.size(), notes.size());
        for (const SoloPhrase& p : phrases) {
            for (std::size_t i = p.first; i < p.last; ++i)
                phrase_end_[i] = p.last;
        }
    }

    std::vector<Motif> find() {
        std::vector<Motif> found;
        for (const bool rhythm_only : {false, true}) {
            const std::size_t fewest = rhythm_only ? rules_.fewest_rhythm : rules_.fewest_notes;
            compare(fewest, rhythm_only);
            while (found.size() < rules_.most_motifs) {
                auto best = best_motif(fewest, rhythm_only);
                if (!best) break;
                for (const MotifPlace& p : best->places)
                    std::fill_n(used_.begin() + static_cast<std::ptrdiff_t>(p.first), best->notes,
                                true);
                found.push_back(std::move(*best));
            }
        }
        return found;
    }

  private:
    struct Match {
        std::size_t at;
        std::size_t notes;
    };

    bool alike(double a, double b) const {
        return std::abs(a - b) <= std::max(rules_.alike, rules_.alike_share * std::max(a, b));
    }
    int interval(std::size_t i) const { return notes_[i + 1].key.value() - notes_[i].key.value(); }
    double distance(std::size_t i) const { return times_[i + 1] - times_[i]; }
    bool step_alike(std::size_t i, std::size_t j, bool rhythm_only) const {
        return (rhythm_only || interval(i) == interval(j)) && alike(distance(i), distance(j));
    }

    // later_[i]: where what begins at i comes again, and how long it stays alike.
    void compare(std::size_t fewest, bool rhythm_only) {
        const std::size_t n = notes_.size();
        later_.assign(n, {});
        std::vector<std::size_t> below(n + 1, 0);  // steps alike, of the row i + 1
        for (std::size_t i = n; i-- > 0;) {
            std::vector<std::size_t> row(n + 1, 0);
            for (std::size_t j = i + 1; j + 1 < n; ++j) {
                const bool within = i + 1 < phrase_end_[i] && j + 1 < phrase_end_[j];
                if (within && step_alike(i, j, rhythm_only)) row[j] = below[j + 1] + 1;
                const std::size_t notes = std::min({row[j] + 1, j - i, rules_.most_notes});
                if (notes >= fewest) later_[i].push_back({j, notes});
            }
            below = std::move(row);
        }
    }

    bool is_figure(std::size_t first, std::size_t notes, bool rhythm_only) const {
        bool up = false;
        bool down = false;
        double shortest = distance(first);
        double longest = shortest;
        for (std::size_t i = first; i + 1 < first + notes; ++i) {
            up = up || interval(i) > 0;
            down = down || interval(i) < 0;
            shortest = std::min(shortest, distance(i));
            longest = std::max(longest, distance(i));
        }
        const bool uneven = longest >= rules_.uneven * shortest;
        if (rhythm_only) return uneven;
        return (up || down) && ((up && down) || uneven);
    }
    bool unused(std::size_t first, std::size_t notes) const {
        for (std::size_t i = first; i < first + notes; ++i) {
            if (used_[i]) return false;
        }
        return true;
    }

    std::optional<Motif> best_motif(std::size_t fewest, bool rhythm_only) const {
        std::optional<Motif> best;
        std::size_t most = 0;
        for (std::size_t i = 0; i < notes_.size(); ++i) {
            std::size_t longest = 0;
            for (const Match& m : later_[i])
                longest = std::max(longest, m.notes);
            for (std::size_t length = fewest; length <= longest; ++length) {
                if (!unused(i, length)) break;
                if (!is_figure(i, length, rhythm_only)) continue;
                Motif motif = gathered(i, length, rhythm_only);
                const std::size_t covered = (motif.places.size() - 1) * length;
                if (motif.places.size() < 2 || covered < most) continue;
                if (covered == most && best && best->notes >= length) continue;
                most = covered;
                best = std::move(motif);
            }
        }
        return best;
    }

    Motif gathered(std::size_t first, std::size_t length, bool rhythm_only) const {
        Motif motif;
        motif.notes = length;
        motif.likeness = rhythm_only ? Likeness::rhythm : Likeness::exact;
        motif.places.push_back({first, 0});
        for (const Match& m : later_[first]) {
            if (m.notes < length || m.at < motif.places.back().first + length ||
                !unused(m.at, length)) {
                continue;
            }
            const int up = notes_[m.at].key.value() - notes_[first].key.value();
            motif.places.push_back({m.at, up});
            if (up != 0 && !rhythm_only) motif.likeness = Likeness::transposed;
        }
        return motif;
    }

    const std::vector<Note>& notes_;
    const std::vector<double>& times_;
    const MotifRules& rules_;
    std::vector<bool> used_;
    std::vector<std::size_t> phrase_end_;
    std::vector<std::vector<Match>> later_;
};

}  // namespace

const char* to_text(Likeness likeness) {
    switch (likeness) {
        case Likeness::exact:
            return "exact";
        case Likeness::transposed:
            return "transposed";
        case Likeness::rhythm:
            return "rhythm";
    }
    return "";
}

std::vector<Motif> find_motifs(const std::vector<Note>& notes,
                               const std::vector<SoloPhrase>& phrases,
                               const std::vector<double>& times, const MotifRules& rules) {
    if (notes.size() < 2 * rules.fewest_notes) return {};
    return Finder(notes, phrases, times, rules).find();
}

std::size_t steps_alike(const std::vector<Note>& notes, const std::vector<double>& times,
                        std::size_t a, std::size_t b, std::size_t most, bool rhythm_only,
                        const MotifRules& rules) {
    std::size_t steps = 0;
    for (; steps < most; ++steps, ++a, ++b) {
        if (std::max(a, b) + 1 >= notes.size()) break;
        const double x = times[a + 1] - times[a];
        const double y = times[b + 1] - times[b];
        if (std::abs(x - y) > std::max(rules.alike, rules.alike_share * std::max(x, y))) break;
        if (!rhythm_only && notes[a + 1].key.value() - notes[a].key.value() !=
                                notes[b + 1].key.value() - notes[b].key.value()) {
            break;
        }
    }
    return steps;
}

}  // namespace bentline
