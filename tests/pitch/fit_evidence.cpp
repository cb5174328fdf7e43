// Fits the evidence model of engine/pitch to generated music by maximum likelihood, and prints
// evidence_weights.h. Built only when asked for:
//   cmake --build build --target bentline_fit_evidence
//   build/tests/pitch/bentline_fit_evidence 24 12 > engine/pitch/evidence_weights.h
//   build/tests/pitch/bentline_fit_evidence 24 12 classical > engine/pitch/classical_weights.h
// Arguments: takes of each set (of the development and of the wide takes each), passes over the
// examples; "classical": without the lead network.
//
// Each frame is one choice: silence, or one of its hypotheses. The chance of a choice is a softmax
// over weighted measures (a conditional log-linear model); the weights climb the likelihood by
// AdaGrad (Duchi, Hazan & Singer 2011).
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <future>
#include <iterator>
#include <numeric>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "engine/pitch/evidence.h"
#include "engine/pitch/front_end.h"
#include "engine/pitch/tracker.h"
#include "tests/corpus/collection.h"
#include "tests/support/dice.h"

using namespace bentline;

namespace {

constexpr Seconds hop{0.005};     // the tracker's own
constexpr std::size_t a_row = 2;  // frames for each row of the truth
constexpr Cents right{45.0};      // a hypothesis this near to the truth is the right one

struct Example {
    std::vector<PitchMeasures> pitches;
    SilenceMeasures silence{};
    double clean = 0.0;
    int truth = -1;  // index of the right hypothesis, -1 for silence
};

// The index of the hypothesis that is right, if there is one.
std::optional<int> right_one(const Moment& moment, Hertz truth) {
    std::optional<int> best;
    double nearest = right.value();
    for (std::size_t h = 0; h < moment.hypotheses.size(); ++h) {
        const Hertz f(moment.hypotheses[h].hz);
        const double off = std::abs(interval(truth, f).value());
        if (off < nearest) {
            nearest = off;
            best = static_cast<int>(h);
        }
    }
    return best;
}

// One pass over a take with a register: where the lead sounds outside it, silence is right.
void add_examples(const corpus::Take& take, const Focus& focus, bool network,
                  std::vector<Example>& examples) {
    PitchGrid grid;
    grid.lowest = focus.lowest - Cents(100);
    grid.bins =
        static_cast<std::size_t>((focus.highest + Cents(1200) - grid.lowest) / grid.step) + 1;
    const std::size_t margin = listening_margin(grid, working_rate(take.audio.rate));
    const WorkingSignal sound = working_signal(take.audio, focus, margin + 1);
    const auto count = static_cast<std::size_t>(std::ceil(take.audio.duration() / hop - 1e-9));
    std::optional<LeadView> view;
    if (network) {
        auto seen = view_lead(sound, margin + 1, take.audio.duration(), {}, Work{});
        if (!seen) return;
        view = std::move(seen).value();
    }
    const LeadView* const asked = view ? &*view : nullptr;
    const auto moments =
        listen(sound, margin + 1, hop, count, grid, TrackerSettings{}.floor, asked, Work{});
    if (!moments) return;
    const std::vector<MomentMeasures> measures = measure(*moments, hop, asked, grid);
    for (std::size_t i = 0; i < take.truth.rows.size() && i * a_row < count; ++i) {
        const std::size_t frame = i * a_row;
        const Moment& moment = (*moments)[frame];
        if (moment.hypotheses.empty()) continue;
        int truth = -1;
        const bool inside = take.truth.rows[i] &&
                            pitch_of(*take.truth.rows[i]) > focus.lowest - register_margin &&
                            pitch_of(*take.truth.rows[i]) < focus.highest + register_margin;
        if (inside) {
            const auto found = right_one(moment, *take.truth.rows[i]);
            if (!found) continue;  // nothing to choose right
            truth = *found;
        }
        examples.push_back(
            {measures[frame].pitches, measures[frame].silence, measures[frame].clean, truth});
    }
}

std::vector<Example> examples_of(const corpus::SetChoice& choice, int from, int to, bool network) {
    std::vector<Example> examples;
    corpus::Collection collection(choice);
    for (int i = from; i < to; ++i) {
        const auto take = collection.make(i);
        if (!take) {
            std::fprintf(stderr, "%s\n", take.failure().sentence.c_str());
            std::exit(1);
        }
        add_examples(*take, Focus{}, network, examples);
        if (i % 3 == 1) add_examples(*take, take->focus, network, examples);
        if (i % 4 == 2) {
            // A register that leaves out his lower notes.
            Focus upper = take->focus;
            upper.lowest = upper.lowest + (upper.highest - upper.lowest) * 0.35;
            upper.width = 2.0;
            add_examples(*take, upper, network, examples);
        }
    }
    return examples;
}

// Weights in one row: pitch and silence for a sound alone, then both for a crowd.
constexpr std::size_t half = pitch_measures + silence_measures;
using Weights = std::vector<double>;

double score(const Weights& w, std::span<const float> measures, std::size_t at, double clean) {
    double sum = 0.0;
    for (std::size_t k = 0; k < measures.size(); ++k) {
        sum += (clean * w[at + k] + (1.0 - clean) * w[half + at + k]) *
               static_cast<double>(measures[k]);
    }
    return sum;
}

// The chances of all choices, silence last.
std::vector<double> chances(const Weights& w, const Example& e) {
    std::vector<double> p;
    for (const PitchMeasures& m : e.pitches)
        p.push_back(score(w, m, 0, e.clean));
    p.push_back(score(w, e.silence, pitch_measures, e.clean));
    const double most = *std::max_element(p.begin(), p.end());
    for (double& x : p)
        x = std::exp(x - most);
    const double sum = std::accumulate(p.begin(), p.end(), 0.0);
    for (double& x : p)
        x /= sum;
    return p;
}

// One step of AdaGrad on one example; returns its log likelihood before the step.
double climb(Weights& w, Weights& past, const Example& e, double rate) {
    constexpr double decay = 2e-5;
    const std::vector<double> p = chances(w, e);
    const std::size_t silence = e.pitches.size();
    const std::size_t truth = e.truth < 0 ? silence : static_cast<std::size_t>(e.truth);
    std::vector<double> slope(half, 0.0);
    for (std::size_t c = 0; c < p.size(); ++c) {
        const double d = (c == truth ? 1.0 : 0.0) - p[c];
        const std::span<const float> m =
            c == silence ? std::span<const float>(e.silence) : std::span<const float>(e.pitches[c]);
        const std::size_t at = c == silence ? pitch_measures : 0;
        for (std::size_t k = 0; k < m.size(); ++k)
            slope[at + k] += d * static_cast<double>(m[k]);
    }
    for (std::size_t k = 0; k < 2 * half; ++k) {
        const double share = k < half ? e.clean : 1.0 - e.clean;
        const double g = share * slope[k % half] - decay * w[k];
        past[k] += g * g;
        w[k] += rate * g / std::sqrt(past[k]);
    }
    return std::log(p[truth] + 1e-9);
}

void print_row(const Weights& w, std::size_t from, std::size_t count) {
    std::printf("{");
    for (std::size_t k = 0; k < count; ++k)
        std::printf("%s%.3fF", k > 0 ? ", " : "", w[from + k]);
    std::printf("}");
}

void print_header(const Weights& w, bool network) {
    std::printf(
        "// Weights of the evidence %s the network, fitted by maximum likelihood to generated "
        "music "
        "(tests/pitch/fit_evidence.cpp):\n// in the order of the measures in evidence.cpp, first "
        "for a sound alone, then for a crowd.\n#pragma once\n\n#include "
        "\"engine/pitch/evidence.h\"\n\nnamespace bentline {\n\ninline constexpr EvidenceModel "
        "%s_weights{",
        network ? "with" : "without", network ? "fitted" : "classical");
    for (const std::size_t from : {std::size_t{0}, half}) {
        std::printf("%s{", from > 0 ? ",\n    " : "\n    ");
        print_row(w, from, pitch_measures);
        std::printf(", ");
        print_row(w, from + pitch_measures, silence_measures);
        std::printf("}");
    }
    std::printf("};\n\n}  // namespace bentline\n");
}

}  // namespace

