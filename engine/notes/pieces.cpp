// The semi-Markov cut of the pitch line.
#include "engine/notes/pieces.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "engine/notes/swings.h"

namespace bentline::notes {

namespace {

constexpr double swing_cost = 9.0;         // nats above a steady piece: rate, depth and phase
constexpr double loose_cost = 5.0;         // nats
constexpr double loose_point = 0.5;        // nats a point
constexpr std::size_t close_points = 120;  // pieces up to this long begin anywhere
constexpr std::size_t swing_step = 8;      // points between places where a swing may begin or end
constexpr double deepest_swing = 90.0;     // cents
constexpr double longest_stretch = 30.0;   // seconds

// Sums over [0, i) from which the misfit of a piece follows in constant time.
struct Sums {
    std::vector<double> w, wy, wyy, wt, wtt, wty;

    explicit Sums(std::size_t n) {
        for (auto* v : {&w, &wy, &wyy, &wt, &wtt, &wty})
            v->assign(n + 1, 0.0);
    }
    void add(std::size_t i, double weight, double y) {
        const auto t = static_cast<double>(i);
        w[i + 1] = w[i] + weight;
        wy[i + 1] = wy[i] + weight * y;
        wyy[i + 1] = wyy[i] + weight * y * y;
        wt[i + 1] = wt[i] + weight * t;
        wtt[i + 1] = wtt[i] + weight * t * t;
        wty[i + 1] = wty[i] + weight * t * y;
    }
};

struct Fit {
    double misfit = 0.0;  // weighted sum of squares
    double first = 0.0;
    double last = 0.0;
};

Fit fit_steady(const Sums& s, std::size_t a, std::size_t b) {
    const double w = s.w[b] - s.w[a];
    if (w <= 1e-9) return {};
    const double wy = s.wy[b] - s.wy[a];
    const double mean = wy / w;
    return {std::max(0.0, s.wyy[b] - s.wyy[a] - wy * mean), mean, mean};
}

Fit fit_moving(const Sums& s, std::size_t a, std::size_t b) {
    const Fit flat = fit_steady(s, a, b);
    const double w = s.w[b] - s.w[a];
    if (w <= 1e-9) return flat;
    const double t = (s.wt[b] - s.wt[a]) / w;
    const double tt = s.wtt[b] - s.wtt[a] - w * t * t;
    const double ty = s.wty[b] - s.wty[a] - w * t * flat.first;
    if (tt <= 1e-9) return flat;
    const double slope = ty / tt;
    return {std::max(0.0, flat.misfit - slope * ty),
            flat.first + slope * (static_cast<double>(a) - t),
            flat.first + slope * (static_cast<double>(b) - 1.0 - t)};
}

// One voiced stretch, [from, to) of the line.
class Stretch {
  public:
    Stretch(const FineLine& line, const Attacks& attacks, const std::vector<double>& weights,
            const std::vector<SwingTurn>& turns, std::size_t from, std::size_t to,
            const NoteSettings& settings)
        : from_(from),
          size_(to - from),
          settings_(settings),
          turns_(turns),
          spread_height_(std::log(settings.moving_spread.value() / settings.steady_spread.value())),
          sums_(size_),
          starts_(size_, none) {
        y_.resize(size_);
        w_.resize(size_);
        double base = 0.0;
        double sum = 0.0;
        for (std::size_t i = 0; i < size_; ++i) {
            base += weights[from + i] * line.cents[from + i];
            sum += weights[from + i];
        }
        base_ = sum > 0.0 ? base / sum : 0.0;
        for (std::size_t i = 0; i < size_; ++i) {
            w_[i] = weights[from + i];
            y_[i] = w_[i] > 0.0 ? line.cents[from + i] - base_ : 0.0;
            sums_.add(i, w_[i], y_[i]);
        }
        hop_ = line.hop;
        edge_ = static_cast<std::size_t>(std::lround(0.4 * line_blur(base_, settings) / hop_));
        for (std::size_t p = 0; p < attacks.plucks.size(); ++p) {
            const double at = std::round((attacks.plucks[p].time - line.start) / line.hop) -
                              static_cast<double>(from);
            if (at < 0.0 || at >= static_cast<double>(size_)) continue;
            int& here = starts_[static_cast<std::size_t>(at)];
            if (here == none || attacks.plucks[static_cast<std::size_t>(here)].log_odds <
                                    attacks.plucks[p].log_odds) {
                here = static_cast<int>(p);
            }
        }
        odds_.assign(size_, 0.0);
        for (std::size_t i = 0; i < size_; ++i) {
            if (starts_[i] != none) {
                odds_[i] =
                    std::min(8.0, attacks.plucks[static_cast<std::size_t>(starts_[i])].log_odds);
            }
        }
    }

