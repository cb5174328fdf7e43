// Puts the stages together and names every head.
#include "engine/score/write_score.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <sstream>

#include "engine/bars/key_finder.h"
#include "engine/score/notate.h"
#include "engine/score/pulses.h"

namespace bentline {
namespace {

class ScoreWriter {
  public:
    ScoreWriter(const Draft& draft, WhichNotes which, const ScoreSettings& settings)
        : draft_(draft), bars_(*draft.bars), settings_(settings) {
        for (const DraftNote& n : draft.notes) {
            if (which == WhichNotes::inked && !n.inked()) continue;
            notes_.push_back(n.note);
            ids_.push_back(n.id);
        }
    }

    Score write() {
        QuantiseSettings quantising = settings_.quantise;
        quantising.form = draft_.form;
        line_ = quantise(notes_, bars_, last_bar(), quantising);
        for (const Note& n : notes_)
            signs_.push_back(signs_of(n, settings_.signs));
        write_heading();
        write_measures();
        spell_all();
        write_heads();
        show_accidentals();
        write_dynamics(score_, loud_notes(), settings_.signs);
        return std::move(score_);
    }

  private:
    int last_bar() const {
        int last = static_cast<int>(draft_.chords.size());
        for (const Section& s : draft_.form)
            last = std::max(last, s.first_bar + s.bars - 1);
        return last;
    }

    void write_heading() {
        score_.title = draft_.title;
        score_.players = draft_.players;
        score_.key_given = draft_.key.has_value();
        if (draft_.key) {
            keys_ = draft_.keys();
        } else if (const auto suggested =
                       suggest_keys(notes_, draft_.bars, draft_.form, draft_.chords)) {
            keys_ = suggested->keys;
        }
        score_.key = key_of(line_.pulses.front().bar);
        const Beats from = bars_.beats_at(line_.pulses.front().from);
        const Beats to = bars_.beats_at(line_.pulses.back().to);
        const Seconds length = line_.pulses.back().to - line_.pulses.front().from;
        score_.tempo = tempo_of(length / (to - from).value());
        if (is_swing(line_.swings.front().ratio)) score_.swing = line_.swings.front().ratio;
        score_.late = line_.late;
    }

    // Straighter than this is not heard as swing (Friberg & Sundstrom 2002: about 1.2:1, from
    // memory).
    static bool is_swing(double ratio) { return ratio >= 1.2; }

    // A pickup is in the key that it leads into.
    Key key_of(int bar) const { return key_at(keys_, std::max(1, bar)).value_or(Key{}); }

    void write_measures() {
        std::vector<Metre> metres;
        for (const Pulse& p : line_.pulses) {
            if (metres.empty() || p.bar != last_seen_) metres.push_back(bars_.metre_at(p.bar));
            last_seen_ = p.bar;
        }
        const Metre first = metres.front();
        const Ticks beat(bar_length(first).value() / first.beats_per_bar());
        for (NotatedMeasure& m : notate(line_, metres, beat * bars_.pickup())) {
            const int bar = m.measure.number;
            if (bar >= 1 && static_cast<std::size_t>(bar) <= draft_.chords.size()) {
                m.measure.chords =
                    place_chords(draft_.chords[static_cast<std::size_t>(bar - 1)], m.measure.metre);
            }
            for (const Section& s : draft_.form) {
                if (s.first_bar == bar) m.measure.section = s.letter;
            }
            write_changes(m.measure);
            score_.measures.push_back(std::move(m.measure));
            heads_.push_back(std::move(m.note));
        }
    }

    void write_changes(Measure& measure) const {
        const int bar = measure.number;
        if (!score_.measures.empty() && key_of(bar) != key_of(bar - 1)) measure.key = key_of(bar);
        for (std::size_t i = 1; i < line_.swings.size(); ++i) {
            if (line_.swings[i].bar != bar) continue;
            const double ratio = line_.swings[i].ratio;
            const bool was = is_swing(line_.swings[i - 1].ratio);
            if (is_swing(ratio) || was) measure.swing = is_swing(ratio) ? ratio : 1.0;
        }
    }

