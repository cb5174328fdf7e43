// Notes on the grid, their inflections in the signs of engraving, and the mouse on them.
#include <algorithm>
#include <cmath>
#include <vector>

#include "ui/window/page.h"
#include "ui/window/printed.h"
#include "ui/window/spelling.h"

namespace bentline::window {
namespace {

struct Shown {
    SecondsRange span;
    int key;
};

// Where a note is shown: while it is dragged, where it would come to lie.
Shown shown(const Page& page, const DraftNote& note) {
    Shown at_rest{{note.note.onset, note.note.offset}, note.note.key.value()};
    const Drag& drag = page.scratch.drag;
    if (drag.note != note.id) return at_rest;
    const Seconds by = drag.now - drag.from;
    if (drag.grip == Grip::note_from)
        at_rest.span.from = std::min(at_rest.span.from + by, at_rest.span.to - shortest_note);
    if (drag.grip == Grip::note_to)
        at_rest.span.to = std::max(at_rest.span.to + by, at_rest.span.from + shortest_note);
    if (drag.grip == Grip::note) {
        at_rest.span = {at_rest.span.from + by, at_rest.span.to + by};
        at_rest.key += static_cast<int>(std::lround(drag.value - drag.value_from));
    }
    return at_rest;
}

Box box_of(const Axes& axes, const Shown& note) {
    const float mid = axes.y(Pitch(static_cast<double>(note.key))),
                half = axes.row_height() * 0.46F;
    return {axes.x(note.span.from), mid - half, axes.x(note.span.to), mid + half};
}

// One sign after the other above or below a note.
struct Signs {
    const Page& page;
    const Axes& axes;
    const Note& note;
    Box box;
    float above;  // y of the next free place over the note
    float below;  // and under it
    bool figures_fit;
    bool told;                // picked or pointed at: its figures are always written
    std::vector<Box>& taken;  // by notes and by figures so far

    const Kit& k() const { return page.kit; }
    float y(double key) const { return axes.y(Pitch(key)); }
    float key_y() const { return box.mid_y(); }

