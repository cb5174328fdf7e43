// Dynamic programming, note by note. A state is the way of the note that has come last, the ways of
// earlier notes that will still ring at the next, and how many notes differ from each earlier
// answer.
#include "engine/tab/finger_path.h"

#include <algorithm>
#include <cassert>
#include <cstdint>
#include <map>

namespace bentline {

namespace {

using WayIndex = std::uint16_t;
using Ringing = std::vector<WayIndex>;  // ways of the notes in Layer::ringing, in their order

struct State {
    WayIndex way = 0;
    std::uint32_t ringing = 0;    // index into Layer::tuples
    std::uint32_t differing = 0;  // counts for each earlier answer, written as one number
    double effort = forbidden;
    std::int32_t from = -1;  // state of the layer before
};

struct Layer {
    std::vector<State> states;
    std::vector<std::size_t> ringing;  // earlier notes that sound together with the next note
    std::vector<Ringing> tuples;       // the ways in which they may lie
};

class PathFinder {
  public:
    PathFinder(const FingerRules& rules, const std::vector<std::vector<Way>>& choices,
               const Difference& difference)
        : rules_(rules), choices_(choices), difference_(difference) {
        base_ = static_cast<std::uint32_t>(difference.least + 1);
        codes_ = 1;
        for (std::size_t a = 0; a < difference.strings.size(); ++a)
            codes_ *= base_;
    }

    Result<std::optional<FingerPath>> find(const Work& work) {
        const std::size_t count = choices_.size();
        if (count == 0) return std::optional<FingerPath>(FingerPath{});
        for (std::size_t i = 0; i < count; ++i) {
            if (!work.report(static_cast<double>(i) / static_cast<double>(count))) {
                return stopped_failure();
            }
            layers_.push_back(next_layer(i));
            if (layers_.back().states.empty()) return std::optional<FingerPath>();
        }
        return best();
    }

  private:
    // Counts up for each earlier answer that has another string for this note; full at `least`.
    std::uint32_t count_on(std::uint32_t code, std::size_t note, const Way& way) const {
        if (note < difference_.passage.first || difference_.passage.last <= note) return code;
        std::uint32_t made = 0;
        std::uint32_t place = 1;
        for (const auto& strings : difference_.strings) {
            std::uint32_t digit = code / place % base_;
            if (strings[note] != way.string && digit + 1 < base_) ++digit;
            made += digit * place;
            place *= base_;
        }
        return made;
    }

    Layer next_layer(std::size_t note) {
        Layer layer;
        ways_ = choices_[note].size();
        slots_.clear();
        const Layer* before = note > 0 ? &layers_.back() : nullptr;
        // Who rings on until the next note: of those that rang until this one, and the one before.
        std::vector<std::size_t> candidates;
        if (before != nullptr) {
            candidates = before->ringing;
            candidates.push_back(note - 1);
        }
        std::vector<std::size_t> kept;  // positions in candidates
        for (std::size_t c = 0; c < candidates.size(); ++c) {
            if (note + 1 < choices_.size() && rules_.overlap(candidates[c], note + 1)) {
                kept.push_back(c);
                layer.ringing.push_back(candidates[c]);
            }
        }
        if (before == nullptr) {
            layer.tuples.emplace_back();
            for (std::size_t w = 0; w < choices_[note].size(); ++w) {
                const Way& way = choices_[note][w];
                offer(layer, {static_cast<WayIndex>(w), 0, count_on(0, note, way),
                              rules_.own_effort(note, way), -1});
            }
            return layer;
        }
        extend(layer, *before, note, candidates, kept);
        return layer;
    }

