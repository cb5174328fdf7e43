// Figures to JSON.
#include "engine/lesson/lesson_json.h"

#include <map>

#include <nlohmann/json.hpp>

#include "engine/lesson/figures.h"
#include "engine/lesson/lesson_text.h"
#include "engine/lesson/practice.h"
#include "engine/lesson/remarks.h"

namespace bentline {
namespace {

using Json = nlohmann::ordered_json;

double ms(Seconds t) {
    return rounded_to(t.value(), 4);
}

class Writer {
  public:
    Writer(const Draft& draft, const LessonFigures& f) : draft_(draft), f_(f) {}

    Json write(WhichNotes which) {
        Json j;
        j["which"] = which == WhichNotes::inked ? "inked" : "inked and pencilled";
        j["notes"] = f_.notes.size();
        j["length_s"] = ms(f_.length());
        if (!f_.notes.empty()) whole_line(j);
        j["phrases"] = phrases();
        if (!f_.phrases.empty()) j["median_phrase_notes"] = f_.median_phrase();
        j["stretches"] = stretches(f_.stretches);
        j["sections"] = stretches(f_.sections);
        j["repeated_notes"] = Json::array();
        for (const RepeatedNote& r : f_.repeated) {
            Json one = at(r.first);
            one["midi"] = f_.notes[r.first].key.value();
            one["times"] = r.last - r.first;
            j["repeated_notes"].push_back(std::move(one));
        }
        j["motifs"] = motifs();
        j["sweeps"] = Json::array();
        for (const Sweep& s : f_.sweeps) {
            Json one = at(s.first);
            one["notes"] = s.last - s.first;
            one["upward"] = s.upward;
            one["per_second"] = rounded_to(s.per_second, 2);
            j["sweeps"].push_back(std::move(one));
        }
        j["replies"] = replies();
        j["inflections"] = inflections();
        if (!f_.chord_notes.empty()) j["harmony"] = harmony();
        j["rhythm"] = rhythm();
        words(j);
        return j;
    }

  private:
    Json at(std::size_t note) const {
        Json j;
        j["first_note"] = note;
        j["start_s"] = ms(f_.notes[note].onset);
        if (draft_.bars) j["bar"] = draft_.bars->position_at(f_.notes[note].onset).bar;
        return j;
    }

    void whole_line(Json& j) const {
        int low = 127;
        int high = 0;
        for (const Note& n : f_.notes) {
            low = std::min(low, n.key.value());
            high = std::max(high, n.key.value());
        }
        j["per_second"] = rounded_to(static_cast<double>(f_.notes.size()) / f_.length().value(), 3);
        j["lowest_midi"] = low;
        j["highest_midi"] = high;
    }

    Json phrases() const {
        Json all = Json::array();
        for (const SoloPhrase& p : f_.phrases) {
            Json one = at(p.first);
            one["end_s"] = ms(p.span.to);
            one["notes"] = p.size();
            one["lowest_midi"] = p.lowest.value();
            one["highest_midi"] = p.highest.value();
            if (p.level) one["level_db"] = rounded_to(p.level->value(), 2);
            all.push_back(std::move(one));
        }
        return all;
    }

    static Json stretches(const std::vector<Stretch>& stretches) {
        Json all = Json::array();
        for (const Stretch& s : stretches) {
            Json one;
            one["name"] = s.name;
            one["start_s"] = ms(s.span.from);
            one["end_s"] = ms(s.span.to);
            one["notes"] = s.notes;
            one["per_second"] = rounded_to(s.per_second, 3);
            if (s.lowest) one["lowest_midi"] = s.lowest->value();
            if (s.highest) one["highest_midi"] = s.highest->value();
            if (s.level) one["level_db"] = rounded_to(s.level->value(), 2);
            all.push_back(std::move(one));
        }
        return all;
    }

    Json motifs() const {
        Json all = Json::array();
        for (const Motif& m : f_.motifs) {
            Json one;
            one["likeness"] = to_text(m.likeness);
            one["notes"] = m.notes;
            one["places"] = Json::array();
            for (const MotifPlace& p : m.places) {
                Json place = at(p.first);
                place["transposed_semitones"] = p.transposed;
                one["places"].push_back(std::move(place));
            }
            all.push_back(std::move(one));
        }
        return all;
    }

    Json replies() const {
        Json all = Json::array();
        for (const Reply& r : f_.replies) {
            Json one;
            one["call_phrase"] = r.call;
            one["answer_phrase"] = r.call + 1;
            one["by"] = r.by == Reply::By::figure   ? "figure"
                        : r.by == Reply::By::rhythm ? "rhythm"
                                                    : "place";
            if (r.by != Reply::By::place) one["notes_in_common"] = r.steps + 1;
            one["apart_semitones"] = rounded_to(r.apart, 1);
            all.push_back(std::move(one));
        }
        return all;
    }