    // A measured figure, where nothing else stands: the slip tells it, too. False: left out.
    bool label(float x, float at_y, const std::string& text, Colour colour) const {
        const ImVec2 extent = k().size(k().f.small, text);
        const Box place{x, at_y + k().pt(2), x + extent.x, at_y + extent.y - k().pt(1)};
        const bool clash = std::any_of(taken.begin(), taken.end(), [&](const Box& other) {
            return place.x0 < other.x1 && other.x0 < place.x1 && place.y0 < other.y1 &&
                   other.y0 < place.y1;
        });
        if (clash && !told) return false;
        taken.push_back(place);
        k().text_over(k().f.small, x, at_y, colour, text);
        return true;
    }
    void operator()(const SlideIn& slide) const {
        const double from = slide.from ? slide.from->value() : note.key.value() - 1.5;
        const Seconds start = slide.span ? slide.span->from : note.onset;
        const Seconds end =
            slide.span ? slide.span->to : std::min(note.onset + Seconds(0.06), note.offset);
        const float x1 = std::max(axes.x(end), axes.x(start) + k().pt(8));
        k().line(x1 - std::max(k().pt(8), axes.x(end) - axes.x(start)), y(from), x1, key_y(),
                 k().c.span, 2.2F);
    }
    void operator()(const SlideOut& slide) const {
        const double to = slide.to ? slide.to->value() : note.key.value() - 2.0;
        const float x0 = slide.span ? axes.x(slide.span->from) : box.x1;
        const float x1 = slide.span ? axes.x(slide.span->to) : box.x1 + k().pt(12);
        k().line(x0, key_y(), std::max(x1, x0 + k().pt(8)), y(to), k().c.span, 2.2F);
    }
    void operator()(const SlideToNext&) const {
        const NoteList& notes = page.s.draft.notes;
        const Range<std::size_t> after =
            notes.within({note.onset + Seconds(1e-6), note.onset + Seconds(20)});
        if (after.empty()) return;
        const Note& next = notes[after.from].note;
        k().line(box.x1 - std::min(box.w() * 0.3F, k().pt(10)), key_y(),
                 axes.x(next.onset) + k().pt(3), y(next.key.value()), k().c.span, 2.2F);
    }
    void operator()(const Bend& bend) {
        const double top = note.key.value() + bend.size.value() / 100.0;
        const float peak = bend.peak ? axes.x(*bend.peak) : box.x0 + box.w() * 0.5F;
        const float x = bend.prebend ? box.x0 + k().pt(2) : std::max(peak, box.x0 + k().pt(6));
        const float high = std::min(y(top) - k().pt(5), box.y0 - k().pt(9));
        if (bend.prebend) {
            k().arrow(x, key_y(), x, high, k().c.here);
        } else {
            const float x0 = bend.start ? axes.x(*bend.start) : box.x0;
            k().bend_arrow(std::min(x0, x - k().pt(5)), key_y(), x, high, k().c.here);
        }
        if (bend.release) {
            const SecondsRange span = bend.release_span.value_or(
                SecondsRange{note.onset + (note.offset - note.onset) * 0.7, note.offset});
            const float down = std::max(axes.x(span.from), x + k().pt(3));
            k().bend_arrow(down, high + k().pt(2), std::max(axes.x(span.to), down + k().pt(6)),
                           key_y(), k().c.here);
        }
        // The size stands over the arrow's head; where the grid ends, on the side from which the
        // line comes up.
        const std::string size = bend_fraction(bend.size);
        const std::string cents = figures_fit ? printed("%.0f c", bend.size.value()) : "";
        const float width = k().size(k().f.strong, size).x;
        const float both = width + (cents.empty() ? 0 : k().pt(4) + k().size(k().f.small, cents).x);
        const bool room = high - k().pt(18) > axes.box.y0;
        const float beside = k().pt(9);
        const bool before = !room && x - both - beside > axes.box.x0;
        const float text_x = room ? x - width / 2 : before ? x - both - beside : x + beside;
        const float text_y = room ? high - k().pt(18) : std::max(axes.box.y0, high - k().pt(6));
        k().text_over(k().f.strong, text_x, text_y, k().c.here, size);
        if (!cents.empty())
            label(text_x + width + k().pt(4), text_y + k().pt(2), cents, k().c.soft);
        above = std::min(above, high - k().pt(20));
    }
    void operator()(const Vibrato& v) {
        const float x0 = v.span ? axes.x(v.span->from) : box.x0,
                    x1 = v.span ? axes.x(v.span->to) : box.x1;
        k().wave(x0, std::max(x1, x0 + k().pt(14)), above - k().pt(3), k().pt(5), k().c.span);
        above -= k().pt(7);
        if (figures_fit &&
            label(x0, above - k().pt(15),
                  printed("%.1f Hz ±%.0f c", v.rate.value(), v.depth.value()), k().c.soft)) {
            above -= k().pt(15);
        }
    }
    void operator()(const Trill& trill) {
        k().text_over(k().f.small, box.x0, above - k().pt(14), k().c.span, "tr");
        k().wave(box.x0 + k().pt(14), std::max(box.x1, box.x0 + k().pt(26)), above - k().pt(6),
                 k().pt(4), k().c.span);
        if (figures_fit) {
            label(std::max(box.x1, box.x0 + k().pt(26)) + k().pt(3), above - k().pt(14),
                  spelled(MidiKey(note.key.value() + trill.semitones),
                          page.s.draft.key_at(note.onset)),
                  k().c.soft);
        }
        above -= k().pt(14);
    }
    void operator()(const Staccato&) {
        k().list().AddCircleFilled(at(box.mid_x(), below + k().pt(5)), k().pt(2.2F), k().c.ink, 12);
        below += k().pt(6);
    }
    void operator()(const Accent&) {
        const float x = std::max(box.x0, box.mid_x() - k().pt(6)), y = below + k().pt(8);
        k().line(x, y - k().pt(4), x + k().pt(11), y, k().c.ink, 1.6F);
        k().line(x, y + k().pt(4), x + k().pt(11), y, k().c.ink, 1.6F);
        below += k().pt(12);
    }
};

// The other readings of a doubtful note, as dotted outlines where they would lie, each with its
// chance; a doubtful note that is not looked at has only a query beside it.
void draw_readings(const Page& page, const Axes& axes, const DraftNote& note, const DraftNote* next,
                   bool looked_at) {
    const Kit& k = page.kit;
    if (note.inked() || note.note.alternatives.empty()) return;
    const Box b = box_of(axes, shown(page, note));
    if (!looked_at) {
        if (b.w() <= k.pt(12)) return;
        // Behind the note, or over its end where the next one stands close.
        const bool close = next != nullptr && axes.x(next->note.onset) < b.x1 + k.pt(10) &&
                           std::abs(axes.y(Pitch(next->note.key)) - b.mid_y()) < k.pt(15);
        const float x = close ? b.x1 - k.pt(7) : b.x1 + k.pt(2);
        const float y = close ? b.y0 - k.pt(13) : b.mid_y() - k.pt(8);
        const ImVec2 extent = k.size(k.f.small, "?");
        k.text(k.f.small, x, y, k.c.soft, "?");
        page.scratch.queries.push_back({x, y, x + extent.x, y + extent.y});
        return;
    }
    for (const Alternative& other : note.note.alternatives) {
        if (!other.key || *other.key == note.note.key) continue;
        Shown there = shown(page, note);
        there.key = other.key->value();
        const Box o = box_of(axes, there);
        if (o.y1 < axes.box.y0 || o.y0 > axes.box.y1) continue;
        k.dashed(o.x0, o.y1, o.x1, o.y1, k.c.soft, 1.2F, 2);
        k.dashed(o.x0, o.y0, o.x1, o.y0, k.c.soft, 1.2F, 2);
        k.text(k.f.small, o.x1 + k.pt(3), o.mid_y() - k.pt(8), k.c.soft,
               printed("%.0f %%", 100 * other.probability));
    }
}

}  // namespace

void draw_notes(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const bool preview = s.overlay == Overlay::confident;
    const Range<std::size_t> seen = s.draft.notes.within({s.look.from - Seconds(20), s.look.to});
    for (std::size_t i = seen.from; i < seen.to; ++i) {
        const DraftNote& note = s.draft.notes[i];
        if (note.note.offset < s.look.from) continue;
        const Shown at_now = shown(page, note);
        Box b = box_of(axes, at_now);
        b.x1 = std::max(b.x1, b.x0 + k.pt(2));
        if (b.y1 < axes.box.y0 || b.y0 > axes.box.y1) {
            // Beyond the rows: a small point towards it at the edge.
            const bool over = b.y1 < axes.box.y0;
            const float tip = over ? axes.box.y0 + k.pt(1) : axes.box.y1 - k.pt(1);
            const float foot = tip + (over ? k.pt(6) : -k.pt(6));
            k.list().AddTriangleFilled(at(b.mid_x(), tip), at(b.mid_x() - k.pt(4), foot),
                                       at(b.mid_x() + k.pt(4), foot),
                                       note.inked() ? k.c.ink : k.c.pencil);
            continue;
        }
        const bool picked = s.pick == note.id;
        if (b.w() < k.pt(4) && !picked) {
            // Too narrow for an outline: inked at full height, pencilled as a thin stroke.
            const float thin = note.inked() ? 0.0F : b.h() * 0.36F;
            k.fill({b.x0, b.y0 + thin, b.x1, b.y1 - thin}, note.inked() ? k.c.ink : k.c.pencil);
            continue;
        }
        const bool would =
            preview && !note.inked() && note.note.confidence.value_or(0) >= s.threshold;
        if (note.inked() || would) {
            k.fill(b, with_alpha(k.c.ink, 46));
            k.frame(b, k.c.ink, 1.6F);
            k.fill({b.x0, b.y0, std::min(b.x0 + k.pt(3), b.x1), b.y1}, k.c.ink);
        } else {
            k.fill(b, with_alpha(k.c.paper, 150));
            if (b.w() > k.pt(10)) {
                k.dashed_frame(b, k.c.pencil, 1.3F);
            } else {
                k.frame(b, k.c.pencil, 1);
            }
        }
        const DraftNote* next = i + 1 < seen.to ? &s.draft.notes[i + 1] : nullptr;
        draw_readings(page, axes, note, next, picked || page.scratch.hovered == note.id);
        if (picked) {
            // Corners around it: the pick is told by shape, not only by colour.
            const Box o = b.inset(-k.pt(4), -k.pt(4));
            const float c = std::min(k.pt(7), o.w() / 3);
            for (const float y : {o.y0, o.y1}) {
                const float v = y == o.y0 ? k.pt(6) : -k.pt(6);
                k.line(o.x0, y, o.x0 + c, y, k.c.here, 2);
                k.line(o.x1 - c, y, o.x1, y, k.c.here, 2);
                k.line(o.x0, y, o.x0, y + v, k.c.here, 2);
                k.line(o.x1, y, o.x1, y + v, k.c.here, 2);
            }
        }
    }
}

void draw_signs(const Page& page, const Axes& axes) {
    // Signs need room: below it they would only be a smear.
    const Kit& k = page.kit;
    if (axes.pixels_a_second() <= k.pt(34)) return;
    const NoteList& notes = page.s.draft.notes;
    const Range<std::size_t> seen = notes.within({page.s.look.from - Seconds(6), page.s.look.to});
    std::vector<Box> taken;
    for (std::size_t i = seen.from; i < seen.to; ++i)
        taken.push_back(box_of(axes, shown(page, notes[i])));
    const auto sign = [&](const DraftNote& note, bool told) {
        if (note.note.inflections.empty()) return;
        const Box b = box_of(axes, shown(page, note));
        // A note beyond the rows keeps its signs to itself.
        if (b.y1 < axes.box.y0 || b.y0 > axes.box.y1) return;
        Signs signs{
            page, axes, note.note, b, b.y0 - k.pt(3), b.y1, axes.pixels_a_second() > k.pt(70),
            told, taken};
        for (const Inflection& i : note.note.inflections)
            std::visit(signs, i.what);
    };
    // What is looked at lies over the rest.
    const auto told = [&](const DraftNote& note) {
        return page.s.pick == note.id || page.scratch.hovered == note.id;
    };
    for (const bool last : {false, true}) {
        for (std::size_t i = seen.from; i < seen.to; ++i)
            if (told(notes[i]) == last) sign(notes[i], last);
    }
}

void hold_grid(const Page& page, const Axes& axes) {
    const Kit& k = page.kit;
    const State& s = page.s;
    const Kit::Touch touch = k.area("grid", axes.box);
    const ImGuiIO& io = ImGui::GetIO();
    Drag& drag = page.scratch.drag;
    if (touch.hovered && io.MouseWheel != 0.0F && !io.KeyShift) {
        page.ask(intents::Zoom{io.MouseWheel > 0 ? 0.85 : 1.0 / 0.85});
    } else if (touch.hovered && (io.MouseWheel != 0.0F || io.MouseWheelH != 0.0F)) {
        const Seconds by = (s.look.to - s.look.from) *
                           static_cast<double>(-0.1F * (io.MouseWheel + io.MouseWheelH));
        page.ask(intents::ShowSpan{s.look.from + by, s.look.to + by});
    }
    if (!s.open) return;
    const Seconds here = axes.time(io.MousePos.x);
    const double pitch = axes.pitch(io.MousePos.y).value();
    const DraftNote* under = nullptr;
    Box under_box;
    const Range<std::size_t> near = s.draft.notes.within({here - Seconds(20), here + Seconds(0.2)});
    for (std::size_t i = near.from; i < near.to; ++i) {
        const Box b = box_of(axes, shown(page, s.draft.notes[i]));
        if (b.inset(-k.pt(3), -k.pt(2)).holds(io.MousePos.x, io.MousePos.y)) {
            under = &s.draft.notes[i];
            under_box = b;
        }
    }
    page.scratch.hovered = touch.hovered && under != nullptr ? under->id : NoteId{};
    const float edge = std::min(k.pt(5), under_box.w() / 4);
    if (touch.hovered && under != nullptr && drag.grip == Grip::none) {
        const bool at_edge =
            s.pick == under->id && !io.KeyShift &&
            (io.MousePos.x < under_box.x0 + edge || io.MousePos.x > under_box.x1 - edge);
        ImGui::SetMouseCursor(at_edge ? ImGuiMouseCursor_ResizeEW : ImGuiMouseCursor_Hand);
    }
    if (touch.twice && under == nullptr) {
        const Seconds length =
            s.draft.bars ? beat_length(s.draft.bars->tempo_at(s.draft.bars->beats_at(here))) * 0.5
                         : Seconds(0.2);
        page.ask(intents::AddNote{here, here + length, static_cast<int>(std::lround(pitch))});
        drag = Drag{};
        return;
    }
    // The note in hand can be moved; over any other, as beside it, a drag measures the line, so
    // that no note is moved unawares.
    if (touch.pressed && under != nullptr && s.pick == under->id && !io.KeyShift) {
        const Grip grip = io.MousePos.x < under_box.x0 + edge   ? Grip::note_from
                          : io.MousePos.x > under_box.x1 - edge ? Grip::note_to
                                                                : Grip::note;
        drag = {grip, here, here, pitch, pitch, under->id, 0};
    } else if (touch.pressed) {
        const Grip grip = io.KeyAlt && under == nullptr ? Grip::new_note : Grip::measure;
        const NoteId on = under != nullptr ? under->id : NoteId{};
        drag = {grip, here, here, pitch, pitch, on, 0};
    }
    if (!touch.held && !touch.released) return;
    drag.now = here;
    drag.value = pitch;
    const SecondsRange span{std::min(drag.from, here), std::max(drag.from, here)};
    const bool far = std::abs(axes.x(here) - axes.x(drag.from)) > k.pt(3);
    const int steps = static_cast<int>(std::lround(drag.value - drag.value_from));
    if (touch.held && far && drag.grip == Grip::measure) {
        k.fill({axes.x(span.from), axes.box.y0, axes.x(span.to), axes.box.y1},
               with_alpha(k.c.here, 22));
    }
    if (touch.held && far && drag.grip == Grip::new_note) {
        k.frame(box_of(axes, {span, static_cast<int>(std::lround(drag.value_from))}), k.c.here,
                1.5F);
    }
    if (!touch.released) return;
    const DraftNote* held = s.draft.notes.find(drag.note);
    if (drag.grip == Grip::measure && far) {
        page.ask(intents::Measure{span.from, span.to});
    } else if (drag.grip == Grip::measure && held != nullptr) {
        page.ask(intents::Pick{held->id.value});
    } else if (drag.grip == Grip::measure) {
        page.ask(intents::GoTo{here});
        if (s.pick) page.ask(intents::PickNone{});
    } else if (drag.grip == Grip::new_note && far) {
        page.ask(
            intents::AddNote{span.from, span.to, static_cast<int>(std::lround(drag.value_from))});
    } else if (held != nullptr && (far || steps != 0)) {
        const Shown end = shown(page, *held);
        if (drag.grip == Grip::note && steps != 0) page.ask(intents::StepPitch{steps});
        if (drag.grip == Grip::note && far)
            page.ask(intents::MoveNote{Edge::both, drag.now - drag.from});
        if (drag.grip != Grip::note && far)
            page.ask(intents::PlaceNote{end.span.from, end.span.to});
    }
    drag = Drag{};
}

}  // namespace bentline::window