    Breath cut() {
        make_swings();
        best_.assign(size_ + 1, std::numeric_limits<double>::infinity());
        back_.assign(size_ + 1, {});
        best_[0] = 0.0;
        const auto longest = static_cast<std::size_t>(settings_.longest_piece.value() / hop_);
        const auto glide = static_cast<std::size_t>(settings_.longest_glide.value() / hop_);
        // Long pieces may begin at fewer places: their ends matter less than the cost of looking.
        std::vector<std::size_t> places;
        for (std::size_t b = 1; b <= size_; ++b) {
            const std::size_t least = b > longest ? b - longest : 0;
            const std::size_t close = std::max(least, b > close_points ? b - close_points : 0);
            for (std::size_t a = b; a-- > close;)
                consider(a, b, glide);
            if (close == 0) continue;
            if ((close - 1) % 6 == 0 || starts_[close - 1] != none) places.push_back(close - 1);
            for (std::size_t k = places.size(); k-- > 0 && places[k] >= least;)
                consider(places[k], b, glide);
        }
        Breath breath;
        for (std::size_t b = size_; b > 0;) {
            Piece piece = back_[b];
            b = piece.from;
            piece.from += from_;
            piece.to += from_;
            piece.first += base_;
            piece.last += base_;
            breath.pieces.push_back(piece);
        }
        std::reverse(breath.pieces.begin(), breath.pieces.end());
        return breath;
    }

  private:
    static constexpr int none = -1;

    // What beginning a piece at `a` costs, on top of or instead of its prior.
    double start_cost(std::size_t a, double prior) const {
        if (a == 0) return 0.0;
        return starts_[a] == none ? prior : std::min(prior, -odds_[a]);
    }

    void offer(std::size_t a, std::size_t b, double cost, Motion motion, double first,
               double last) {
        const double total = best_[a] + cost;
        if (total >= best_[b]) return;
        best_[b] = total;
        back_[b] = {a, b, motion, first, last, starts_[a]};
    }

    // What a piece costs however well it fits is known at once: most need no fit to be passed over.
    bool hopeless(std::size_t a, std::size_t b, double least_cost) const {
        return best_[a] + least_cost >= best_[b];
    }

    void consider(std::size_t a, std::size_t b, std::size_t glide) {
        const std::size_t n = b - a;
        const double weight = sums_.w[b] - sums_.w[a];
        const double start = start_cost(a, settings_.steady_cost);
        if (weight <= 1e-9) {
            // A bridged hole has no pitch.
            offer(a, b, start, Motion::loose, 0.0, 0.0);
            return;
        }
        // A step is blurred over the line's window: the ends of a held pitch say nothing against
        // it.
        const std::size_t edge = n >= 4 * edge_ + 4 ? edge_ : 0;
        if (!hopeless(a, b, start)) {
            const double held = settings_.steady_spread.value();
            const Fit flat = fit_steady(sums_, a + edge, b - edge);
            offer(a, b, start + 0.5 * flat.misfit / (held * held), Motion::steady, flat.first,
                  flat.first);
        }
        // Where the spreads differ, so do the densities' heights.
        const double height = weight * spread_height_;
        if (n >= 4 && n <= glide) {
            const double begin = start_cost(a, settings_.moving_cost);
            if (!hopeless(a, b, begin + height)) {
                const double spread = settings_.moving_spread.value();
                const Fit move = fit_moving(sums_, a, b);
                offer(a, b, begin + 0.5 * move.misfit / (spread * spread) + height, Motion::moving,
                      move.first, move.last);
            }
        }
        if (n <= 40) {
            const double cost = start + loose_cost + loose_point * static_cast<double>(n);
            if (!hopeless(a, b, cost)) {
                const double pitch = fit_steady(sums_, a + edge, b - edge).first;
                offer(a, b, cost, Motion::loose, pitch, pitch);
            }
        }
        if (!swings_.empty() && static_cast<double>(n) * hop_ >= 0.3 && swings_here(a) &&
            swings_here(b)) {
            consider_swing(a, b, start + swing_cost, height);
        }
    }

    bool swings_here(std::size_t i) const {
        return i % swing_step == 0 || i == size_ || starts_[i] != none;
    }