    Json inflections() const {
        Json all = Json::array();
        for (const InflectionFigures& k : f_.inflections) {
            Json one;
            one["kind"] = k.kind;
            one["notes"] = k.notes.size();
            one["share"] = rounded_to(
                static_cast<double>(k.notes.size()) / static_cast<double>(f_.notes.size()), 4);
            if (!k.sizes.empty()) {
                one["unit"] = k.unit;
                one["median"] = rounded_to(median_of(k.sizes), 2);
                one["sizes"] = Json::array();
                for (const double s : k.sizes)
                    one["sizes"].push_back(rounded_to(s, 1));
            }
            if (!k.rates.empty()) one["rate_hz"] = rounded_to(median_of(k.rates), 2);
            one["starts_s"] = Json::array();
            for (const std::size_t n : k.notes)
                one["starts_s"].push_back(ms(f_.notes[n].onset));
            all.push_back(std::move(one));
        }
        return all;
    }

    Json harmony() const {
        struct Count {
            bool tone = false;
            int on = 0;
            int off = 0;
        };
        std::map<std::string, Count> degrees;
        int notes[2] = {0, 0};
        int tones[2] = {0, 0};
        Json targets = Json::array();
        for (const ChordNote& n : f_.chord_notes) {
            Count& c = degrees[n.degree];
            c.tone = c.tone || n.chord_tone;
            (n.on_beat ? c.on : c.off) += 1;
            ++notes[n.on_beat ? 0 : 1];
            if (n.chord_tone) ++tones[n.on_beat ? 0 : 1];
            if (!n.downbeat) continue;
            Json t;
            t["bar"] = n.bar;
            t["chord"] = n.chord;
            t["degree"] = n.degree;
            t["chord_tone"] = n.chord_tone;
            t["start_s"] = ms(f_.notes[n.note].onset);
            targets.push_back(std::move(t));
        }
        Json j;
        j["on_beat"] = {{"notes", notes[0]}, {"chord_tones", tones[0]}};
        j["off_beat"] = {{"notes", notes[1]}, {"chord_tones", tones[1]}};
        j["degrees"] = Json::array();
        for (const auto& [degree, c] : degrees) {
            j["degrees"].push_back({{"degree", degree},
                                    {"chord_tone", c.tone},
                                    {"on_beat", c.on},
                                    {"off_beat", c.off}});
        }
        j["targets"] = std::move(targets);
        return j;
    }

    Json rhythm() const {
        Json j = Json::object();
        const RhythmFigures& r = f_.rhythm;
        if (r.swing) j["swing_ratio"] = rounded_to(*r.swing, 3);
        if (r.late) j["late_ms"] = rounded_to(r.late->value() * 1000.0, 1);
        if (r.run_last > r.run_first) {
            Json run = at(r.run_first);
            run["notes"] = r.run_last - r.run_first;
            run["per_second"] = rounded_to(r.run_per_second, 2);
            j["longest_run"] = std::move(run);
        }
        return j;
    }

    void words(Json& j) const {
        j["remarks"] = Json::array();
        for (const Remark& r : remarks_on(draft_, f_)) {
            Json one;
            one["topic"] = r.topic;
            one["sentence"] = r.sentence;
            one["figure"] = r.figure;
            one["where"] = r.where;
            one["places_s"] = Json::array();
            for (const Seconds t : r.places)
                one["places_s"].push_back(ms(t));
            j["remarks"].push_back(std::move(one));
        }
        j["practice"] = Json::array();
        for (const Exercise& e : exercises_for(draft_, f_)) {
            Json one;
            one["where"] = e.where;
            one["start_s"] = ms(e.span.from);
            one["end_s"] = ms(e.span.to);
            one["what"] = e.what;
            one["speeds_percent"] = e.speeds;
            j["practice"].push_back(std::move(one));
        }
        j["phrase_order"] = Json::array();
        for (const PhraseToPractise& p : phrases_in_order(draft_, f_)) {
            Json one;
            one["first_note"] = p.first;
            one["notes"] = p.last - p.first;
            one["where"] = p.where;
            one["busiest_per_second"] = rounded_to(p.busiest, 2);
            one["speeds_percent"] = p.speeds;
            j["phrase_order"].push_back(std::move(one));
        }
    }

    const Draft& draft_;
    const LessonFigures& f_;
};

}  // namespace

std::string lesson_json(const Draft& draft, WhichNotes which) {
    const LessonFigures f = figure_out(draft, which);
    return Writer(draft, f).write(which).dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace bentline
