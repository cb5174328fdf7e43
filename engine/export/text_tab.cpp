// Each bar becomes a block of equally long rows; blocks are set side by side.
#include "engine/export/text_tab.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <set>

#include "engine/export/handout.h"
#include "engine/export/number_text.h"
#include "engine/export/tab_ruler.h"
#include "engine/score/write_score.h"

namespace bentline {
namespace {

// One bar: a row of chords, a row of beats, a row a string; all of one length.
struct Block {
    std::string chords;
    std::string beats;
    std::vector<std::string> strings;
    std::string section;
    bool pickup = false;
};

class TextWriter {
  public:
    TextWriter(const Score& score, const DraftFingering& fingering, const TextTabSettings& settings)
        : score_(score), fingering_(fingering), settings_(settings) {}

    std::string write() {
        const std::string above = heading();
        const std::string music = lines();
        return above + music + footing();
    }

    std::string lines() {
        std::vector<Block> blocks;
        for (const Measure& measure : score_.measures)
            blocks.push_back(block_of(measure));
        std::string text;
        for (std::size_t from = 0; from < blocks.size();) {
            const std::size_t to = line_end(blocks, from);
            text += line_of(blocks, from, to) + "\n";
            from = to;
        }
        return text;
    }

    const std::set<std::string>& used() const { return used_; }

  private:
    std::string heading() const {
        std::string text;
        if (!score_.title.empty()) text += score_.title + "\n";
        if (!score_.players.empty()) text += score_.players + "\n";
        text += "Guitar: " + to_text(fingering_.neck) + "\n";
        text += std::to_string(std::lround(score_.tempo.value())) + " beats a minute";
        if (score_.swing) text += ", swing (" + short_text(*score_.swing, 1) + " : 1)";
        return text + "\n\n";
    }

    std::vector<TypedOnString> grace_typed(const Head& head) {
        std::vector<TypedOnString> typed;
        for (const GraceNote& grace : head.graces) {
            if (!grace.note) continue;
            const FingeredNote* fingered = fingering_.of(*grace.note);
            if (fingered == nullptr || !fingered->spot) continue;
            used_.insert("(n) grace note");
            typed.push_back(
                {fingered->spot->string, "(" + std::to_string(fingered->spot->fret) + ")"});
        }
        return typed;
    }

    std::string head_typed(const Head& head, int fret) {
        const auto use = [&](const char* legend, const std::string& text) {
            used_.insert(legend);
            return text;
        };
        std::string before;
        std::string text = std::to_string(fret);
        std::string after;
        for (const Sign& sign : head.signs) {
            if (std::holds_alternative<AccentSign>(sign)) before += use("> accent", ">");
            if (std::holds_alternative<DotSign>(sign)) after += use("' short", "'");
            if (settings_.plain) continue;
            if (const auto* bend = std::get_if<BendSign>(&sign)) {
                const std::string to = short_text(fret + bend->semitones, 1);
                if (bend->prebend)
                    text = use("pb bent before it is struck", std::to_string(fret) + "pb" + to);
                else
                    text += use("b bend up to that fret's pitch", "b" + to);
                if (bend->release) text += use("r released", "r" + std::to_string(fret));
            } else if (std::holds_alternative<SlideInSign>(sign)) {
                for (const GraceNote& grace : head.graces) {
                    if (grace.note) continue;
                    const int from = fret + grace.pitch.key().value() - head.pitch.key().value();
                    before += use("/ \\ slide",
                                  std::to_string(std::max(from, 0)) + (from < fret ? "/" : "\\"));
                }
            } else if (const auto* scoop = std::get_if<ScoopSign>(&sign)) {
                before += use("/ \\ slide", scoop->from_above ? "\\" : "/");
            } else if (const auto* fall = std::get_if<FallSign>(&sign)) {
                after += use("/ \\ slide", fall->upward ? "/" : "\\");
            } else if (const auto* wavy = std::get_if<WavyLineSign>(&sign)) {
                after += use("~ vibrato (~~ wide)", wavy->wide ? "~~" : "~");
            } else if (const auto* trill = std::get_if<TrillSign>(&sign)) {
                const int other = fret + trill->with.key().value() - head.pitch.key().value();
                after += use("tr(n) trill", "tr(" + std::to_string(other) + ")");
            }
        }
        return before + text + after;
    }