    void extend(Layer& layer, const Layer& before, std::size_t note,
                const std::vector<std::size_t>& candidates, const std::vector<std::size_t>& kept) {
        const std::vector<Way>& ways = choices_[note];
        const std::vector<Way>& ways_before = choices_[note - 1];
        std::vector<double> own(ways.size());
        std::vector<double> steps(ways.size() * ways_before.size());
        const bool rings = rules_.overlap(note - 1, note);
        for (std::size_t w = 0; w < ways.size(); ++w)
            own[w] = rules_.own_effort(note, ways[w]);
        for (std::size_t b = 0; b < ways_before.size(); ++b) {
            for (std::size_t w = 0; w < ways.size(); ++w) {
                const bool good = !rings || rules_.together(ways_before[b], ways[w]);
                steps[b * ways.size() + w] =
                    good ? rules_.step_effort(note, ways_before[b], ways[w]) + own[w] : forbidden;
            }
        }
        std::map<Ringing, std::uint32_t> known;
        for (std::size_t s = 0; s < before.states.size(); ++s) {
            const State& from = before.states[s];
            Ringing now = before.tuples[from.ringing];
            now.push_back(from.way);
            Ringing later;
            for (const std::size_t k : kept)
                later.push_back(alike(candidates[k], now[k]));
            const auto [entry, fresh] =
                known.emplace(later, static_cast<std::uint32_t>(layer.tuples.size()));
            if (fresh) layer.tuples.push_back(later);
            for (std::size_t w = 0; w < ways.size(); ++w) {
                const double step = steps[from.way * ways.size() + w];
                if (step == forbidden || !fits(ways[w], note, now, candidates)) continue;
                offer(layer, {static_cast<WayIndex>(w), entry->second,
                              count_on(from.differing, note, ways[w]), from.effort + step,
                              static_cast<std::int32_t>(s)});
            }
        }
    }

    // While a note only rings, the hand matters for a fretted one alone: of ways that ring alike,
    // the first stands for all.
    WayIndex alike(std::size_t note, WayIndex way) const {
        const std::vector<Way>& ways = choices_[note];
        if (ways[way].fretted()) return way;
        const auto same = [&](const Way& other) {
            return other.string == ways[way].string && other.fret == ways[way].fret;
        };
        return static_cast<WayIndex>(std::find_if(ways.begin(), ways.end(), same) - ways.begin());
    }

    // Whether a way goes with every earlier note but the last that still sounds.
    bool fits(const Way& way, std::size_t note, const Ringing& now,
              const std::vector<std::size_t>& candidates) const {
        for (std::size_t c = 0; c + 1 < candidates.size(); ++c) {
            if (!rules_.overlap(candidates[c], note)) continue;
            if (!rules_.together(choices_[candidates[c]][now[c]], way)) return false;
        }
        return true;
    }

    // Keeps a state where it is the best of its kind.
    void offer(Layer& layer, const State& state) {
        const std::size_t slot =
            (static_cast<std::size_t>(state.ringing) * codes_ + state.differing) * ways_ +
            state.way;
        if (slots_.size() <= slot) slots_.resize(slot + 1, -1);
        if (slots_[slot] < 0) {
            slots_[slot] = static_cast<std::int32_t>(layer.states.size());
            layer.states.push_back(state);
            return;
        }
        State& there = layer.states[static_cast<std::size_t>(slots_[slot])];
        if (state.effort < there.effort) there = state;
    }

    std::optional<FingerPath> best() const {
        const std::vector<State>& last = layers_.back().states;
        std::int32_t at = -1;
        for (std::size_t s = 0; s < last.size(); ++s) {
            if (last[s].differing != codes_ - 1) continue;  // every count is full
            if (at < 0 || last[s].effort < last[static_cast<std::size_t>(at)].effort) {
                at = static_cast<std::int32_t>(s);
            }
        }
        if (at < 0) return std::nullopt;
        FingerPath path;
        path.effort = last[static_cast<std::size_t>(at)].effort;
        path.ways.resize(layers_.size());
        for (std::size_t i = layers_.size(); i-- > 0;) {
            const State& state = layers_[i].states[static_cast<std::size_t>(at)];
            path.ways[i] = choices_[i][state.way];
            at = state.from;
        }
        return path;
    }

    const FingerRules& rules_;
    const std::vector<std::vector<Way>>& choices_;
    const Difference& difference_;
    std::uint32_t base_ = 1;
    std::uint32_t codes_ = 1;
    std::vector<Layer> layers_;
    std::size_t ways_ = 0;             // of the note at hand
    std::vector<std::int32_t> slots_;  // state of each kind in the layer at hand; -1: none yet
};

}  // namespace

Result<std::optional<FingerPath>> least_effort(const FingerRules& rules,
                                               const std::vector<std::vector<Way>>& choices,
                                               const Difference& difference, const Work& work) {
    assert(difference.strings.empty() == (difference.least == 0));
    return PathFinder(rules, choices, difference).find(work);
}

}  // namespace bentline
