// Scores takes and keeps the sums.
#include "tests/corpus/scoreboard.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace bentline::corpus {

namespace {

template <class K>
void compare_sizes(const Note& t, const Note& e, Scoreboard& board);

template <>
void compare_sizes<Bend>(const Note& t, const Note& e, Scoreboard& board) {
    const Bend* a = find<Bend>(t);
    const Bend* b = find<Bend>(e);
    if (!a || !b) return;
    board.bend_cents.push_back(std::abs((a->size - b->size).value()));
    ++board.bends_released;
    if (a->release == b->release && a->prebend == b->prebend) ++board.bends_release_right;
}
template <>
void compare_sizes<Vibrato>(const Note& t, const Note& e, Scoreboard& board) {
    const Vibrato* a = find<Vibrato>(t);
    const Vibrato* b = find<Vibrato>(e);
    if (!a || !b) return;
    board.vibrato_hz.push_back(std::abs(a->rate.value() - b->rate.value()));
    board.vibrato_cents.push_back(std::abs((a->depth - b->depth).value()));
}
template <>
void compare_sizes<SlideIn>(const Note& t, const Note& e, Scoreboard& board) {
    const SlideIn* a = find<SlideIn>(t);
    const SlideIn* b = find<SlideIn>(e);
    if (!a || !b || !a->from || !b->from) return;
    board.slide_from.push_back(std::abs(a->from->value() - b->from->value()));
}
template <>
void compare_sizes<SlideOut>(const Note& t, const Note& e, Scoreboard& board) {
    const SlideOut* a = find<SlideOut>(t);
    const SlideOut* b = find<SlideOut>(e);
    if (!a || !b || !a->to || !b->to) return;
    board.slide_to.push_back(std::abs(a->to->value() - b->to->value()));
}
template <>
void compare_sizes<Trill>(const Note& t, const Note& e, Scoreboard& board) {
    const Trill* a = find<Trill>(t);
    const Trill* b = find<Trill>(e);
    if (a && b) board.trill_steps.push_back(std::abs(a->semitones - b->semitones));
}

// Where a time of the truth and of the estimate are both known, with the stated error.
void compare_times(Coverage& c, const std::optional<SecondsRange>& truth,
                   const std::optional<SecondsRange>& heard, const std::optional<Seconds>& stated,
                   bool end) {
    if (!truth || !heard || !stated) return;
    const Seconds off = end ? truth->to - heard->to : truth->from - heard->from;
    c.add(off.value(), stated->value());
}

void compare_errors(const Note& t, const Note& e, Scoreboard& board) {
    auto& all = board.errors;
    if (t.cents && e.cents && e.cents_error)
        all[note_cents].add((*t.cents - *e.cents).value(), e.cents_error->value());
    const Bend* tb = find<Bend>(t);
    const Bend* eb = find<Bend>(e);
    if (tb && eb && eb->size_error)
        all[bend_size].add((tb->size - eb->size).value(), eb->size_error->value());
    const Vibrato* tv = find<Vibrato>(t);
    const Vibrato* ev = find<Vibrato>(e);
    if (tv && ev && ev->rate_error)
        all[vibrato_rate].add(tv->rate.value() - ev->rate.value(), ev->rate_error->value());
    if (tv && ev && ev->depth_error)
        all[vibrato_depth].add((tv->depth - ev->depth).value(), ev->depth_error->value());
    if (const auto* a = find<SlideIn>(t), *b = find<SlideIn>(e); a && b)
        compare_times(all[slide_in_end], a->span, b->span, b->span_error, true);
    if (const auto* a = find<SlideOut>(t), *b = find<SlideOut>(e); a && b)
        compare_times(all[slide_out_start], a->span, b->span, b->span_error, false);
    if (const auto* a = find<SlideToNext>(t), *b = find<SlideToNext>(e); a && b)
        compare_times(all[slide_on_start], a->span, b->span, b->span_error, false);
}

// The confidence of a note's inflection of the variant's kind, if it has one.
const Inflection* having(const Note& n, std::size_t kind) {
    for (const Inflection& i : n.inflections) {
        if (i.what.index() == kind) return &i;
    }
    return nullptr;
}

Hits mean(const std::vector<Hits>& all) {
    Hits m;
    for (const Hits& h : all) {
        m.precision += h.precision / static_cast<double>(all.size());
        m.recall += h.recall / static_cast<double>(all.size());
        m.f1 += h.f1 / static_cast<double>(all.size());
    }
    return m;
}

}  // namespace

ScoredNote scored(const Note& note, Cents tuning) {
    return {note.onset, note.offset, frequency(Pitch(note.key), tuning)};
}

std::vector<ScoredNote> scored(const std::vector<Note>& notes, Cents tuning) {
    std::vector<ScoredNote> all;
    for (const Note& n : notes)
        all.push_back(scored(n, tuning));
    return all;
}

void Reliability::add(double confidence, bool is_right) {
    const auto bin = static_cast<std::size_t>(std::clamp(confidence * 10.0, 0.0, 9.0));
    ++count[bin];
    said[bin] += confidence;
    if (is_right) ++right[bin];
}

double Reliability::expected_error() const {
    double sum = 0.0;
    double n = 0.0;
    for (std::size_t i = 0; i < count.size(); ++i) {
        sum += std::abs(said[i] - static_cast<double>(right[i]));
        n += static_cast<double>(count[i]);
    }
    return n > 0.0 ? sum / n : 0.0;
}