    // A slide to the next note is typed at the tie's last head, behind what its first head got.
    bool slides_on(const Measure& measure, std::size_t e) const {
        for (std::size_t i = e; i < measure.events.size(); ++i) {
            const auto& head = measure.events[i].head;
            if (!head || head->note != measure.events[e].head->note) break;
            for (const Sign& sign : head->signs) {
                if (std::holds_alternative<SlideToNextSign>(sign)) return true;
            }
        }
        return false;
    }

    std::vector<TypedStroke> strokes_of(const Measure& measure) {
        std::vector<TypedStroke> strokes;
        for (std::size_t e = 0; e < measure.events.size(); ++e) {
            const Event& event = measure.events[e];
            if (!event.head || event.head->tied_from_before) continue;
            TypedStroke stroke{event.start, grace_typed(*event.head)};
            const FingeredNote* fingered = fingering_.of(event.head->note);
            if (fingered != nullptr && fingered->spot) {
                std::string text = head_typed(*event.head, fingered->spot->fret);
                if (!settings_.plain && slides_on(measure, e)) {
                    used_.insert("s slide on to the next note");
                    text += "s";
                }
                stroke.typed.push_back({fingered->spot->string, std::move(text)});
            } else {
                missing_.push_back("bar " + std::to_string(measure.number) + ": " +
                                   to_text(event.head->pitch) + ", " +
                                   (fingered != nullptr ? fingered->problem : "not fingered"));
            }
            if (!stroke.typed.empty()) strokes.push_back(std::move(stroke));
        }
        return strokes;
    }

    // Flats and sharps as a keyboard has them.
    static std::string typed_chord(std::string text) {
        for (const auto& [sign, letter] : {std::pair{"\u266d", "b"}, std::pair{"\u266f", "#"}}) {
            for (auto at = text.find(sign); at != std::string::npos; at = text.find(sign))
                text.replace(at, 3, letter);
        }
        return text;
    }

    static void put(std::string& row, std::size_t at, const std::string& text) {
        if (row.size() < at + text.size()) row.resize(at + text.size(), ' ');
        row.replace(at, text.size(), text);
    }

    Block block_of(const Measure& measure) {
        const auto strings = static_cast<std::size_t>(fingering_.neck.strings());
        const std::vector<TypedStroke> strokes = strokes_of(measure);
        const Ticks beat((measure.length + measure.skipped).value() /
                         measure.metre.beats_per_bar());
        const TabRuler ruler(strokes, measure);
        const std::size_t length = std::max<std::size_t>(ruler.length(), 2);
        Block block;
        block.section = measure.section;
        block.pickup = measure.number < 1;
        block.strings.assign(strings, std::string(length, '-'));
        for (const TypedStroke& stroke : strokes) {
            std::size_t at = ruler.column(stroke.at);
            for (const TypedOnString& typed : stroke.typed) {
                put(block.strings[static_cast<std::size_t>(typed.string - 1)], at, typed.text);
                at += typed.text.size();
            }
        }
        for (std::string& row : block.strings)
            std::replace(row.begin(), row.end(), ' ', '-');
        block.beats.assign(length, ' ');
        for (int b = 0; b < measure.metre.beats_per_bar(); ++b) {
            const Ticks at = beat * std::int64_t{b} - measure.skipped;
            if (at >= Ticks(0) && at < measure.length)
                put(block.beats, ruler.column(at), std::to_string(b + 1));
        }
        block.chords.assign(length, ' ');
        for (const ChordSymbol& chord : measure.chords) {
            const Ticks at = std::max(Ticks(0), chord.at - measure.skipped);
            std::size_t place = ruler.column(at);
            const std::size_t last = block.chords.find_last_not_of(' ');
            if (last != std::string::npos && place < last + 2) place = last + 2;
            put(block.chords, place, typed_chord(chord.text));
        }
        const std::size_t longest = std::max(block.chords.size(), block.beats.size());
        for (std::string& row : block.strings)
            row.resize(std::max(longest, row.size()), '-');
        block.chords.resize(block.strings[0].size() + 1, ' ');
        block.beats.resize(block.strings[0].size() + 1, ' ');
        return block;
    }