    // The chord that sounds at a written place; an off-beat eighth belongs to the chord that it
    // leads into. None after the chart's last bar.
    const Chord* chord_at(Ticks at) const {
        if (at >= bar_start(bars_, static_cast<int>(draft_.chords.size()) + 1)) return nullptr;
        const Chord* found = nullptr;
        for (const auto& [from, chord] : chords_) {
            if (from > at + Ticks(240)) break;
            if (from <= at || (from - at == Ticks(240) && from.value() % 480 == 0)) {
                found = chord ? &*chord : nullptr;
            }
        }
        return found;
    }

    void spell_all() {
        for (const Measure& m : score_.measures) {
            const Ticks bar = bar_start(bars_, m.number);
            for (const ChordSymbol& c : m.chords)
                chords_.emplace_back(bar + c.at, parse_chord(c.text));
        }
        std::vector<SpellingNote> sounding;
        for (std::size_t i = 0; i < notes_.size(); ++i) {
            const Chord* chord = chord_at(line_.notes[i].start);
            if (signs_[i].slid_from) sounding.push_back({*signs_[i].slid_from, chord});
            sounding.push_back({notes_[i].key, chord});
        }
        // The whole line in each key; each note then has its name from its bar's.
        std::vector<std::pair<Key, std::vector<SpelledPitch>>> by_key;
        const auto names_in = [&](const Key& key) -> const std::vector<SpelledPitch>& {
            for (const auto& [known, names] : by_key) {
                if (known == key) return names;
            }
            by_key.emplace_back(key, spell(sounding, key, settings_.spelling));
            return by_key.back().second;
        };
        std::size_t next = 0;
        for (std::size_t i = 0; i < notes_.size(); ++i) {
            const std::vector<SpelledPitch>& names = names_in(key_of(bar_of(line_.notes[i])));
            origins_.push_back(signs_[i].slid_from ? std::optional(names[next++]) : std::nullopt);
            names_.push_back(names[next++]);
        }
    }

    int bar_of(const WrittenNote& note) const {
        const auto after = std::upper_bound(line_.pulses.begin(), line_.pulses.end(), note.start,
                                            [](Ticks at, const Pulse& p) { return at < p.start; });
        return after == line_.pulses.begin() ? after->bar : (after - 1)->bar;
    }

    // A neighbour `semitones` away: the next letter for one and two, the one after it for three and
    // four.
    static SpelledPitch neighbour(const SpelledPitch& main, int semitones) {
        constexpr std::string_view letters = "CDEFGAB";
        const int letter = static_cast<int>(letters.find(main.step));
        const int away = (std::abs(semitones) + 1) / 2 * (semitones < 0 ? -1 : 1);
        SpelledPitch p;
        p.step = letters[static_cast<std::size_t>((letter + away + 7) % 7)];
        p.octave = main.octave + (letter + away >= 7 ? 1 : letter + away < 0 ? -1 : 0);
        p.alter = main.key().value() + semitones - p.key().value();
        return p;
    }

    void write_heads() {
        for (std::size_t m = 0; m < score_.measures.size(); ++m) {
            for (std::size_t e = 0; e < heads_[m].size(); ++e) {
                if (heads_[m][e]) write_head(*score_.measures[m].events[e].head, *heads_[m][e]);
            }
        }
    }

    void write_head(Head& head, std::size_t i) {
        head.pitch = names_[i];
        head.note = ids_[i];
        const NoteSigns& signs = signs_[i];
        if (!head.tied_from_before) {
            head.signs = signs.first;
            if (signs.trill) head.signs.push_back(TrillSign{neighbour(names_[i], *signs.trill)});
            std::size_t grace = i;
            while (grace > 0 && line_.notes[grace - 1].grace())
                --grace;
            for (; grace < i; ++grace)
                head.graces.push_back({names_[grace], false, ids_[grace]});
            if (origins_[i]) head.graces.push_back({*origins_[i], false, std::nullopt});
        }
        if (!head.tied_to_next)
            head.signs.insert(head.signs.end(), signs.last.begin(), signs.last.end());
    }

