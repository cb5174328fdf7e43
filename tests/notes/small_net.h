// A tiny network for the note stage's fitted models: a linear part and a few tanh units, trained by
// logistic loss. Only the fitting tool uses it; the engine holds the weights.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdio>
#include <utility>
#include <vector>

#include "tests/support/dice.h"

namespace bentline::testing {

struct Example {
    std::vector<double> x;
    bool yes = false;
};

// Adam (Kingma & Ba 2015) on batches of 64, the step falling to a fiftieth over the epochs.
class SmallNet {
  public:
    SmallNet(std::size_t inputs, std::size_t units, std::uint64_t seed)
        : inputs_(inputs), units_(units), dice_(seed) {
        weights_.assign(units * (inputs + 1) + units + 1 + inputs, 0.0);
        home_ = weights_;
        for (std::size_t i = 0; i < units * (inputs + 1) + units; ++i) {
            weights_[i] = 0.5 * dice_.normal();
        }
    }

    // Goes on from weights of this shape, in the order in which print() writes them; decay then
    // draws towards them, not towards zero.
    void begin_at(std::vector<double> weights) {
        weights_ = std::move(weights);
        home_ = weights_;
    }

    void train(const std::vector<Example>& examples, int epochs, double decay,
               double first_step = 0.01) {
        std::vector<std::size_t> order(examples.size());
        for (std::size_t i = 0; i < order.size(); ++i)
            order[i] = i;
        struct Moments {
            double mean = 0.0;
            double square = 0.0;
        };
        std::vector<Moments> moments(weights_.size());
        std::vector<double> slope = home_;
        double done = 0.0;
        for (int e = 0; e < epochs; ++e) {
            for (std::size_t i = order.size(); i > 1; --i) {
                std::swap(order[i - 1],
                          order[static_cast<std::size_t>(dice_.whole(0, static_cast<int>(i) - 1))]);
            }
            const double step = first_step * std::pow(0.02, e / static_cast<double>(epochs));
            for (std::size_t from = 0; from < order.size(); from += 64) {
                const std::size_t to = std::min(order.size(), from + 64);
                std::fill(slope.begin(), slope.end(), 0.0);
                for (std::size_t i = from; i < to; ++i)
                    add_slope(examples[order[i]], slope);
                done += 1.0;
                for (std::size_t p = 0; p < weights_.size(); ++p) {
                    const double g = slope[p] / static_cast<double>(to - from) +
                                     decay * (weights_[p] - home_[p]);
                    Moments& of = moments[p];
                    of.mean = 0.9 * of.mean + 0.1 * g;
                    of.square = 0.999 * of.square + 0.001 * g * g;
                    const double m = of.mean / (1.0 - std::pow(0.9, done));
                    const double s = of.square / (1.0 - std::pow(0.999, done));
                    weights_[p] -= step * m / (std::sqrt(s) + 1e-8);
                }
            }
        }
    }

    double odds(const std::vector<double>& x) const {
        std::vector<double> hidden;
        return run(x, hidden);
    }

    // As the tables in engine/notes: units' rows, then the output's, then the direct weights.
    void print() const {
        const auto row = [&](std::size_t from, std::size_t n) {
            std::printf("{{");
            for (std::size_t i = 0; i < n; ++i)
                std::printf("%s%.3f", i > 0 ? ", " : "", weights_[from + i]);
            std::printf("}},\n");
        };
        for (std::size_t u = 0; u < units_; ++u)
            row(u * (inputs_ + 1), inputs_ + 1);
        row(units_ * (inputs_ + 1), units_ + 1);
        row(units_ * (inputs_ + 1) + units_ + 1, inputs_);
    }

  private:
    double run(const std::vector<double>& x, std::vector<double>& hidden) const {
        const std::size_t out = units_ * (inputs_ + 1);
        double odds = weights_[out + units_];
        for (std::size_t k = 0; k < inputs_; ++k)
            odds += weights_[out + units_ + 1 + k] * x[k];
        hidden.resize(units_);
        for (std::size_t u = 0; u < units_; ++u) {
            double sum = weights_[u * (inputs_ + 1) + inputs_];
            for (std::size_t k = 0; k < inputs_; ++k)
                sum += weights_[u * (inputs_ + 1) + k] * x[k];
            hidden[u] = std::tanh(sum);
            odds += weights_[out + u] * hidden[u];
        }
        return odds;
    }

    void add_slope(const Example& e, std::vector<double>& slope) const {
        const std::size_t out = units_ * (inputs_ + 1);
        std::vector<double> hidden;
        const double error = 1.0 / (1.0 + std::exp(-run(e.x, hidden))) - (e.yes ? 1.0 : 0.0);
        slope[out + units_] += error;
        for (std::size_t k = 0; k < inputs_; ++k)
            slope[out + units_ + 1 + k] += error * e.x[k];
        for (std::size_t u = 0; u < units_; ++u) {
            slope[out + u] += error * hidden[u];
            const double back = error * weights_[out + u] * (1.0 - hidden[u] * hidden[u]);
            slope[u * (inputs_ + 1) + inputs_] += back;
            for (std::size_t k = 0; k < inputs_; ++k)
                slope[u * (inputs_ + 1) + k] += back * e.x[k];
        }
    }

    std::size_t inputs_;
    std::size_t units_;
    Dice dice_;
    std::vector<double> weights_;
    std::vector<double> home_;  // where decay draws to
};

}  // namespace bentline::testing
