// The grid's rows: shaded by the key, tinted by the chords, and beside each its name, its place on
// the neck and its degree in the chord that sounds.
#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "engine/score/write_score.h"
#include "ui/window/page.h"
#include "ui/window/spelling.h"

namespace bentline::window {
namespace {

// Keys of the open strings, standard tuning, first string first (common practice, no source).
constexpr std::array open_strings{64, 59, 55, 50, 45, 40};

// The string (1 first) on which a key lies within a hand's reach of a position, and its fret: four
// frets, one finger each (common practice, no source).
std::optional<std::pair<int, int>> on_neck(int key, int position) {
    for (std::size_t i = 0; i < open_strings.size(); ++i) {
        const int fret = key - open_strings[i];
        if (fret >= position && fret < position + 4)
            return std::pair(static_cast<int>(i) + 1, fret);
    }
    return std::nullopt;
}

// Is it a tone of the scale? Seven neighbours on the line of fifths, the first a fifth below the
// major tonic. Without a key: the naturals.
bool in_scale(int key, const std::optional<Key>& in) {
    const int fifths = in ? in->fifths : 0;
    return pitch_class(pitch_class(key * 7) - fifths + 1) < 7;
}

// Stretches of the grid under one key, as far as they are in view.
struct KeySpan {
    SecondsRange span;
    std::optional<Key> key;
};

std::vector<KeySpan> keys_in_view(const State& s) {
    std::vector<KeySpan> found{{s.look, shown_key(s, s.look.from)}};
    if (!s.draft.bars) return found;
    for (const Section& section : s.draft.form) {
        const Seconds from = s.draft.bars->bar_span(section.first_bar).from;
        if (from <= s.look.from || from >= s.look.to) continue;
        std::optional<Key> key = key_at(s.draft.keys(), section.first_bar);
        if (!key) key = shown_key(s, from);
        if (key == found.back().key) continue;
        found.back().span.to = from;
        found.push_back({{from, s.look.to}, key});
    }
    return found;
}

// A chord and how long it sounds.
struct ChordSpan {
    SecondsRange span;
    ChordTones tones;
    std::string text;  // as typed
};

// The chords that sound within a stretch of time; a bar without one goes on with the one before.
std::vector<ChordSpan> chords_within(const State& s, SecondsRange within) {
    std::vector<ChordSpan> found;
    if (!s.draft.bars) return found;
    const BarMap& bars = *s.draft.bars;
    const int last =
        std::min(bars.position_at(within.to).bar, static_cast<int>(s.draft.chords.size()));
    int first = std::min(bars.position_at(within.from).bar, last);
    while (first > 1 && s.draft.chords[static_cast<std::size_t>(first - 1)].empty())
        --first;
    for (int bar = std::max(1, first); bar <= last; ++bar) {
        const Metre metre = bars.metre_at(bar);
        const double a_beat = metre.quarters_per_beat() * static_cast<double>(quarter.value());
        for (const ChordSymbol& symbol :
             place_chords(s.draft.chords[static_cast<std::size_t>(bar - 1)], metre)) {
            const Beats beat(static_cast<double>(symbol.at.value()) / a_beat);
            const Seconds at = bars.time_of(BarBeat{bar, beat});
            if (!found.empty()) found.back().span.to = at;
            const auto tones = chord_tones(symbol.text);
            found.push_back({{at, within.to}, tones.value_or(ChordTones{}), symbol.text});
        }
    }
    if (!found.empty()) {
        const Seconds end = bars.bar_span(static_cast<int>(s.draft.chords.size())).to;
        found.back().span.to = std::min(found.back().span.to, end);
    }
    std::erase_if(found, [&](const ChordSpan& c) {
        return c.tones.tones.empty() || c.span.to <= within.from || c.span.from >= within.to;
    });
    return found;
}

void register_bracket(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    Drag& drag = page.scratch.drag;
    const auto y_of = [&](double key, float half) {
        const float y = axes.y(Pitch(key)) + half * axes.row_height();
        return std::clamp(y, axes.box.y0, axes.box.y1);
    };
    double low = s.draft.focus.lowest.value(), high = s.draft.focus.highest.value();
    const double under = std::round(axes.pitch(ImGui::GetIO().MousePos.y).value());
    if (drag.grip == Grip::register_low) low = std::min(under, high - 1);
    if (drag.grip == Grip::register_high) high = std::max(under, low + 1);
    const float x = page.l.names.x0 + k.pt(10);
    const float y0 = y_of(high, -0.5F), y1 = y_of(low, 0.5F);
    const auto end = [&](const char* id, float y, double key, Grip grip, bool outside) {
        const Kit::Touch touch = k.area(id, {x - k.pt(8), y - k.pt(6), x + k.pt(12), y + k.pt(6)});
        if (touch.pressed) drag = {grip, {}, {}, key, key, {}, 0};
        if (drag.grip == grip && touch.released) {
            page.ask(intents::SetRegister{static_cast<int>(low), static_cast<int>(high)});
            drag = Drag{};
        }
        const Colour colour = touch.hovered || touch.held ? k.c.here : k.c.span;
        if (!outside) k.fill({x, y - k.pt(1.5F), x + k.pt(8), y + k.pt(1.5F)}, colour);
    };
    k.fill({x, y0, x + k.pt(2.5F), y1}, k.c.span);
    end("register-high", y0, high, Grip::register_high, high >= s.rows.to);
    end("register-low", y1, low, Grip::register_low, low < s.rows.from);
    const float arrow = k.pt(5);
    if (high >= s.rows.to) {
        k.list().AddTriangleFilled(at(x + k.pt(1.25F), y0),
                                   at(x + k.pt(1.25F) + arrow, y0 + arrow * 1.4F),
                                   at(x + k.pt(1.25F) - arrow, y0 + arrow * 1.4F), k.c.span);
    }
    if (low < s.rows.from) {
        k.list().AddTriangleFilled(at(x + k.pt(1.25F), y1),
                                   at(x + k.pt(1.25F) - arrow, y1 - arrow * 1.4F),
                                   at(x + k.pt(1.25F) + arrow, y1 - arrow * 1.4F), k.c.span);
    }
    if (drag.grip == Grip::register_low || drag.grip == Grip::register_high) {
        const auto outside = [&](float from, float to) {
            if (to > from) k.fill({axes.box.x0, from, axes.box.x1, to}, with_alpha(k.c.ink, 26));
        };
        outside(axes.box.y0, y0);
        outside(y1, axes.box.y1);
    }
}

// The keys whose names are written: all where rows are high, else those of the scale, of the chord,
// in hand and under the mouse; those that tell most first, so that no name runs into its neighbour.
std::vector<int> named_keys(const Page& page, const Axes& axes, const std::optional<Key>& in,
                            const ChordSpan* chord) {
    const State& s = page.s;
    const DraftNote* picked = s.picked();
    const ImVec2 mouse = ImGui::GetIO().MousePos;
    const int under = mouse.y >= axes.box.y0 && mouse.y < axes.box.y1
                          ? static_cast<int>(std::lround(axes.pitch(mouse.y).value()))
                          : -1;
    const auto rank = [&](int key) {
        if (key == under || (picked != nullptr && picked->note.key.value() == key)) return 0;
        if (in && pitch_class(key) == in->tonic()) return 1;
        if (chord != nullptr && chord->tones.degree_of(MidiKey(key)) != nullptr) return 2;
        return in_scale(key, in) ? 3 : 4;
    };
    const auto apart = static_cast<int>(std::ceil(page.kit.pt(10.2F) / axes.row_height()));
    const int last = axes.row_height() > page.kit.pt(12.5F) ? 4 : 3;
    std::vector<int> named;
    for (int turn = 0; turn <= last; ++turn) {
        for (int key = s.rows.from; key < s.rows.to; ++key) {
            if (rank(key) != turn) continue;
            const bool room = std::none_of(named.begin(), named.end(), [&](int other) {
                return std::abs(other - key) < apart;
            });
            if (room) named.push_back(key);
        }
    }
    return named;
}

void draw_row_grounds(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const float h = axes.row_height();
    const auto ground = [&](int key, SecondsRange span, Colour colour) {
        const float mid = axes.y(Pitch(static_cast<double>(key)));
        k.fill({std::max(axes.box.x0, axes.x(span.from)), mid - h / 2,
                std::min(axes.box.x1, axes.x(span.to)), mid + h / 2},
               colour);
    };
    const std::vector<KeySpan> keys = keys_in_view(s);
    for (const KeySpan& stretch : keys) {
        for (int key = s.rows.from; key < s.rows.to; ++key)
            if (!in_scale(key, stretch.key)) ground(key, stretch.span, k.c.shade);
    }
    // Chord tones, each under its own chord, where a bar is wide enough to read them.
    if (s.draft.bars && axes.pixels_a_second() > k.pt(34)) {
        for (const ChordSpan& chord : chords_within(s, s.look)) {
            for (int key = s.rows.from; key < s.rows.to; ++key) {
                if (chord.tones.degree_of(MidiKey(key)) == nullptr) continue;
                const bool root = pitch_class(key) == chord.tones.root;
                ground(key, chord.span, with_alpha(k.c.span, root ? 28 : 15));
            }
        }
    }
    for (int key = s.rows.from; key < s.rows.to; ++key) {
        const float under = axes.y(Pitch(static_cast<double>(key))) + h / 2;
        k.line(axes.box.x0, under, axes.box.x1, under, with_alpha(k.c.rule, 120), 1);
        for (const KeySpan& stretch : keys) {
            if (!stretch.key || pitch_class(key) != stretch.key->tonic()) continue;
            k.line(std::max(axes.box.x0, axes.x(stretch.span.from)), under,
                   std::min(axes.box.x1, axes.x(stretch.span.to)), under, k.c.soft, 1);
        }
    }
}

// Positions are counted in Roman numerals (common practice, no source).
std::string roman(int n) {
    constexpr std::array tens{"", "X", "XX"};
    constexpr std::array ones{"", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX"};
    if (n < 1 || n > 29) return std::to_string(n);
    return std::string(tens[static_cast<std::size_t>(n / 10)]) +
           ones[static_cast<std::size_t>(n % 10)];
}

// Over the columns: the hand's position and the chord that the degrees belong to.
void draw_column_heads(const Page& page, const ChordSpan* chord) {
    const Kit& k = page.kit;
    const float y = page.l.counting.y1 - k.pt(17), x0 = page.l.names.x0 + k.pt(24);
    const float x1 = page.l.names.x1 - k.pt(3);
    const std::string position =
        page.s.position < 1 ? "open pos." : "pos. " + roman(page.s.position);
    k.text(k.f.small, x0, y, k.c.soft, position);
    if (chord == nullptr) return;
    const std::string name = with_signs(chord->text);
    const float wide = k.size(k.f.small, name).x;
    const bool beside = x1 - wide > x0 + k.size(k.f.small, position).x + k.pt(6);
    if (wide < x1 - x0) k.text(k.f.small, x1 - wide, beside ? y : y - k.pt(12), k.c.span, name);
}

}  // namespace

std::string degree_words(const State& s, const Note& note) {
    // What leans ahead of a chord by a little is heard against it.
    const Seconds now = note.onset + Seconds(0.02);
    const std::vector<ChordSpan> sounding = chords_within(s, {now, now + Seconds(0.01)});
    if (sounding.empty()) return {};
    const char* degree = sounding.front().tones.degree_of(note.key);
    return degree == nullptr ? "" : degree + (" of " + with_signs(sounding.front().text));
}

void draw_rows(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Seconds now = s.pick && s.picked() ? s.picked()->note.onset : s.play.at;
    const std::optional<Key> in = shown_key(s, now);
    const std::vector<ChordSpan> sounding =
        chords_within(s, {now + Seconds(0.02), now + Seconds(0.03)});
    const ChordSpan* chord = sounding.empty() ? nullptr : &sounding.front();
    const Box column{page.l.names.x0 + k.pt(24), page.l.names.y0, page.l.names.x1, page.l.names.y1};
    const Kit::Touch names = k.area("names", column);
    if (const float wheel = ImGui::GetIO().MouseWheel; names.hovered && wheel != 0.0F) {
        const int by = wheel > 0 ? 2 : -2;
        page.ask(intents::ShowRows{s.rows.from + by, s.rows.to + by});
    }
    draw_row_grounds(page, axes);
    draw_column_heads(page, chord);
    ImFont* small = k.f.small;
    for (const int key : named_keys(page, axes, in, chord)) {
        const float mid = axes.y(Pitch(static_cast<double>(key)));
        const auto place = [&](float from, float to) {
            return Box{page.l.names.x0 + k.pt(from), mid - k.pt(8), page.l.names.x0 + k.pt(to),
                       mid + k.pt(8)};
        };
        const char* degree = chord != nullptr ? chord->tones.degree_of(MidiKey(key)) : nullptr;
        k.text_in(small, place(24, 56), Align::left, degree != nullptr ? k.c.ink : k.c.soft,
                  spelled_with_octave(MidiKey(key), in));
        if (degree != nullptr) {
            const Box mark{page.l.names.x1 - k.pt(28), mid - k.pt(8), page.l.names.x1 - k.pt(3),
                           mid + k.pt(8)};
            k.text_in(small, mark, Align::right, k.c.span, degree);
        }
        // String and fret; six hairs would be too fine.
        if (const auto neck = on_neck(key, s.position)) {
            k.text_in(small, place(57, 82), Align::left, k.c.soft,
                      std::to_string(neck->first) + "·" + std::to_string(neck->second));
        }
    }
    register_bracket(page, axes);
}

// Where another key begins in view, its name.
void draw_key_names(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const std::vector<KeySpan> keys = keys_in_view(page.s);
    for (std::size_t i = 1; i < keys.size(); ++i) {
        if (!keys[i].key) continue;
        const float x = axes.x(keys[i].span.from) + k.pt(6);
        const std::string name = with_signs(to_text(*keys[i].key));
        if (x + k.size(k.f.small, name).x < axes.box.x1)
            k.text_over(k.f.small, x, axes.box.y0 + k.pt(2), k.c.span, name);
    }
}

}  // namespace bentline::window