int main(int argc, char** argv) {
    const int takes = argc > 1 ? std::atoi(argv[1]) : 24;   // NOLINT
    const int passes = argc > 2 ? std::atoi(argv[2]) : 12;  // NOLINT
    const bool network = argc <= 3 || std::string_view(argv[3]) != "classical";
    std::vector<Example> examples;
    const struct {
        corpus::Scene scene;
        double lead_over_band;
    } sets[] = {{corpus::Scene::clean, 6.0},
                {corpus::Scene::room, 6.0},
                {corpus::Scene::band, 6.0},
                {corpus::Scene::band, 0.0},
                {corpus::Scene::band, -3.0}};
    // Each set in a few parts side by side, put together in order.
    constexpr int parts = 3;
    std::vector<std::future<std::vector<Example>>> works;
    for (const corpus::Seeds seeds : {corpus::Seeds::development, corpus::Seeds::wide}) {
        int first = 0;
        for (const auto& set : sets) {
            corpus::SetChoice choice;
            choice.seeds = seeds;
            choice.scene = set.scene;
            choice.lead_over_band = Decibels(set.lead_over_band);
            for (int part = 0; part < parts; ++part) {
                works.push_back(std::async(std::launch::async, examples_of, choice,
                                           first + takes * part / parts,
                                           first + takes * (part + 1) / parts, network));
            }
            first += 100;
        }
    }
    for (auto& w : works) {
        std::vector<Example> more = w.get();
        std::move(more.begin(), more.end(), std::back_inserter(examples));
    }
    std::fprintf(stderr, "%zu frames\n", examples.size());

    Weights w(2 * half, 0.0);
    Weights past(2 * half, 1e-3);
    testing::Dice dice(3);
    for (int pass = 0; pass < passes; ++pass) {
        for (std::size_t i = examples.size(); i > 1; --i) {
            std::swap(examples[i - 1], examples[dice.next() % i]);
        }
        double likelihood = 0.0;
        for (const Example& e : examples) {
            likelihood += climb(w, past, e, pass < passes / 2 ? 0.15 : 0.05);
        }
        std::fprintf(stderr, "pass %d: %.4f a frame\n", pass + 1,
                     likelihood / static_cast<double>(examples.size()));
    }
    print_header(w, network);
    return 0;
}
