// Hard rules first, then efforts.
#include "engine/tab/finger_rules.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <cstdlib>
#include <set>

namespace bentline {

namespace {

constexpr int least_offset = -1;
constexpr int most_offset = 4;

std::string key_name(int key) {
    static constexpr std::array<const char*, 12> names = {"C",  "C#", "D",  "D#", "E",  "F",
                                                          "F#", "G",  "G#", "A",  "A#", "B"};
    return names.at(static_cast<std::size_t>(key % 12)) + std::to_string(key / 12 - 1);
}

Failure refused(const std::string& what) {
    return Failure{FailureKind::out_of_range, what, {}};
}

std::string note_number(std::size_t note) {
    return "note " + std::to_string(note + 1);
}

}  // namespace

int Way::finger() const {
    if (!fretted()) return 0;
    return std::clamp(offset() + 1, 1, 4);
}

Result<Done> check_request(const FingeringRequest& request) {
    const std::size_t count = request.notes.size();
    for (std::size_t i = 1; i < count; ++i) {
        if (request.notes[i].onset < request.notes[i - 1].onset) {
            return refused(note_number(i) +
                           " begins before the one in front of it; sort them first");
        }
    }
    std::set<std::size_t> pinned;
    for (const StringPin& pin : request.pins) {
        if (count <= pin.note)
            return refused("a pin names " + note_number(pin.note) +
                           ", which is not there; take it away");
        if (pin.string < 1 || request.neck.strings() < pin.string) {
            return refused(note_number(pin.note) + " is pinned to string " +
                           std::to_string(pin.string) +
                           ", which this neck does not have; pin it to 1 to " +
                           std::to_string(request.neck.strings()));
        }
        if (!pinned.insert(pin.note).second) {
            return refused(note_number(pin.note) + " is pinned twice; take one pin away");
        }
    }
    for (const NoteSpan& sweep : request.sweeps) {
        if (sweep.last < sweep.first || count < sweep.last) {
            return refused("a sweep names notes that are not there; take it away");
        }
        if (static_cast<std::size_t>(request.neck.strings()) < sweep.last - sweep.first) {
            return refused("a sweep of " + std::to_string(sweep.last - sweep.first) +
                           " notes has more notes than the neck has strings; shorten it");
        }
    }
    for (const UnisonBend& pair : request.unison_bends) {
        const bool neighbours = pair.bent + 1 == pair.held || pair.held + 1 == pair.bent;
        if (count <= std::max(pair.bent, pair.held) || !neighbours) {
            return refused(
                "a unison bend names notes that are not next to each other; take it away");
        }
    }
    for (const std::size_t note : request.slurred) {
        if (note == 0 || count <= note) {
            return refused("a slur names a note that has none before it; take it away");
        }
    }
    return Done{};
}

FingerRules::FingerRules(const FingeringRequest& request, const FingeringSettings& settings)
    : request_(request), settings_(settings), facts_(request.notes.size()) {
    for (std::size_t i = 0; i < facts_.size(); ++i) {
        Facts& facts = facts_[i];
        const Note& note = request.notes[i];
        const int key = note.key.value();
        if (const SlideIn* slide = find<SlideIn>(note)) {
            facts.fretted = facts.lowest_fretted = true;
            if (slide->from) facts.reached.push_back(slide->from->value() - key);
        }
        if (const SlideOut* slide = find<SlideOut>(note)) {
            facts.fretted = facts.lowest_fretted = true;
            if (slide->to) facts.reached.push_back(slide->to->value() - key);
        }
        if (const Bend* bend = find<Bend>(note)) {
            facts.fretted = true;
            facts.bend = bend->size;
        }
        if (find<Vibrato>(note) != nullptr) facts.fretted = true;
        if (const Trill* trill = find<Trill>(note)) facts.trill = trill->semitones;
        if (find<SlideToNext>(note) != nullptr) {
            facts.fretted = true;
            if (i + 1 < facts_.size()) {
                facts_[i + 1].slid_to = facts_[i + 1].same_string = facts_[i + 1].fretted = true;
            }
        }
        if (i > 0) {
            const double time = std::max(1e-6, (note.onset - request.notes[i - 1].onset).value());
            facts.hurry = std::clamp(settings.unhurried.value() / time, settings.least_hurry,
                                     settings.most_hurry);
        }
    }
    for (const StringPin& pin : request.pins)
        facts_[pin.note].pinned = pin.string;
    for (const std::size_t note : request.slurred)
        facts_[note].same_string = true;
    for (const NoteSpan& sweep : request.sweeps) {
        for (std::size_t i = sweep.first + 1; i < sweep.last; ++i) {
            const int rise = request.notes[i].key.value() - request.notes[i - 1].key.value();
            facts_[i].in_sweep_step = true;
            facts_[i].sweep_step = rise > 0 ? -1 : 1;
        }
    }
    for (const UnisonBend& pair : request.unison_bends) {
        facts_[std::max(pair.bent, pair.held)].unison = pair.bent > pair.held ? 1 : -1;
    }
}

bool FingerRules::allows(const Facts& facts, Spot spot) const {
    if (facts.pinned && *facts.pinned != spot.string) return false;
    if (facts.fretted && spot.fret == 0) return false;
    const int lowest = facts.lowest_fretted ? 1 : 0;
    const int highest = request_.neck.last_fret();
    const bool reached =
        std::all_of(facts.reached.begin(), facts.reached.end(), [&](int semitones) {
            return lowest <= spot.fret + semitones && spot.fret + semitones <= highest;
        });
    if (!reached) return false;
    const int trill = spot.fret + facts.trill.value_or(0);
    return 0 <= trill && trill <= highest;
}

std::vector<Way> FingerRules::ways(std::size_t note) const {
    std::vector<Way> found;
    const int last = request_.neck.last_fret();
    for (const Spot& spot : spots_of(request_.neck, request_.notes[note].key)) {
        if (!allows(facts_[note], spot)) continue;
        const int lowest = spot.fret == 0 ? 1 : std::max(1, spot.fret - most_offset);
        const int highest = spot.fret == 0 ? last : std::min(last, spot.fret - least_offset);
        for (int hand = lowest; hand <= highest; ++hand)
            found.push_back({spot.string, spot.fret, hand});
    }
    return found;
}

std::vector<Way> FingerRules::ways_out() const {
    std::vector<Way> found;
    for (int hand = 1; hand <= request_.neck.last_fret(); ++hand)
        found.push_back({0, 0, hand});
    return found;
}

double FingerRules::own_effort(std::size_t note, const Way& way) const {
    const FingeringSettings& s = settings_;
    if (!way.placed()) return s.unplaced;
    if (way.fret == 0) return s.open_string;
    const Facts& facts = facts_[note];
    double effort = s.high_fret * way.string * std::max(0, way.fret - 12);
    // Frets narrow up the neck by the twelfth-root rule, and so does a stretch over one.
    const double width = std::exp2(-(way.hand - 1) / 12.0);
    if (way.offset() == least_offset || way.offset() == most_offset) effort += s.stretch * width;
    if (way.finger() == 4) effort += s.fourth_finger;
    constexpr Cents half_bend{75.0};  // between a quarter tone and a half step
    if (facts.bend && half_bend <= *facts.bend) {
        effort += s.bend_string * std::max(0, way.string - 3);
        effort += s.bend_fret * (std::max(0, 5 - way.fret) + std::max(0, way.fret - 17));
        if (way.finger() == 1 || way.finger() == 4) effort += s.bend_finger;
    }
    if (facts.trill) {
        const int other = way.offset() + *facts.trill;
        effort +=
            s.trill_reach * (std::max(0, other - most_offset) + std::max(0, least_offset - other));
    }
    return effort;
}

double FingerRules::step_effort(std::size_t note, const Way& before, const Way& now) const {
    const FingeringSettings& s = settings_;
    const Facts& facts = facts_[note];
    const bool both = before.placed() && now.placed();
    const int crossed = both ? std::abs(now.string - before.string) : 0;
    if (both) {
        if (facts.same_string && crossed != 0) return forbidden;
        if (facts.in_sweep_step &&
            (now.string - before.string != facts.sweep_step || now.hand != before.hand)) {
            return forbidden;
        }
        if (facts.unison != 0) {
            const int now_open =
                request_.neck.open[static_cast<std::size_t>(now.string - 1)].value();
            const int before_open =
                request_.neck.open[static_cast<std::size_t>(before.string - 1)].value();
            if (crossed != 1 || (now_open - before_open) * facts.unison > 0) return forbidden;
        }
    }
    double effort = 0.0;
    const int moved = std::abs(now.hand - before.hand);
    const bool slid = facts.slid_to && both;
    if (slid) {
        effort += s.slide_shift * moved;
        if (now.offset() != before.offset()) effort += s.slide_finger;
    } else if (moved > 0) {
        effort += facts.hurry * (s.shift + s.shift_a_fret * moved);
    }
    if (crossed > 0 && !facts.in_sweep_step) {
        effort += facts.hurry * (s.crossing + s.skipped_string * (crossed - 1));
    }
    const bool same_spot = now.string == before.string && now.fret == before.fret;
    if (!slid && moved == 0 && before.fretted() && now.fretted() && !same_spot &&
        before.finger() == now.finger()) {
        effort += facts.hurry * s.same_finger;
    }
    return effort;
}

bool FingerRules::together(const Way& earlier, const Way& later) const {
    if (!earlier.placed() || !later.placed()) return true;
    if (earlier.string == later.string) return false;
    if (earlier.fretted() && earlier.hand != later.hand) return false;  // the hand cannot leave it
    const bool one_finger = earlier.fretted() && earlier.finger() == later.finger();
    return !one_finger || earlier.fret == later.fret;  // laid flat over both strings
}

bool FingerRules::overlap(std::size_t earlier, std::size_t later) const {
    return request_.notes[later].onset + settings_.together < request_.notes[earlier].offset;
}

std::string FingerRules::problem(std::size_t note) const {
    const Neck& neck = request_.neck;
    const int key = request_.notes[note].key.value();
    const Facts& facts = facts_[note];
    const std::vector<Spot> spots = spots_of(neck, request_.notes[note].key);
    if (spots.empty()) {
        const Range<int> range = key_range(neck);
        return key_name(key) + " is not on this neck, which has " + key_name(range.from) + " to " +
               key_name(range.to - 1) + "; change the tuning or the note";
    }
    if (facts.pinned && std::none_of(spots.begin(), spots.end(),
                                     [&](Spot s) { return s.string == *facts.pinned; })) {
        return "string " + std::to_string(*facts.pinned) + " does not have " + key_name(key) +
               "; take the pin away or pin it to another string";
    }
    if (ways(note).empty()) {
        return "no string has both " + key_name(key) +
               " fretted and room for its slide, bend or trill; change one of them" +
               (facts.pinned ? " or take the pin away" : "");
    }
    return "its slide, slur, sweep or the notes that sound with it leave no string for " +
           key_name(key) + "; change one of them or a pin";
}

}  // namespace bentline
