// Fits the note stage's models to generated takes and prints their tables: which moments are plucks
// (attack_model.cpp), which notes and inflections are right (confidence_model.cpp).
//
//   fit_models plucks|notes|inflections|alternatives|errors|all [takes of each scene]
//
// paste_tables.py puts what it prints in the tables' place. Development and wide takes only, from
// the fiftieth on: those before it are left for measuring. No two scenes share a take's number: one
// line heard in ten scenes tells hardly more than in two.
#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <thread>
#include <utility>
#include <vector>

#include "engine/notes/alternatives.h"
#include "engine/notes/arrivals.h"
#include "engine/notes/attack_model.h"
#include "engine/notes/attacks.h"
#include "engine/notes/confidence_model.h"
#include "engine/notes/pencil.h"
#include "engine/notes/weighing.h"
#include "engine/notes/weight.h"
#include "engine/pitch/tracker.h"
#include "tests/corpus/collection.h"
#include "tests/corpus/metrics.h"
#include "tests/corpus/scoreboard.h"
#include "tests/notes/fit_errors.h"
#include "tests/notes/listened.h"
#include "tests/notes/small_net.h"

namespace {

using namespace bentline;
using namespace bentline::corpus;
using namespace bentline::testing;

constexpr int first_take = 50;

// True notes that were struck: all but those that a slide leads to. The truth does not mark
// hammered and pulled notes; the few of them count as struck here.
bool struck(const std::vector<Note>& notes, std::size_t i) {
    return i == 0 || notes[i - 1].offset < notes[i].onset ||
           find<SlideToNext>(notes[i - 1]) == nullptr;
}

void gather_plucks(const Take& take, const PitchCurve& curve, std::vector<Example>& examples) {
    const NoteSettings settings;
    const auto lead = notes::lead_signal(take.audio, Focus{});
    const auto line = notes::fine_line(lead, curve, settings, {});
    const auto attacks = notes::find_attacks(lead, line, settings, {});
    for (const notes::Pluck& pluck : attacks.plucks) {
        double nearest = 1.0;
        bool was_struck = false;
        for (std::size_t i = 0; i < take.truth.notes.size(); ++i) {
            const double away = std::abs(pluck.time - take.truth.notes[i].onset.value());
            if (away >= nearest) continue;
            nearest = away;
            was_struck = struck(take.truth.notes, i);
        }
        // Just beside a pluck nothing can be said.
        if (nearest > 0.02 && nearest < 0.03) continue;
        examples.push_back(
            {{pluck.evidence.begin(), pluck.evidence.end()}, nearest <= 0.02 && was_struck});
    }
}

void gather_notes(const Take& take, const Listened& heard, std::vector<Example>& examples) {
    std::vector<Note> found;
    for (const auto& w : heard.weighed)
        found.push_back(w.note);
    const auto partner = partners(take, found, heard.curve.tuning);
    for (std::size_t i = 0; i < found.size(); ++i) {
        const notes::TellingVector& t = heard.weighed[i].telling;
        examples.push_back({{t.begin(), t.end()}, partner[i] >= 0});
    }
}

// The notes that would be pencilled, and what was told of each.
struct Pencilled {
    std::vector<Note> notes;
    std::vector<notes::TellingVector> telling;
    std::vector<double> struck;
    std::vector<Seconds> perhaps;
};
Pencilled pencilled(const Listened& heard) {
    const NoteSettings settings;
    Pencilled all;
    for (const auto& w : heard.weighed) {
        if (*w.note.confidence < settings.least_confidence) {
            if (*w.note.confidence >= settings.least_doubt) all.perhaps.push_back(w.note.onset);
            continue;
        }
        all.notes.push_back(w.note);
        all.telling.push_back(w.telling);
        all.struck.push_back(w.struck_level);
    }
    return all;
}

// Of the notes that would be pencilled, with the weight that they would then get.
void gather_inflections(const Take& take, const Listened& heard,
                        std::map<std::size_t, std::vector<Example>>& examples) {
    auto [found, telling, struck, perhaps] = pencilled(heard);
    notes::read_arrivals(found);
    notes::read_weight(found, struck, perhaps, {});
    const auto partner = partners(take, found, heard.curve.tuning);
    for (std::size_t i = 0; i < found.size(); ++i) {
        for (const Inflection& f : found[i].inflections) {
            bool right = false;
            if (partner[i] >= 0) {
                for (const Inflection& true_one :
                     take.truth.notes[static_cast<std::size_t>(partner[i])].inflections) {
                    right = right || true_one.what.index() == f.what.index();
                }
            }
            const auto t = notes::telling_of_inflection(found, telling, i, f);
            examples[f.what.index()].push_back({{t.begin(), t.end()}, right});
        }
    }
}

// Every candidate for a wrong note, one choice a note: which of them is true, -1 for none of them.
struct Choice {
    std::vector<notes::TraitVector> candidates;
    int truth = -1;
};

void gather_choices(const Take& take, const Listened& heard, std::vector<Choice>& choices) {
    const auto [found, telling, struck, perhaps] = pencilled(heard);
    const auto partner = partners(take, found, heard.curve.tuning);
    for (std::size_t i = 0; i < found.size(); ++i) {
        if (partner[i] >= 0) continue;
        const Note* truth = nullptr;
        bool late = false;  // played, but begins elsewhere: no reading mends that
        for (const Note& t : take.truth.notes) {
            if (std::abs((t.onset - found[i].onset).value()) <= 0.05) truth = &t;
            late = late || (t.key == found[i].key && t.onset < found[i].offset &&
                            found[i].onset < t.offset);
        }
        Choice choice;
        const auto candidates = notes::candidates_of(found, i, telling[i], heard.curve, Focus{});
        for (std::size_t k = 0; k < candidates.size(); ++k) {
            choice.candidates.push_back(candidates[k].traits);
            const bool none = !candidates[k].key && !truth && !late;
            const bool key = candidates[k].key && truth && *candidates[k].key == truth->key;
            if (none || key) choice.truth = static_cast<int>(k);
        }
        choices.push_back(std::move(choice));
    }
}

// Maximum likelihood of a conditional log-linear model, by plain gradient ascent.
void fit_choices(const std::vector<Choice>& choices) {
    notes::TraitVector w{};
    for (int pass = 0; pass < 3000; ++pass) {
        notes::TraitVector slope{};
        for (const Choice& c : choices) {
            std::vector<double> p;
            double sum = 1.0;  // what is none of them scores 0
            for (const auto& traits : c.candidates) {
                double score = 0.0;
                for (std::size_t k = 0; k < notes::trait_count; ++k)
                    score += w[k] * traits[k];
                p.push_back(std::exp(score));
                sum += p.back();
            }
            for (std::size_t j = 0; j < p.size(); ++j) {
                const double d = (static_cast<int>(j) == c.truth ? 1.0 : 0.0) - p[j] / sum;
                for (std::size_t k = 0; k < notes::trait_count; ++k)
                    slope[k] += d * c.candidates[j][k];
            }
        }
        for (std::size_t k = 0; k < notes::trait_count; ++k)
            w[k] += 0.5 * (slope[k] / static_cast<double>(choices.size()) - 1e-3 * w[k]);
    }
    std::size_t named = 0;
    for (const Choice& c : choices)
        named += c.truth >= 0;
    std::printf("// %zu wrong notes, %zu with the truth among the candidates\n", choices.size(),
                named);
    std::printf("constexpr TraitVector trait_weights = {");
    for (std::size_t k = 0; k < w.size(); ++k)
        std::printf("%s%.3f", k ? ", " : "", w[k]);
    std::printf("};\n");
}

void fit_and_print(const std::vector<Example>& examples, std::size_t units, double decay) {
    if (examples.empty()) return;
    SmallNet net(examples.front().x.size(), units, 3);
    // A plain sum of the evidence costs little and is trained until it stands still.
    net.train(examples, units > 0 ? 150 : 1500, decay);
    std::size_t right = 0;
    for (const Example& e : examples)
        right += (net.odds(e.x) > 0.0) == e.yes ? 1 : 0;
    std::printf("// %zu examples, %zu right\n", examples.size(), right);
    net.print();
}

// Goes on from the table in place, which has learned from three times as many takes: some hundred
// takes alone tell less of guitars that are well followed already.
void go_on_with_plucks(const std::vector<Example>& examples) {
    if (examples.empty()) return;
    std::vector<double> weights = notes::pluck_weights();
    const std::size_t units =
        (weights.size() - notes::evidence_count - 1) / (notes::evidence_count + 2);
    SmallNet net(notes::evidence_count, units, 3);
    net.begin_at(std::move(weights));
    net.train(examples, 40, 3e-3, 0.003);
    std::printf("// %zu examples\n", examples.size());
    net.print();
}

// What one take, or all of them, teach.
struct Gathered {
    std::vector<Example> plucks;
    std::vector<Example> judged;
    std::map<std::size_t, std::vector<Example>> inflected;
    std::vector<Choice> choices;
    Errors errors;

