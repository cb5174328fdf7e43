// Candidates from the tracker's rivals and from the errors that trackers make.
#include "engine/notes/alternatives.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>

#include "engine/notes/words.h"

namespace bentline::notes {

namespace {

// In the order of Trait. Made by tests/notes/fit_models alternatives; not edited by hand.
constexpr TraitVector trait_weights = {0.227, -4.084, -3.035, -3.052, 3.306,
                                       0.758, 0.742,  0.909,  0.089,  -0.801};
// What the unnamed rest scores.
constexpr double rest_score = 0.0;

// Mean posterior of each other written pitch over the note.
std::map<int, double> rivals_of(const Note& note, const PitchCurve& curve) {
    std::map<int, double> sums;
    double points = 0.0;
    const double first = std::ceil((note.onset - curve.start) / curve.hop);
    for (double at = std::max(0.0, first); at < static_cast<double>(curve.points.size()); ++at) {
        const auto i = static_cast<std::size_t>(at);
        if (curve.time_of(i) >= note.offset) break;
        points += 1.0;
        for (const Rival& r : curve.points[i].rivals) {
            if (!(r.probability > 0.0)) continue;
            sums[nearest_key(pitch_of(r.f0, curve.tuning)).value()] += r.probability;
        }
    }
    for (auto& [key, sum] : sums)
        sum /= std::max(1.0, points);
    return sums;
}

double middle_of_neighbours(const std::vector<Note>& notes, std::size_t i) {
    std::vector<double> keys;
    for (std::size_t j = i > 3 ? i - 3 : 0; j < std::min(notes.size(), i + 4); ++j) {
        if (j != i) keys.push_back(notes[j].key.value());
    }
    if (keys.empty()) return notes[i].key.value();
    std::sort(keys.begin(), keys.end());
    return keys[keys.size() / 2];
}

std::string distance_words(int semitones) {
    if (semitones == 12) return "an octave higher";
    if (semitones == -12) return "an octave lower";
    return words({count(std::abs(semitones)), std::abs(semitones) == 1 ? " semitone" : " semitones",
                  semitones > 0 ? " higher" : " lower"});
}

// The same inflections a distance away.
std::vector<Inflection> moved(std::vector<Inflection> all, int semitones) {
    const auto shift = [semitones](std::optional<MidiKey>& key) {
        if (key) key = MidiKey(std::clamp(key->value() + semitones, 0, 127));
    };
    for (Inflection& i : all) {
        if (auto* in = std::get_if<SlideIn>(&i.what)) shift(in->from);
        if (auto* out = std::get_if<SlideOut>(&i.what)) shift(out->to);
    }
    return all;
}

std::string plain_words(const InflectionKind& what) {
    std::string name = kind_name(what);
    std::replace(name.begin(), name.end(), '_', ' ');
    return name;
}

void offer_inflections(Note& note, const std::vector<Inflection>& dropped, double sure,
                       std::vector<Alternative>& all) {
    for (std::size_t k = 0; k < note.inflections.size(); ++k) {
        const double p = note.inflections[k].confidence.value_or(1.0);
        if (p >= doubtful_below) continue;
        Alternative a;
        a.key = note.key;
        a.inflections = note.inflections;
        a.inflections.erase(a.inflections.begin() + static_cast<std::ptrdiff_t>(k));
        a.probability = sure * (1.0 - p);
        a.reason = "without the " + plain_words(note.inflections[k].what);
        all.push_back(std::move(a));
    }
    for (const Inflection& d : dropped) {
        Alternative a;
        a.key = note.key;
        a.inflections = note.inflections;
        a.inflections.push_back(d);
        a.probability = sure * d.confidence.value_or(0.0);
        a.reason = "with " + plain_words(d.what) + ": " + d.reason;
        all.push_back(std::move(a));
    }
}

}  // namespace

std::vector<Candidate> candidates_of(const std::vector<Note>& notes, std::size_t i,
                                     const TellingVector& telling, const PitchCurve& curve,
                                     const Focus& focus) {
    const Note& note = notes[i];
    const std::map<int, double> rivals = rivals_of(note, curve);
    std::map<int, double> keys = {{12, 0.0}, {-12, 0.0}, {1, 0.0}, {-1, 0.0}};
    for (const auto& [key, share] : rivals) {
        if (key != note.key.value()) keys[key - note.key.value()] = share;
    }
    const double middle = middle_of_neighbours(notes, i);
    std::vector<Candidate> all;
    Candidate none;
    none.traits[is_none] = 1.0;
    const double confidence = std::clamp(note.confidence.value_or(0.5), 0.001, 0.999);
    none.traits[none_by_odds] = -std::log(confidence / (1.0 - confidence)) / 4.0;
    none.traits[none_unstruck] = 1.0 - telling[was_struck];
    none.traits[none_short] = telling[very_short];
    none.reason = "not a note of the soloist";
    all.push_back(none);
    for (const auto& [distance, share] : keys) {
        const Pitch p(static_cast<double>(note.key.value() + distance));
        if (p < focus.lowest || p > focus.highest) continue;
        Candidate c;
        c.key = MidiKey(note.key.value() + distance);
        const bool octave = std::abs(distance) == 12;
        const bool semitone = std::abs(distance) == 1;
        c.traits[octave ? is_octave : semitone ? is_semitone : is_other] = 1.0;
        c.traits[rival_share] = std::log10(share + 1e-4) / 4.0 + 1.0;
        if (semitone && note.cents)
            c.traits[leans_that_way] = note.cents->value() * distance / 50.0;
        c.traits[in_line] = 1.0 - std::abs(p.value() - middle) / 12.0;
        c.reason = distance_words(distance);
        all.push_back(std::move(c));
    }
    return all;
}

std::vector<double> weigh_candidates(const std::vector<Candidate>& candidates) {
    std::vector<double> p;
    double sum = std::exp(rest_score);
    for (const Candidate& c : candidates) {
        double score = 0.0;
        for (std::size_t k = 0; k < trait_count; ++k)
            score += trait_weights[k] * c.traits[k];
        p.push_back(std::exp(std::clamp(score, -20.0, 20.0)));
        sum += p.back();
    }
    for (double& x : p)
        x /= sum;
    return p;
}

void add_alternatives(std::vector<Note>& notes, const std::vector<TellingVector>& telling,
                      const std::vector<std::vector<Inflection>>& dropped, const PitchCurve& curve,
                      const Focus& focus) {
    for (std::size_t i = 0; i < notes.size(); ++i) {
        Note& note = notes[i];
        const double sure = note.confidence.value_or(0.5);
        std::vector<Alternative> all;
        if (sure < doubtful_below) {
            const std::vector<Candidate> candidates =
                candidates_of(notes, i, telling[i], curve, focus);
            const std::vector<double> p = weigh_candidates(candidates);
            for (std::size_t k = 0; k < candidates.size(); ++k) {
                Alternative a;
                a.key = candidates[k].key;
                if (a.key)
                    a.inflections = moved(note.inflections, a.key->value() - note.key.value());
                a.probability = (1.0 - sure) * p[k];
                a.reason = candidates[k].reason;
                all.push_back(std::move(a));
            }
        }
        offer_inflections(note, dropped[i], sure, all);
        std::stable_sort(all.begin(), all.end(), [](const Alternative& a, const Alternative& b) {
            return a.probability > b.probability;
        });
        for (Alternative& a : all) {
            if (note.alternatives.size() == most_alternatives) break;
            if (a.probability < least_alternative) break;
            note.alternatives.push_back(std::move(a));
        }
    }
}

}  // namespace bentline::notes
