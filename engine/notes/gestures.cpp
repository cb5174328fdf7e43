// Gathers the pieces of the pitch line under the plucks that set them going.
#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/median.h"
#include "engine/notes/reading.h"

namespace bentline::notes {

namespace {

constexpr double drift = 350.0;      // cents a second: slower than any slide or bend
constexpr double same_pitch = 16.0;  // cents: holds nearer than this are one
constexpr double sure = 3.0;         // a pluck of these log-odds begins a note of its own

// A steady piece, or one that only drifts.
bool held(const Piece& p, double hop) {
    if (p.motion == Motion::steady || p.motion == Motion::swinging) return true;
    if (p.motion != Motion::moving) return false;
    const double seconds = static_cast<double>(p.length()) * hop;
    const double change = std::abs(p.last - p.first);
    return seconds > 0.02 && change < 65.0 && change < drift * std::max(seconds, 0.05);
}

// The pitch that such a piece stands for: a drift arrives where it settles.
double held_pitch(const Piece& p) {
    return p.motion == Motion::moving ? 0.25 * p.first + 0.75 * p.last : p.first;
}

double median_cents(const FineLine& line, std::size_t from, std::size_t to) {
    std::vector<double> v;
    for (std::size_t i = from; i < to; ++i) {
        if (line.voiced[i]) v.push_back(line.cents[i]);
    }
    if (v.empty()) return 6000.0;
    return median(std::move(v));
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

// Takes out what the attack itself does to the pitch: a stumble before the string speaks, and the
// settling of a string that was pulled sharp.
void settle(std::vector<Hold>& holds, double hop, const NoteSettings& settings) {
    while (holds.size() > 1) {
        const double held = static_cast<double>(holds[0].to - holds[0].from) * hop;
        const double move = static_cast<double>(holds[1].from - holds[0].to) * hop;
        const double next = static_cast<double>(holds[1].to - holds[1].from) * hop;
        const double fall = holds[0].cents - holds[1].cents;
        const bool stumble = held < 0.012 && move < 0.03;
        const bool settles = fall > 0.0 && fall < settings.settling.value() && next > held &&
                             held < settings.settling_time.value();
        // A rough attack swerves before the string speaks.
        const bool swerves = holds.size() > 2 && held < 0.012 && move < 0.045 &&
                             fall * (holds[1].cents - holds[2].cents) < 0.0;
        if (!stumble && !settles && !swerves) return;
        holds.erase(holds.begin());
    }
}

// Whether holds go to and fro between two pitches, and how often.
bool alternates(const std::vector<Hold>& holds, double hop, const NoteSettings& settings) {
    if (holds.size() < 4) return false;
    const double apart = holds[1].cents - holds[0].cents;
    if (std::abs(apart) < 70.0 || std::abs(apart) > 530.0) return false;
    for (std::size_t i = 0; i < holds.size(); ++i) {
        const double want = i % 2 == 0 ? holds[0].cents : holds[1].cents;
        if (std::abs(holds[i].cents - want) > 0.3 * std::abs(apart) + 10.0) return false;
        const bool inner = i > 0 && i + 1 < holds.size();
        const double held = static_cast<double>(holds[i].to - holds[i].from) * hop;
        if (inner && held > settings.trill_longest_turn.value()) return false;
    }
    return true;
}

// A trill's turns are hammered and pulled, and some of them look like plucks: gestures that
// together alternate are one, unless their plucks outweigh the turns that have none.
void join_trills(std::vector<Gesture>& gestures, const FineLine& line, const Attacks& attacks,
                 const NoteSettings& settings) {
    const double hop = line.hop;
    constexpr double own_trill = 2.0;  // sure enough of one that a whole trill follows
    constexpr double turn_odds = 3.0;  // what one turn without a pluck says against plucking
    // Two notes that take turns this fast for longer than a turn about a note, as lines have it,
    // are seldom picked: what one such turn says against it.
    constexpr Seconds fastest_picked{0.13};
    constexpr double picked_odds = 1.5;
    constexpr std::size_t fewest_holds = 5;
    for (std::size_t i = 0; i < gestures.size(); ++i) {
        std::vector<Hold> holds = gestures[i].holds;
        double odds = -turn_odds * static_cast<double>(holds.size() - 1);
        double quick = 0.0;
        std::size_t last = i;
        for (std::size_t j = i + 1; j < std::min(gestures.size(), i + 24); ++j) {
            std::vector<Hold> more = gestures[j].holds;
            settle(more, hop, settings);
            odds -= turn_odds * static_cast<double>(more.size() - 1);
            const int pluck = gestures[j].pluck;
            const double enough = alternates(more, hop, settings) ? own_trill : sure;
            if (pluck >= 0 && attacks.plucks[static_cast<std::size_t>(pluck)].log_odds > enough)
                break;
            if (pluck >= 0)
                odds += std::min(6.0, attacks.plucks[static_cast<std::size_t>(pluck)].log_odds);
            const double turn = line.time_of(gestures[j].from) - line.time_of(gestures[j - 1].from);
            if (turn < fastest_picked.value()) quick += picked_odds;
            holds.insert(holds.end(), more.begin(), more.end());
            join_near(holds);
            const double spoken = holds.size() >= fewest_holds ? odds - quick : odds;
            if (alternates(holds, hop, settings) && spoken < 0.0) last = j;
        }
        if (last == i) continue;
        Gesture& whole = gestures[i];
        for (std::size_t j = i + 1; j <= last; ++j) {
            std::vector<Hold> more = gestures[j].holds;
            settle(more, hop, settings);
            whole.holds.insert(whole.holds.end(), more.begin(), more.end());
        }
        join_near(whole.holds);
        whole.to = gestures[last].to;
        gestures.erase(gestures.begin() + static_cast<std::ptrdiff_t>(i) + 1,
                       gestures.begin() + static_cast<std::ptrdiff_t>(last) + 1);
    }
}

// Where the holds at the end of a gesture set out one way without resting: from the last that is
// held, or from the first.
std::vector<Hold> setting_out(const std::vector<Hold>& holds, double hop,
                              const NoteSettings& settings) {
    std::size_t from = holds.size() - 1;
    const auto rests = [&](const Hold& h) {
        return static_cast<double>(h.to - h.from) * hop >= settings.longest_stair.value();
    };
    while (from > 0 && !rests(holds[from]))
        --from;
    return {holds.begin() + static_cast<std::ptrdiff_t>(from), holds.end()};
}

// What speaks against plucks in holds that go one way, fret by fret, without resting between the
// first and the last: nats a pluck; 0 where they do not.
double run_odds(const std::vector<Hold>& holds, double hop, const NoteSettings& settings) {
    constexpr double one_fret = 160.0;  // cents: more at once is a leap
    const double way = holds.back().cents - holds.front().cents;
    const auto held = [&](const Hold& h) { return static_cast<double>(h.to - h.from) * hop; };
    for (std::size_t i = 1; i < holds.size(); ++i) {
        const double step = (holds[i].cents - holds[i - 1].cents) * (way > 0.0 ? 1.0 : -1.0);
        const double time = static_cast<double>(holds[i].from - holds[i - 1].to) * hop;
        if (step < -same_pitch) return 0.0;
        if (step > one_fret + 100.0 * time / settings.fastest_fret.value()) return 0.0;
        if (i + 1 < holds.size() && held(holds[i]) >= settings.longest_stair.value()) return 0.0;
    }
    if (std::abs(way) > 170.0) return 2.5;
    // A single fret between two notes that are held is no run; after a first note that is not, it
    // may be.
    const bool grace = held(holds.front()) < settings.longest_stair.value();
    return std::abs(way) > 70.0 && grace ? 1.0 : 0.0;
}

// Nobody strikes one string twice so fast: the pick touches it and then lets it go, or an amplifier
// answers late. Two strokes so close on one pitch are one, and what the first sounds is its attack;
// but for equal ones in a row, which are a run over strings.
void join_double_strokes(std::vector<Gesture>& gestures, const FineLine& line,
                         const Attacks& attacks, const NoteSettings& settings) {
    constexpr double one_string = 60.0;  // cents
    constexpr double uneven = 1.5;       // a stroke's own length against those beside it
    const auto struck = [&](const Gesture& g) {
        return g.pluck >= 0 ? attacks.plucks[static_cast<std::size_t>(g.pluck)].time
                            : line.time_of(g.from);
    };
    for (std::size_t i = 0; i + 1 < gestures.size();) {
        const Gesture& first = gestures[i];
        Gesture& next = gestures[i + 1];
        const double apart = std::abs(next.holds.front().cents - first.holds.back().cents);
        const double quick = struck(next) - struck(first);
        const double before = i > 0 ? struck(first) - struck(gestures[i - 1]) : 1.0;
        const double after =
            (i + 2 < gestures.size() ? struck(gestures[i + 2]) : line.time_of(next.to)) -
            struck(next);
        if (next.pluck < 0 || next.loose || quick > settings.fastest_repeat.value() ||
            apart > one_string || std::min(before, after) < uneven * quick) {
            ++i;
            continue;
        }
        next.from = first.from;
        next.pluck = first.pluck >= 0 ? first.pluck : next.pluck;
        gestures.erase(gestures.begin() + static_cast<std::ptrdiff_t>(i));
    }
}

// A finger that slides fast makes the string sound anew at a fret, and some of that looks like
// plucks. Nobody plucks every fret of a run in 20 to 60 ms each: gestures that together run over
// frets are one, unless their plucks outweigh that.
void join_slides(std::vector<Gesture>& gestures, const Attacks& attacks, double hop,
                 const NoteSettings& settings) {
    for (std::size_t i = 0; i < gestures.size(); ++i) {
        std::vector<Hold> holds = setting_out(gestures[i].holds, hop, settings);
        double odds = 0.0;
        std::size_t last = i;
        for (std::size_t j = i + 1; j < gestures.size(); ++j) {
            const Gesture& next = gestures[j];
            if (next.from > gestures[j - 1].to || next.pluck < 0 || next.loose) break;
            const double pluck = attacks.plucks[static_cast<std::size_t>(next.pluck)].log_odds;
            if (pluck > sure) break;
            odds += pluck;
            holds.insert(holds.end(), next.holds.begin(), next.holds.end());
            const double against = static_cast<double>(j - i) * run_odds(holds, hop, settings);
            if (against > 0.0 && odds < against) last = j;
        }
        if (last == i) continue;
        Gesture& whole = gestures[i];
        for (std::size_t j = i + 1; j <= last; ++j) {
            whole.holds.insert(whole.holds.end(), gestures[j].holds.begin(),
                               gestures[j].holds.end());
        }
        join_near(whole.holds);
        whole.to = gestures[last].to;
        whole.loose = false;
        gestures.erase(gestures.begin() + static_cast<std::ptrdiff_t>(i) + 1,
                       gestures.begin() + static_cast<std::ptrdiff_t>(last) + 1);
    }
}

// At the end of a gesture a moment of a sound out of any finger's reach is somebody else's.
void drop_far_end(std::vector<Piece>& pieces, double hop) {
    constexpr double reach = 950.0;   // cents
    constexpr double moment = 0.060;  // seconds
    if (pieces.size() < 2) return;
    Piece& last = pieces.back();
    const double leap = std::abs(last.first - pieces[pieces.size() - 2].last);
    if (static_cast<double>(last.length()) * hop < moment && leap > reach)
        last.motion = Motion::loose;
}

std::vector<Hold> holds_of(const std::vector<Piece>& pieces, double hop) {
    std::vector<Hold> holds;
    const Piece* moving = nullptr;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        const Piece& p = pieces[i];
        if (held(p, hop)) {
            holds.push_back({p.from, p.to, held_pitch(p), p.motion == Motion::swinging});
            moving = nullptr;
        } else if (p.motion == Motion::moving) {
            const bool start = holds.empty() && moving == nullptr;
            const bool turn =
                moving != nullptr && (moving->last - moving->first) * (p.last - p.first) < 0.0;
            if (start) holds.push_back({p.from, p.from, p.first, false});
            if (turn) holds.push_back({p.from, p.from, 0.5 * (moving->last + p.first), false});
            moving = &p;
            const bool end =
                std::all_of(pieces.begin() + static_cast<std::ptrdiff_t>(i) + 1, pieces.end(),
                            [](const Piece& later) { return later.motion == Motion::loose; });
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
    double before = 0.0;
    const auto close = [&] {
        if (pieces.empty()) return;
        Gesture g;
        g.from = pieces.front().from;
        g.to = pieces.back().to;
        g.pluck = pluck;
        drop_far_end(pieces, line.hop);
        g.holds = holds_of(pieces, line.hop);
        join_near(g.holds);
        settle(g.holds, line.hop, settings);
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
            const double odds = attacks.plucks[static_cast<std::size_t>(p.pluck)].log_odds;
            const bool known = !pieces.empty() && p.motion != Motion::loose;
            const double leap = known ? std::abs(p.first - before) : 0.0;
            // No finger hammers or slides so far at once.
            const double bonus = leap > 250.0 ? 2.5 : leap > 170.0 ? 1.0 : 0.0;
            struck = odds + bonus > settings.struck_log_odds;
        }
        if (struck) {
            close();
            pluck = p.pluck;
        } else if (pieces.empty()) {
            pluck = -1;
        }
        pieces.push_back(p);
        if (p.motion != Motion::loose) before = p.last;
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
    join_double_strokes(gestures, line, attacks, settings);
    join_trills(gestures, line, attacks, settings);
    join_slides(gestures, attacks, line.hop, settings);
    return gestures;
}

}  // namespace bentline::notes