    void consider_swing(std::size_t a, std::size_t b, double start, double height) {
        if (hopeless(a, b, start + height)) return;
        const double spread = settings_.moving_spread.value();
        const double seconds = static_cast<double>(b - a) * hop_;
        const double shallowest = settings_.shallowest_vibrato.value();
        Swings swings;
        const Fit flat = fit_steady(sums_, a, b);
        fit_swings(swings, swings_[a], swings_[b], sums_.w[b] - sums_.w[a], flat.first,
                   flat.misfit);
        for (std::size_t r = 0; r < swing_rates; ++r) {
            if (swing_rate(r, settings_) * seconds < settings_.vibrato_cycles) continue;
            if (swings.depth_squared[r] < shallowest * shallowest ||
                swings.depth_squared[r] > deepest_swing * deepest_swing) {
                continue;
            }
            offer(a, b, start + 0.5 * swings.misfit[r] / (spread * spread) + height,
                  Motion::swinging, swings.mean[r], swings.mean[r]);
        }
    }

    // Sums for the sinusoids, where the line moves enough to have any.
    void make_swings() {
        const double w = sums_.w[size_];
        if (w <= 0.0 || static_cast<double>(size_) * hop_ < 0.3) return;
        swings_.resize(size_ + 1);
        for (std::size_t i = 0; i < size_; ++i) {
            swings_[i + 1] = swings_[i];
            add_to_swings(swings_[i + 1], turns_[i], w_[i], y_[i]);
        }
    }

    std::size_t from_;
    std::size_t size_;
    const NoteSettings& settings_;
    const std::vector<SwingTurn>& turns_;
    double spread_height_;
    double base_ = 0.0;
    double hop_ = 0.0025;
    std::size_t edge_ = 2;
    std::vector<double> y_, w_, odds_;
    Sums sums_;
    std::vector<int> starts_;
    std::vector<SwingSums> swings_;
    std::vector<double> best_;
    std::vector<Piece> back_;
};

}  // namespace

std::vector<double> line_weights(const FineLine& line, const Attacks& attacks,
                                 const NoteSettings& settings) {
    std::vector<double> weights(line.size(), 0.0);
    std::size_t next = 0;
    for (std::size_t i = 0; i < line.size(); ++i) {
        if (!line.voiced[i]) continue;
        const double blur = line_blur(line.cents[i], settings);
        const double q = std::clamp((line.quality[i] - 0.4) / 0.55, 0.2, 1.0);
        const double sure = std::clamp(2.0 * line.trust[i] - 1.0, 0.0, 1.0);
        // The tracker hears through other instruments what the sound's likeness to itself does not.
        // Alone, a low likeness is a step that the tracker's longer window only smears.
        const double tracked = line.alone[i] ? 0.0 : settings.tracker_share * sure * sure;
        const double counts = std::max(q * q, tracked);
        weights[i] = settings.points_per_line_window * line.hop / blur * counts;
        const double time = line.time_of(i);
        while (next < attacks.plucks.size() && attacks.plucks[next].time < time - 0.04)
            ++next;
        for (std::size_t p = next; p < attacks.plucks.size(); ++p) {
            const double away = time - attacks.plucks[p].time;
            if (away < -0.04) break;
            if (attacks.plucks[p].log_odds > -1.0 && away > -0.5 * blur &&
                away < 0.5 * blur + 0.008) {
                weights[i] *= 0.1;
                break;
            }
        }
    }
    return weights;
}

std::vector<Breath> cut_line(const FineLine& line, const Attacks& attacks,
                             const std::vector<double>& weights, const NoteSettings& settings,
                             const Work& work) {
    std::vector<Range<std::size_t>> stretches;
    const auto bridge = static_cast<std::size_t>(settings.bridged_gap.value() / line.hop);
    // A lead that never pauses is cut now and then, or the sums would grow with the recording.
    const auto longest = static_cast<std::size_t>(longest_stretch / line.hop);
    const std::size_t n = line.size();
    for (std::size_t i = 0; i < n;) {
        if (!line.voiced[i]) {
            ++i;
            continue;
        }
        std::size_t end = i + 1;
        std::size_t hole = 0;
        for (std::size_t j = i + 1; j < std::min(n, i + longest) && hole <= bridge; ++j) {
            hole = line.voiced[j] ? 0 : hole + 1;
            if (line.voiced[j]) end = j + 1;
        }
        stretches.push_back({i, end});
        i = end;
    }
    std::size_t most = 0;
    for (const auto& s : stretches)
        most = std::max(most, s.to - s.from);
    const std::vector<SwingTurn> turns = swing_turns(line.hop, most, settings);
    std::vector<Breath> breaths;
    for (const auto& [from, to] : stretches) {
        if (!work.report(static_cast<double>(from) / static_cast<double>(n))) return {};
        breaths.push_back(Stretch(line, attacks, weights, turns, from, to, settings).cut());
    }
    return breaths;
}

}  // namespace bentline::notes
