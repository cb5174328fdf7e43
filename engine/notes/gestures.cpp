// Gathers the pieces of the pitch line under the plucks that set them going.
#include <algorithm>
#include <cmath>

#include "engine/notes/reading.h"

namespace bentline::notes {

namespace {

constexpr double same_pitch = 16.0;  // cents: holds nearer than this are one
constexpr double step_bonus = 0.0;

bool held(const Piece& p) {
    return p.motion == Motion::steady || p.motion == Motion::swinging;
}

double median_cents(const FineLine& line, std::size_t from, std::size_t to) {
    std::vector<double> v;
    for (std::size_t i = from; i < to; ++i) {
        if (line.voiced[i]) v.push_back(line.cents[i]);
    }
    if (v.empty()) return 6000.0;
    const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
    std::nth_element(v.begin(), middle, v.end());
    return *middle;
}

void join(Hold& into, const Hold& next) {
    const auto a = static_cast<double>(into.to - into.from) + 1e-3;
    const auto b = static_cast<double>(next.to - next.from) + 1e-3;
    into.cents = (into.cents * a + next.cents * b) / (a + b);
    into.swinging = into.swinging || next.swinging;
    into.to = std::max(into.to, next.to);
}

// Joins neighbours whose pitches differ by little, nearest pair first.
void join_near(std::vector<Hold>& holds) {
    for (;;) {
        std::size_t nearest = 0;
        double least = 1e9;
        for (std::size_t i = 0; i + 1 < holds.size(); ++i) {
            const bool swinging = holds[i].swinging || holds[i + 1].swinging;
            const double apart =
                std::abs(holds[i + 1].cents - holds[i].cents) * (swinging ? 0.5 : 1.0);
            if (apart < least) {
                least = apart;
                nearest = i;
            }
        }
        if (least >= same_pitch) return;
        join(holds[nearest], holds[nearest + 1]);
        holds.erase(holds.begin() + static_cast<std::ptrdiff_t>(nearest) + 1);
    }
}

std::vector<Hold> holds_of(const std::vector<Piece>& pieces, double hop) {
    std::vector<Hold> holds;
    const Piece* moving = nullptr;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        const Piece& p = pieces[i];
        if (held(p)) {
            holds.push_back({p.from, p.to, p.first, p.motion == Motion::swinging});
            moving = nullptr;
        } else if (p.motion == Motion::moving) {
            const bool start = holds.empty() && moving == nullptr;
            const bool turn =
                moving != nullptr && (moving->last - moving->first) * (p.last - p.first) < 0.0;
            if (start) holds.push_back({p.from, p.from, p.first, false});
            if (turn) holds.push_back({p.from, p.from, 0.5 * (moving->last + p.first), false});
            moving = &p;
            const bool end = i + 1 == pieces.size();
            const bool long_enough = static_cast<double>(p.length()) * hop > 0.012;
            if (end && long_enough) holds.push_back({p.to, p.to, p.last, false});
        }
    }
    return holds;
}

// The pluck of a lead that comes in at `start`. The tracker may be late or early: the last clear
// pluck before it from which the sound goes on, or else the likeliest close by; -1 for none.
int pluck_of_entrance(double start, const Attacks& attacks, const NoteSettings& settings) {
    int found = -1;
    double most = -1e9;
    for (std::size_t p = 0; p < attacks.plucks.size(); ++p) {
        const Pluck& pluck = attacks.plucks[p];
        const double away = pluck.time - start;
        if (away < -settings.latest_tracker.value() || away > 0.03) continue;
        const bool clear = pluck.log_odds > settings.struck_log_odds;
        if (!clear && (away < -0.06 || pluck.log_odds < settings.struck_log_odds - 2.5)) continue;
        const std::size_t there = attacks.frame_at(start);
        bool goes_on = true;
        for (std::size_t t = attacks.frame_at(pluck.time + 0.01); t < there; ++t) {
            if (attacks.sound[t] < attacks.sound[there] - 8.0) goes_on = false;
        }
        // What is clear and late comes before what is not.
        const double rank = clear ? 10.0 + 50.0 * away : pluck.log_odds;
        if (!goes_on || rank < most) continue;
        most = rank;
        found = static_cast<int>(p);
    }
    return found;
}

}  // namespace

std::vector<Gesture> gestures_of(const Breath& breath, const FineLine& line, const Attacks& attacks,
                                 const NoteSettings& settings) {
    std::vector<Gesture> gestures;
    std::vector<Piece> pieces;
    int pluck = -1;
    const auto close = [&] {
        if (pieces.empty()) return;
        Gesture g;
        g.from = pieces.front().from;
        g.to = pieces.back().to;
        g.pluck = pluck;
        g.holds = holds_of(pieces, line.hop);
        join_near(g.holds);
        if (g.holds.empty()) {
            g.loose = true;
            g.holds.push_back({g.from, g.to, median_cents(line, g.from, g.to), false});
        }
        gestures.push_back(std::move(g));
        pieces.clear();
    };
    for (const Piece& p : breath.pieces) {
        bool struck = false;
        if (p.pluck >= 0) {
            struck = attacks.plucks[static_cast<std::size_t>(p.pluck)].log_odds >
                     settings.struck_log_odds;
        }
        if (struck) {
            close();
            pluck = p.pluck;
        } else if (pieces.empty()) {
            pluck = -1;
        }
        pieces.push_back(p);
    }
    close();

    if (gestures.empty()) return gestures;
    Gesture& first = gestures.front();
    if (first.pluck < 0) {
        first.pluck = pluck_of_entrance(line.time_of(first.from), attacks, settings);
        if (gestures.size() > 1 && gestures[1].pluck == first.pluck) first.pluck = -1;
        const bool stub = static_cast<double>(first.to - first.from) * line.hop < 0.045;
        if (first.pluck < 0 && gestures.size() > 1 && stub) gestures.erase(gestures.begin());
    }
    return gestures;
}

}  // namespace bentline::notes