    // Up to four bars of one section that fit the width, and a pickup before them.
    std::size_t line_end(const std::vector<Block>& blocks, std::size_t from) const {
        const std::size_t most_bars = blocks[from].pickup ? 5 : 4;
        std::size_t width = 4 + blocks[from].chords.size();
        std::size_t to = from + 1;
        while (to < blocks.size() && to - from < most_bars &&
               (blocks[to].section.empty() || blocks[to - 1].pickup) &&
               width + blocks[to].chords.size() <= static_cast<std::size_t>(settings_.width)) {
            width += blocks[to].chords.size();
            ++to;
        }
        return to;
    }

    static std::string trimmed(std::string row) {
        row.erase(row.find_last_not_of(' ') + 1);
        return row + "\n";
    }

    std::string line_of(const std::vector<Block>& blocks, std::size_t from, std::size_t to) const {
        const Neck& neck = fingering_.neck;
        std::string text;
        std::string sections;
        std::string chords = "   ";
        std::string beats = std::to_string(score_.measures[from].number);
        beats.resize(std::max<std::size_t>(beats.size(), 3), ' ');
        // The bar's number stands where the strings' names do.
        for (std::size_t b = from; b < to; ++b) {
            if (!blocks[b].section.empty()) {
                sections.resize(b == from ? 0 : chords.size() + 1, ' ');
                sections += "[" + blocks[b].section + "]";
            }
            chords += " " + blocks[b].chords.substr(0, blocks[b].chords.size() - 1);
            beats += " " + blocks[b].beats.substr(0, blocks[b].beats.size() - 1);
        }
        if (!sections.empty()) text += trimmed(sections);
        text += trimmed(chords) + trimmed(beats);
        for (int s = 1; s <= neck.strings(); ++s) {
            std::string name = string_name(s);
            name.resize(3, ' ');
            text += name;
            for (std::size_t b = from; b < to; ++b)
                text += "|" + blocks[b].strings[static_cast<std::size_t>(s - 1)];
            text += "|\n";
        }
        return text;
    }

    // "E", "Bb"; the highest string small, as players write it.
    std::string string_name(int s) const {
        Neck one;
        one.open = {fingering_.neck.open[static_cast<std::size_t>(s - 1)]};
        std::string name = to_text(one);
        name.pop_back();  // the octave
        if (s == 1) name[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(name[0])));
        return name;
    }

    std::string footing() const {
        std::string text;
        for (const std::string& legend : used_)
            text += (text.empty() ? "" : ", ") + legend;
        if (!text.empty()) text += "\n";
        if (!missing_.empty()) {
            text += "Without string and fret:\n";
            for (const std::string& m : missing_)
                text += "  " + m + "\n";
        }
        return text + "A solo has owners: check the rights before handing out copies.\n";
    }

    const Score& score_;
    const DraftFingering& fingering_;
    const TextTabSettings& settings_;
    std::set<std::string> used_;
    std::vector<std::string> missing_;
};

}  // namespace

TabPassage tab_passage(const Score& score, const DraftFingering& fingering,
                       const std::set<NoteId>& notes, const TextTabSettings& settings) {
    Score passage = score;
    const auto other = [&](const GraceNote& grace) {
        return grace.note && !notes.contains(*grace.note);
    };
    std::size_t first = score.measures.size(), end = 0;
    for (std::size_t m = 0; m < passage.measures.size(); ++m) {
        for (Event& event : passage.measures[m].events) {
            if (!event.head) continue;
            if (!notes.contains(event.head->note)) {
                event.head.reset();
                continue;
            }
            std::erase_if(event.head->graces, other);
            if (event.head->tied_from_before) continue;
            first = std::min(first, m);
            end = m + 1;
        }
    }
    if (first >= end) return {};
    const auto begin = passage.measures.begin();
    passage.measures = {begin + static_cast<std::ptrdiff_t>(first),
                        begin + static_cast<std::ptrdiff_t>(end)};
    TextWriter writer(passage, fingering, settings);
    std::string lines = writer.lines();
    return {std::move(lines), writer.used()};
}

std::string text_tab(const Score& score, const DraftFingering& fingering,
                     const TextTabSettings& settings) {
    return TextWriter(score, fingering, settings).write();
}

Result<std::string> text_tab_of(const Draft& draft, WhichNotes which,
                                const TextTabSettings& settings) {
    if (select_notes(draft, which).empty()) return nothing_to_hand_out(draft, which);
    const auto score = write_score(draft, which);
    if (!score) return score.failure();
    const auto fingering = finger_draft(draft, which);
    if (!fingering) return fingering.failure();
    return text_tab(*score, *fingering, settings);
}

}  // namespace bentline