    void take_up(Gathered&& other) {
        const auto append = [](auto& to, auto& from) {
            to.insert(to.end(), from.begin(), from.end());
        };
        append(plucks, other.plucks);
        append(judged, other.judged);
        for (auto& [kind, examples] : other.inflected)
            append(inflected[kind], examples);
        append(choices, other.choices);
        for (std::size_t m = 0; m < errors.size(); ++m)
            append(errors[m], other.errors[m]);
    }
};

void gather(std::string_view what, const Take& take, Gathered& sum) {
    if (what == "plucks") {
        if (const auto curve = track_pitch(take.audio, Focus{}))
            gather_plucks(take, *curve, sum.plucks);
        return;
    }
    const bool all = what == "all";
    const auto heard = listen_to(take);
    if (!heard) return;
    if (all || what == "notes") gather_notes(take, *heard, sum.judged);
    if (all || what == "inflections") gather_inflections(take, *heard, sum.inflected);
    if (all || what == "alternatives") gather_choices(take, *heard, sum.choices);
    if (all || what == "errors") gather_errors(take, *heard, sum.errors);
}

}  // namespace

int main(int argc, char** argv) {
    const std::string_view what = argc > 1 ? argv[1] : "";
    const int takes = argc > 2 ? std::atoi(argv[2]) : 40;
    const bool all = what == "all";
    const bool known = all || what == "plucks" || what == "notes" || what == "inflections" ||
                       what == "alternatives" || what == "errors";
    if (!known || takes < 1) {
        std::fprintf(stderr, "usage: at the head of the source\n");
        return 2;
    }
    std::vector<SetChoice> scenes;
    for (const Seeds seeds : {Seeds::development, Seeds::wide}) {
        scenes.push_back({Scene::clean, Decibels(6.0), seeds});
        scenes.push_back({Scene::room, Decibels(6.0), seeds});
        for (const double over_band : {6.0, 0.0, -3.0})
            scenes.push_back({Scene::band, Decibels(over_band), seeds});
    }
    // Each processor takes the next take; what they gather is put together in the takes' order.
    std::vector<Gathered> parts(scenes.size() * static_cast<std::size_t>(takes));
    std::atomic<std::size_t> next{0};
    std::atomic<bool> failed{false};
    const auto work = [&] {
        std::vector<Collection> collections;
        for (const SetChoice& scene : scenes)
            collections.emplace_back(scene);
        for (std::size_t i = next++; i < parts.size() && !failed; i = next++) {
            const int number = first_take + static_cast<int>(i);
            const auto take = collections[i % scenes.size()].make(number);
            if (!take) {
                std::fprintf(stderr, "%s\n", take.failure().sentence.c_str());
                failed = true;
            } else {
                gather(what, *take, parts[i]);
            }
        }
    };
    {
        std::vector<std::jthread> workers;
        for (unsigned w = 0; w < std::max(1U, std::thread::hardware_concurrency()); ++w)
            workers.emplace_back(work);
    }
    if (failed) return 1;
    Gathered sum;
    for (Gathered& part : parts)
        sum.take_up(std::move(part));
    if (what == "plucks") go_on_with_plucks(sum.plucks);
    if (!sum.choices.empty()) fit_choices(sum.choices);
    if (all || what == "errors") fit_errors(std::move(sum.errors));
    if (!sum.judged.empty()) {
        std::printf("// notes\n");
        fit_and_print(sum.judged, 4, 1e-3);
    }
    for (const auto& [kind, examples] : sum.inflected) {
        std::printf("// kind %zu\n", kind);
        fit_and_print(examples, 0, 3e-3);
    }
    return 0;
}
