// Gathers notes and the evidence for them.
#include "engine/notes/weighing.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "engine/median.h"
#include "engine/notes/attacks.h"
#include "engine/notes/beat_places.h"
#include "engine/notes/confidence_model.h"
#include "engine/notes/figure_errors.h"
#include "engine/notes/fine_line.h"
#include "engine/notes/lead_signal.h"
#include "engine/notes/pieces.h"
#include "engine/notes/reading.h"
#include "engine/notes/weight.h"
#include "engine/notes/words.h"

namespace bentline::notes {

namespace {

// Everything heard about the excerpt, gathered once.
struct Heard {
    FineLine line;
    Attacks attacks;
    std::vector<double> weights;
};

std::vector<ReadNote> read_notes(const Heard& heard, const std::vector<Breath>& breaths,
                                 const NoteSettings& settings) {
    std::vector<ReadNote> all;
    for (const Breath& breath : breaths) {
        for (const Gesture& g : gestures_of(breath, heard.line, heard.attacks, settings)) {
            const double length = static_cast<double>(g.to - g.from) * heard.line.hop;
            // Without a pluck, less than a short note is an error of the tracker.
            if (g.pluck < 0 && length < 1.5 * settings.shortest_note.value()) continue;
            if (g.loose && length < 0.5 * settings.shortest_note.value()) continue;
            for (ReadNote& note :
                 read_gesture(g, heard.line, heard.attacks, heard.weights, settings)) {
                read_vibrato(note, heard.line, heard.weights, settings);
                if (g.loose) note.read_odds -= 2.0;
                all.push_back(std::move(note));
            }
        }
    }
    std::stable_sort(all.begin(), all.end(),
                     [](const ReadNote& a, const ReadNote& b) { return a.onset < b.onset; });
    return all;
}

// The loudest the followed sound gets in a note, by the tracker's own level.
std::optional<Decibels> loudest(const PitchCurve& curve, double from, double to) {
    std::optional<Decibels> most;
    const double first = std::ceil((from - curve.start.value()) / curve.hop.value());
    for (double i = std::max(0.0, first); i < static_cast<double>(curve.points.size()) &&
                                          curve.time_of(static_cast<std::size_t>(i)).value() < to;
         i += 1.0) {
        const PitchPoint& p = curve.points[static_cast<std::size_t>(i)];
        if (!p.f0 || !std::isfinite(p.level.value())) continue;
        if (!most || p.level > *most) most = p.level;
    }
    return most;
}

std::optional<Cents> plain_distance(const ReadNote& read, const FineLine& line, int key) {
    std::vector<double> away;
    for (const Hold& h : read.plain) {
        const std::size_t from = std::max(h.from, read.from);
        for (std::size_t i = from; i < std::min({h.to, read.to, line.size()}); ++i) {
            if (line.voiced[i]) away.push_back(line.cents[i] - 100.0 * key);
        }
    }
    if (away.size() < 4) return std::nullopt;
    return Cents(median(std::move(away)));
}

Note finish(const ReadNote& read, double latest, const Heard& heard, const PitchCurve& curve,
            const NoteSettings& settings) {
    Note note;
    note.onset = Seconds(read.onset);
    const double end = std::min(latest, heard.line.time_of(read.to));
    const bool hands_on =
        std::any_of(read.inflections.begin(), read.inflections.end(),
                    [](const auto& i) { return std::holds_alternative<SlideToNext>(i.what); });
    note.offset = Seconds(hands_on ? end : damped_at(heard.attacks, read.onset, end, settings));
    const int key = std::clamp(static_cast<int>(std::lround(read.cents / 100.0)), 0, 127);
    note.key = MidiKey(key);
    note.cents = plain_distance(read, heard.line, key);
    note.level = loudest(curve, read.onset, note.offset.value());
    note.inflections = read.inflections;

    const double length = note.offset.value() - note.onset.value();
    const std::string how = read.pluck >= 0 ? "struck, "
                            : read.slid_to  ? "reached without a pluck, "
                                            : "came in without a clear pluck, ";
    note.reason = how + words({"steady for ", time_words(length)});
    return note;
}

// The mean posterior of the tracker's likeliest other pitch over a note.
double rival_of(const Note& note, const PitchCurve& curve) {
    double sum = 0.0;
    double n = 0.0;
    const double first = std::ceil((note.onset - curve.start) / curve.hop);
    for (double at = std::max(0.0, first); at < static_cast<double>(curve.points.size()); ++at) {
        const auto i = static_cast<std::size_t>(at);
        if (curve.time_of(i) >= note.offset) break;
        sum += curve.points[i].rivals[0].probability;
        n += 1.0;
    }
    return sum / std::max(1.0, n);
}

// What a note tells by itself; its neighbours are added later.
TellingVector telling_of(const ReadNote& read, const Note& note, const Heard& heard,
                         const PitchCurve& curve) {
    TellingVector t{};
    double n = 0.0;
    std::vector<double> trusts;
    for (std::size_t i = read.from; i < std::min(read.to, heard.line.size()); ++i) {
        if (!heard.line.voiced[i]) continue;
        trusts.push_back(heard.line.trust[i]);
        t[tracker_trust] += heard.line.trust[i];
        t[likeness] += heard.line.quality[i];
        n += 1.0;
    }
    t[tracker_trust] /= std::max(1.0, n);
    t[likeness] /= std::max(1.0, n);
    if (!trusts.empty()) {
        const auto tenth = trusts.begin() + static_cast<std::ptrdiff_t>(trusts.size() / 10);
        std::nth_element(trusts.begin(), tenth, trusts.end());
        t[least_trust] = *tenth;
    }
    t[rivalry] = std::clamp(std::log10(rival_of(note, curve) + 1e-3) / 3.0 + 1.0, 0.0, 1.0);
    if (read.pluck >= 0) {
        const double odds = heard.attacks.plucks[static_cast<std::size_t>(read.pluck)].log_odds;
        t[was_struck] = 1.0;
        t[pluck_odds] = std::clamp(odds / 4.0, -0.5, 1.5);
    }
    t[was_slid_to] = read.slid_to ? 1.0 : 0.0;
    const double length = note.offset.value() - note.onset.value();
    t[length_octaves] = std::clamp(std::log2(length / 0.2), -3.0, 3.0);
    t[very_short] = std::clamp((0.06 - length) / 0.03, 0.0, 1.0);
    t[out_of_tune] = note.cents ? std::min(2.0, std::abs(note.cents->value()) / 20.0) : 0.5;
    t[pitch_doubt] = read.read_odds < 0.0 ? 1.0 : 0.0;
    double level = -120.0;
    double share = 0.0;
    n = 0.0;
    for (std::size_t f = heard.attacks.frame_at(read.onset);
         f <= heard.attacks.frame_at(note.offset.value()) && f < heard.attacks.level.size(); ++f) {
        if (heard.attacks.level[f] < -119.0) continue;
        level = std::max(level, heard.attacks.level[f]);
        share += (heard.attacks.level[f] - heard.attacks.sound[f]) / 10.0;
        n += 1.0;
    }
    t[share_of_sound] = n > 0.0 ? std::clamp(share / n, -3.0, 0.5) : -3.0;
    t[under_lead] = level;  // in dB until the neighbours are known
    return t;
}

// Sets each note against those within 4 s: the lead's usual level and register there.
void compare_neighbours(std::vector<WeighedNote>& all) {
    std::vector<double> own_level;
    for (const WeighedNote& w : all)
        own_level.push_back(w.telling[under_lead]);
    for (std::size_t i = 0; i < all.size(); ++i) {
        std::vector<double> levels;
        std::vector<double> keys;
        double likenesses = 0.0;
        for (std::size_t j = 0; j < all.size(); ++j) {
            if (std::abs((all[j].note.onset - all[i].note.onset).value()) > 4.0) continue;
            levels.push_back(own_level[j]);
            likenesses += all[j].telling[likeness];
            if (j != i) keys.push_back(all[j].note.key.value());
        }
        std::sort(levels.begin(), levels.end());
        const double usual = levels[levels.size() * 3 / 4];
        TellingVector& t = all[i].telling;
        t[under_lead] = std::clamp((own_level[i] - usual) / 10.0, -4.0, 1.0);
        t[crowd] = 1.0 - likenesses / static_cast<double>(levels.size());
        t[since_last] = 3.0;
        if (i > 0) {
            const Note& before = all[i - 1].note;
            const double since = (all[i].note.onset - before.onset).value();
            t[since_last] = std::clamp(std::log2(std::max(since, 1e-3) / 0.2), -3.0, 3.0);
            const bool close = all[i].note.onset - before.offset < Seconds(0.05);
            t[same_again] = close && before.key == all[i].note.key ? 1.0 : 0.0;
        }
        if (keys.empty()) continue;
        t[register_leap] = std::min(3.0, std::abs(all[i].note.key.value() - median(keys)) / 12.0);
    }
}

void insert(std::vector<Pluck>& plucks, const Pluck& pluck) {
    const auto after = std::upper_bound(plucks.begin(), plucks.end(), pluck.time,
                                        [](double t, const Pluck& p) { return t < p.time; });
    plucks.insert(after, pluck);
}

// Plucks where the player says that there is a note; where an inked one begins, and none inside it;
// doubtful ones by where they lie in the beat.
void heed(Attacks& attacks, const Hints& hints, const std::optional<BeatPlaces>& beats) {
    constexpr double said = 4.0;           // log-odds that his word adds to an attack
    constexpr double unheard = 2.0;        // log-odds of one that only he heard
    constexpr double same_attack = 0.03;   // seconds that an inked note's may be heard early
    constexpr double next_attack = 0.045;  // the same of the one after it
    constexpr double certain = 8.0;        // log-odds of an inked note's own
    std::vector<Pluck>& plucks = attacks.plucks;
    if (beats) {
        for (Pluck& p : plucks)
            p.log_odds += beats->log_odds(p);
    }
    std::erase_if(plucks, [&](const Pluck& p) {
        return std::any_of(hints.inked.begin(), hints.inked.end(), [&](const Note& n) {
            return p.time > n.onset.value() - same_attack &&
                   p.time <
                       n.offset.value() - std::min(next_attack, 0.5 * (n.offset - n.onset).value());
        });
    });
    // An inked note begins where it is written, so that what is found around it ends and begins
    // there.
    for (const Note& n : hints.inked) {
        insert(plucks, {n.onset.value(), certain, {}});
    }
    for (const NoteHere& h : hints.here) {
        Pluck* nearest = nullptr;
        for (Pluck& p : plucks) {
            const double away = std::abs(p.time - h.at.value());
            if (away > here_tolerance.value()) continue;
            // What is clear and a little further off comes before what is hardly heard.
            const auto rank = [&](const Pluck& q) {
                return q.log_odds - 50.0 * std::abs(q.time - h.at.value());
            };
            if (!nearest || rank(p) > rank(*nearest)) nearest = &p;
        }
        if (nearest) {
            nearest->log_odds += said;
        } else {
            insert(plucks, {h.at.value(), unheard, {}});
        }
    }
}

// What the soloist's inked notes are like, against which the others are held: how loud their own
// partials get, and where he plays within 4 s. Weights chosen on generated music.
class Inked {
  public:
    Inked(const std::vector<Note>& inked, const Attacks& attacks) : notes_(inked) {
        std::vector<double> levels;
        for (const Note& n : inked) {
            double most = -120.0;
            for (std::size_t f = attacks.frame_at(n.onset.value());
                 f < std::min(attacks.frame_at(n.offset.value()), attacks.level.size()); ++f)
                most = std::max(most, attacks.level[f]);
            if (most > -119.0) levels.push_back(most);
        }
        if (levels.size() >= least_inked) level_ = median(std::move(levels));
    }