void Coverage::add(double off, double stated) {
    ++all;
    if (std::abs(off) <= stated) ++within;
    if (std::abs(off) <= 2.0 * stated) ++within_two;
    errors.push_back(stated);
}

void Scoreboard::add(const Take& take, const Heard& heard) {
    melody.push_back(score_melody(take.truth.rows, heard.rows));
    tuning_cents.push_back(std::abs((take.truth.tuning - heard.tuning).value()));

    const std::vector<ScoredNote> t = scored(take.truth.notes, take.truth.tuning);
    const std::vector<ScoredNote> e = scored(heard.notes, heard.tuning);
    const auto pairs = match_notes(t, e, {});
    notes.push_back(hits(pairs.size(), t.size(), e.size()));
    NoteTolerance ends;
    ends.offsets = true;
    notes_with_ends.push_back(score_notes(t, e, ends));
    NoteTolerance tight;
    tight.onset = Seconds(0.025);
    notes_in_time.push_back(score_notes(t, e, tight));
    true_notes += t.size();

    std::vector<bool> matched(e.size(), false);
    for (const auto& [ti, ei] : pairs) {
        const Note& a = take.truth.notes[ti];
        const Note& b = heard.notes[ei];
        matched[ei] = true;
        if (a.key != b.key) ++wrong_key;
        onset_ms.push_back(1000.0 * std::abs((a.onset - b.onset).value()));
        for (std::size_t k = 0; k < kind_count; ++k) {
            const bool is = having(a, k) != nullptr;
            const Inflection* said = having(b, k);
            if (is) ++kinds[k].in_truth_matched;
            if (said) ++kinds[k].heard_matched;
            if (is && said) ++kinds[k].matched;
        }
        compare_sizes<Bend>(a, b, *this);
        compare_sizes<Vibrato>(a, b, *this);
        compare_sizes<SlideIn>(a, b, *this);
        compare_sizes<SlideOut>(a, b, *this);
        compare_sizes<Trill>(a, b, *this);
        compare_errors(a, b, *this);
    }
    std::vector<std::size_t> partner(e.size(), t.size());
    for (const auto& [ti, ei] : pairs)
        partner[ei] = ti;
    choices.add(judge_choices(take, heard, partner));
    for (std::size_t i = 0; i < heard.notes.size(); ++i) {
        const Note& n = heard.notes[i];
        if (n.confidence) note_confidence.add(*n.confidence, matched[i]);
        for (const Inflection& f : n.inflections) {
            const bool right = matched[i] && having(take.truth.notes[partner[i]], f.what.index());
            if (f.confidence) inflection_confidence.add(*f.confidence, right);
        }
    }
    for (std::size_t k = 0; k < kind_count; ++k) {
        for (const Note& n : take.truth.notes)
            kinds[k].in_truth += having(n, k) != nullptr;
        for (const Note& n : heard.notes)
            kinds[k].heard += having(n, k) != nullptr;
    }
}

MelodyScore Scoreboard::mean_melody() const {
    MelodyScore m;
    const auto n = static_cast<double>(melody.size());
    for (const MelodyScore& s : melody) {
        m.raw_pitch_50 += s.raw_pitch_50 / n;
        m.raw_pitch_25 += s.raw_pitch_25 / n;
        m.raw_pitch_10 += s.raw_pitch_10 / n;
        m.raw_chroma += s.raw_chroma / n;
        m.voicing_recall += s.voicing_recall / n;
        m.false_alarm += s.false_alarm / n;
        m.overall += s.overall / n;
    }
    return m;
}

Hits Scoreboard::mean_notes() const {
    return mean(notes);
}
Hits Scoreboard::mean_notes_with_ends() const {
    return mean(notes_with_ends);
}

double Scoreboard::macro_f1_on_matched() const {
    double sum = 0.0;
    double there = 0.0;
    for (const KindCount& k : kinds) {
        if (k.in_truth_matched == 0) continue;
        sum += k.on_matched().f1;
        ++there;
    }
    return there > 0 ? sum / there : 0.0;
}

double Scoreboard::macro_f1_overall() const {
    double sum = 0.0;
    double there = 0.0;
    for (const KindCount& k : kinds) {
        if (k.in_truth == 0) continue;
        sum += k.overall().f1;
        ++there;
    }
    return there > 0 ? sum / there : 0.0;
}

double Scoreboard::micro_f1_overall() const {
    KindCount all;
    for (const KindCount& k : kinds) {
        all.matched += k.matched;
        all.in_truth += k.in_truth;
        all.heard += k.heard;
    }
    return all.overall().f1;
}

Gain paired_gain(std::span<const double> before, std::span<const double> after) {
    const auto n = static_cast<double>(before.size());
    Gain gain;
    for (std::size_t i = 0; i < before.size(); ++i)
        gain.mean += (after[i] - before[i]) / n;
    if (before.size() < 2) return gain;
    double squares = 0.0;
    for (std::size_t i = 0; i < before.size(); ++i) {
        const double off = after[i] - before[i] - gain.mean;
        squares += off * off;
    }
    gain.error = std::sqrt(squares / (n - 1.0) / n);
    return gain;
}

double median(std::vector<double> values) {
    if (values.empty()) return std::numeric_limits<double>::quiet_NaN();
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

}  // namespace bentline::corpus
