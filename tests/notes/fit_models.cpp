// Fits the note stage's models to generated takes and prints their tables: which moments are plucks
// (attack_model.cpp), which notes and inflections are right (confidence_model.cpp).
//
//   fit_models plucks|notes|inflections [takes of each scene]
//
// Development takes only, from the fiftieth on: those before it are left for measuring.
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "engine/notes/attacks.h"
#include "engine/notes/weighing.h"
#include "engine/notes/weight.h"
#include "engine/pitch/tracker.h"
#include "tests/corpus/collection.h"
#include "tests/corpus/metrics.h"
#include "tests/corpus/scoreboard.h"
#include "tests/notes/small_net.h"

namespace {

using namespace bentline;
using namespace bentline::corpus;
using bentline::testing::Example;
using bentline::testing::SmallNet;

constexpr int first_take = 50;

// The true pitch as a curve, for evidence that should not depend on the tracker's errors.
PitchCurve true_curve(const Take& take) {
    PitchCurve curve;
    curve.tuning = take.truth.tuning;
    const auto count = static_cast<std::size_t>(take.audio.duration() / curve.hop);
    for (std::size_t i = 0; i < count; ++i) {
        const auto row = static_cast<std::size_t>(curve.time_of(i) / row_step);
        PitchPoint p;
        p.confidence = 0.95;
        if (row < take.truth.rows.size()) p.f0 = take.truth.rows[row];
        curve.points.push_back(p);
    }
    return curve;
}

// True notes that were struck: all but those that a slide leads to. The truth does not mark
// hammered and pulled notes; the few of them count as struck here.
bool struck(const std::vector<Note>& notes, std::size_t i) {
    return i == 0 || notes[i - 1].offset < notes[i].onset ||
           find<SlideToNext>(notes[i - 1]) == nullptr;
}

void gather_plucks(const Take& take, std::vector<Example>& examples) {
    const NoteSettings settings;
    const auto lead = notes::lead_signal(take.audio, Focus{});
    const auto line = notes::fine_line(lead, true_curve(take), settings, {});
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

// Which true note each of these is, by mir_eval's onset and pitch; -1 for none.
std::vector<int> partners(const Take& take, const std::vector<Note>& found, Cents tuning) {
    std::vector<ScoredNote> truth;
    std::vector<ScoredNote> heard;
    for (const Note& n : take.truth.notes)
        truth.push_back(scored(n, take.truth.tuning));
    for (const Note& n : found)
        heard.push_back(scored(n, tuning));
    std::vector<int> partner(found.size(), -1);
    for (const auto& [t, h] : match_notes(truth, heard, {}))
        partner[h] = static_cast<int>(t);
    return partner;
}

void gather_notes(const Take& take, bool inflections,
                  std::map<std::size_t, std::vector<Example>>& examples) {
    const auto curve = track_pitch(take.audio, Focus{});
    if (!curve) return;
    const auto weighed = notes::weigh_notes(take.audio, *curve, Focus{}, {}, {});
    if (!weighed) return;
    std::vector<Note> found;
    for (const auto& w : *weighed)
        found.push_back(w.note);
    notes::read_weight(found, {});
    const auto partner = partners(take, found, curve->tuning);
    const auto odds_of = [](double c) { return std::log(c / (1.0 - c)); };
    for (std::size_t i = 0; i < found.size(); ++i) {
        const notes::TellingVector& t = (*weighed)[i].telling;
        if (!inflections) {
            examples[0].push_back({{t.begin(), t.end()}, partner[i] >= 0});
            continue;
        }
        for (const Inflection& f : found[i].inflections) {
            bool right = false;
            if (partner[i] >= 0) {
                for (const Inflection& true_one :
                     take.truth.notes[static_cast<std::size_t>(partner[i])].inflections) {
                    right = right || true_one.what.index() == f.what.index();
                }
            }
            examples[f.what.index()].push_back(
                {{odds_of(f.confidence.value_or(0.5)), odds_of(found[i].confidence.value_or(0.5)),
                  t[notes::tracker_trust], t[notes::likeness], t[notes::length_octaves],
                  t[notes::under_lead], t[notes::share_of_sound], t[notes::was_struck]},
                 right});
        }
    }
}

void fit_and_print(const std::vector<Example>& examples, std::size_t units, double decay) {
    if (examples.empty()) return;
    SmallNet net(examples.front().x.size(), units, 3);
    net.train(examples, 150, decay);
    std::size_t right = 0;
    for (const Example& e : examples)
        right += (net.odds(e.x) > 0.0) == e.yes ? 1 : 0;
    std::printf("// %zu examples, %zu right\n", examples.size(), right);
    net.print();
}

}  // namespace

int main(int argc, char** argv) {
    const std::string_view what = argc > 1 ? argv[1] : "";
    const int takes = argc > 2 ? std::atoi(argv[2]) : 40;
    if ((what != "plucks" && what != "notes" && what != "inflections") || takes < 1) {
        std::fprintf(stderr, "usage: fit_models plucks|notes|inflections [takes of each scene]\n");
        return 2;
    }
    std::vector<Example> plucks;
    std::map<std::size_t, std::vector<Example>> judged;
    const std::vector<SetChoice> scenes = {
        {Scene::clean, Decibels(6.0), false, ""},
        {Scene::room, Decibels(6.0), false, ""},
        {Scene::band, Decibels(6.0), false, ""},
        {Scene::band, Decibels(0.0), false, ""},
    };
    for (const SetChoice& scene : scenes) {
        Collection collection(scene);
        for (int k = first_take; k < first_take + takes; ++k) {
            const auto take = collection.make(k);
            if (!take) {
                std::fprintf(stderr, "%s\n", take.failure().sentence.c_str());
                return 1;
            }
            if (what == "plucks") {
                gather_plucks(*take, plucks);
            } else {
                gather_notes(*take, what == "inflections", judged);
            }
        }
    }
    if (what == "plucks") fit_and_print(plucks, 12, 1e-4);
    for (const auto& [kind, examples] : judged) {
        if (what == "inflections") std::printf("// kind %zu\n", kind);
        fit_and_print(examples, what == "notes" ? 4 : 0, what == "notes" ? 1e-3 : 1e-2);
    }
    return 0;
}