    // How much a note's own level and key speak for it, against how it would be with none inked.
    double log_odds(const Note& note, double level) const {
        double odds = 0.0;
        // As loud as most of his own, 5 dB under their middle, is no news.
        if (level_) odds += std::clamp((level - *level_) / 10.0 + 0.5, -2.0, 0.3);
        std::vector<double> keys;
        for (const Note& n : notes_) {
            if (std::abs((n.onset - note.onset).value()) < 4.0)
                keys.push_back(static_cast<double>(n.key.value()));
        }
        if (keys.size() >= 2) {
            const double away = std::abs(note.key.value() - median(std::move(keys))) / 12.0;
            odds -= 2.0 * std::clamp(away - 0.5, 0.0, 2.0);
        }
        return odds;
    }

  private:
    static constexpr std::size_t least_inked = 3;
    const std::vector<Note>& notes_;
    std::optional<double> level_;
};

// What the player's hints add to a note's own log-odds.
double hinted_log_odds(const Note& note, const Hints& hints) {
    const bool pointed_at =
        std::any_of(hints.here.begin(), hints.here.end(), [&](const NoteHere& h) {
            return std::abs((h.at - note.onset).value()) <= here_tolerance.value() &&
                   (!h.key || *h.key == note.key);
        });
    return pointed_at ? 4.0 : 0.0;
}

}  // namespace

Result<std::vector<WeighedNote>> weigh_notes(const Audio& audio, const PitchCurve& curve,
                                             const Focus& focus, const Hints& hints,
                                             const NoteSettings& settings, const Work& work) {
    std::vector<WeighedNote> found;
    if (!work.report(0.0)) return stopped_failure();
    if (audio.length().value() == 0 || curve.points.empty()) return found;
    const LeadSignal lead = lead_signal(audio, focus);
    if (!work.report(0.05)) return stopped_failure();

    Heard heard;
    heard.line = fine_line(lead, curve, settings, work.part(0.05, 0.4));
    if (work.stop.stop_requested()) return stopped_failure();
    if (heard.line.size() == 0) return found;
    heard.attacks = find_attacks(lead, heard.line, settings, work.part(0.4, 0.8));
    if (work.stop.stop_requested()) return stopped_failure();
    const std::optional<BeatPlaces> beats = BeatPlaces::learn(hints.beats, heard.attacks);
    heed(heard.attacks, hints, beats);
    std::vector<double> struck;
    for (const Pluck& p : heard.attacks.plucks) {
        if (p.log_odds > settings.struck_log_odds) struck.push_back(p.time);
    }
    keep_struck_leanings(heard.line, struck);
    heard.weights = line_weights(heard.line, heard.attacks, settings);
    const auto breaths =
        cut_line(heard.line, heard.attacks, heard.weights, settings, work.part(0.8, 0.95));
    if (work.stop.stop_requested()) return stopped_failure();

    std::vector<ReadNote> read = read_notes(heard, breaths, settings);
    for (ReadNote& note : read)
        note.onset = std::max(note.onset, lead.start);
    const double end = lead.end();
    for (std::size_t i = 0; i < read.size(); ++i) {
        if (read[i].onset >= end) continue;
        const double latest = std::min(end, i + 1 < read.size() ? read[i + 1].onset : end);
        if (latest - read[i].onset < 0.5 * settings.shortest_note.value()) continue;
        Note note = finish(read[i], latest, heard, curve, settings);
        if (note.offset <= note.onset) continue;
        if (ruled_out(hints, {note.onset, note.offset}, note.key)) continue;
        state_errors(note, read[i], heard.line, heard.weights, settings);
        const TellingVector telling = telling_of(read[i], note, heard, curve);
        const double level = struck_level(heard.attacks, note.onset.value(), note.offset.value());
        found.push_back({std::move(note), telling, level});
    }
    std::vector<double> own_level;
    for (const WeighedNote& w : found)
        own_level.push_back(w.telling[under_lead]);
    compare_neighbours(found);
    const Inked inked(hints.inked, heard.attacks);
    for (std::size_t i = 0; i < found.size(); ++i) {
        WeighedNote& w = found[i];
        const double odds = std::clamp(note_log_odds(w.telling) + hinted_log_odds(w.note, hints) +
                                           inked.log_odds(w.note, own_level[i]),
                                       -8.0, 8.0);
        w.note.confidence = 1.0 / (1.0 + std::exp(-odds));
    }
    return found;
}

}  // namespace bentline::notes