    // Accidentals last to the bar's end, on their own octave's line; a tie carries its own over the
    // bar line.
    void show_accidentals() {
        for (std::size_t i = 0; i < score_.measures.size(); ++i) {
            Measure& m = score_.measures[i];
            const Key key = key_at(score_, i);
            std::vector<SpelledPitch> heard;
            const auto needs = [&](const SpelledPitch& p) {
                const auto same = [&](const SpelledPitch& q) {
                    return q.step == p.step && q.octave == p.octave;
                };
                const auto before = std::find_if(heard.begin(), heard.end(), same);
                const int standing =
                    before != heard.end() ? before->alter : alter_in_key(p.step, key);
                if (before != heard.end())
                    *before = p;
                else
                    heard.push_back(p);
                return standing != p.alter;
            };
            for (Event& event : m.events) {
                if (!event.head) continue;
                for (GraceNote& grace : event.head->graces)
                    grace.show_accidental = needs(grace.pitch);
                if (!event.head->tied_from_before)
                    event.head->show_accidental = needs(event.head->pitch);
            }
        }
    }

    std::vector<LoudNote> loud_notes() const {
        std::vector<LoudNote> loud;
        for (std::size_t m = 0; m < score_.measures.size(); ++m) {
            for (std::size_t e = 0; e < heads_[m].size(); ++e) {
                const auto& i = heads_[m][e];
                if (!i || score_.measures[m].events[e].head->tied_from_before) continue;
                const WrittenNote& n = line_.notes[*i];
                // An accented note says nothing of the phrase around it.
                const bool accent = find<Accent>(notes_[*i]) != nullptr;
                loud.push_back(
                    {m, e, n.start, n.start + n.length, accent ? std::nullopt : notes_[*i].level});
            }
        }
        return loud;
    }

    const Draft& draft_;
    const BarMap& bars_;
    const ScoreSettings& settings_;
    std::vector<Note> notes_;
    std::vector<NoteId> ids_;
    QuantisedLine line_;
    Keys keys_;
    std::vector<NoteSigns> signs_;                                // [note]
    std::vector<std::optional<SpelledPitch>> origins_;            // [note] where it was slid from
    std::vector<SpelledPitch> names_;                             // [note]
    std::vector<std::vector<std::optional<std::size_t>>> heads_;  // [measure][event] its note
    std::vector<std::pair<Ticks, std::optional<Chord>>> chords_;
    int last_seen_ = 0;
    Score score_;
};

}  // namespace

std::vector<ChordSymbol> place_chords(const std::string& typed, const Metre& metre) {
    std::vector<std::string> symbols;
    std::istringstream words(typed);
    for (std::string word; words >> word;)
        symbols.push_back(word);
    std::vector<ChordSymbol> placed;
    const int beats = metre.beats_per_bar();
    const Ticks beat(bar_length(metre).value() / beats);
    const int count = static_cast<int>(symbols.size());
    for (int i = 0; i < count; ++i) {
        Ticks at(bar_length(metre).value() * i / count);
        if (count == 2) at = beat * (std::int64_t{i} * ((beats + 1) / 2));
        if (count > 2 && count <= beats) at = beat * std::int64_t{i == 0 ? 0 : beats - count + i};
        placed.push_back({at, symbols[static_cast<std::size_t>(i)]});
    }
    return placed;
}

Result<Score> write_score(const Draft& draft, WhichNotes which, const ScoreSettings& settings) {
    if (!draft.bars) {
        return Failure{
            FailureKind::bad_draft,
            "The draft has no bars yet, so there is no score to write: place the beats or give a "
            "tempo and where bar 1 is",
            {}};
    }
    return ScoreWriter(draft, which, settings).write();
}

}  // namespace bentline
