// window: every text that is really written can be read on what really lies under it, and what is
// pencilled differs from what is inked without any colour.
#include <algorithm>
#include <map>
#include <string>

#include <doctest/doctest.h>

#include "engine/draft/edit.h"
#include "headless.h"
#include "made_draft.h"
#include "ui/window/layout.h"

using namespace bentline;
using namespace bentline::window;

namespace {

Colour colour_at(const Image& image, int x, int y) {
    const std::uint8_t* p = image.pixel(x, y);
    return static_cast<Colour>(p[0]) | static_cast<Colour>(p[1]) << 8 |
           static_cast<Colour>(p[2]) << 16 | 0xFF000000U;
}

// The commonest colour under a text: its ground. Lines that cross it are not.
Colour ground_under(const Image& image, const Box& box) {
    std::map<Colour, int> count;
    const auto from_x = std::max(0, static_cast<int>(box.x0));
    const auto from_y = std::max(0, static_cast<int>(box.y0));
    for (int y = from_y; y < std::min(image.height, static_cast<int>(box.y1)); ++y)
        for (int x = from_x; x < std::min(image.width, static_cast<int>(box.x1)); x += 2)
            ++count[colour_at(image, x, y)];
    Colour most = 0;
    int seen = 0;
    for (const auto& [colour, times] : count)
        if (times > seen) most = colour, seen = times;
    return most;
}

// Ink of less than full strength lets the ground through.
Colour laid_on(Colour ink, Colour ground) {
    const double share = ((ink >> 24) & 0xFFU) / 255.0;
    Colour mixed = 0xFF000000U;
    for (unsigned shift = 0; shift < 24; shift += 8) {
        const double over = (ink >> shift) & 0xFFU, under = (ground >> shift) & 0xFFU;
        mixed |= static_cast<Colour>(share * over + (1 - share) * under + 0.5) << shift;
    }
    return mixed;
}

// What cannot be read well enough: "text 3.9".
std::string hard_to_read(Headless& h, const State& s) {
    h.scratch.texts = Scratch::Texts{};
    h.frame(s);
    h.frame(s);
    const Image without_text = h.image(s);
    std::string found;
    std::size_t checked = 0;
    const Scratch::Texts& texts = *h.scratch.texts;
    for (std::size_t i = texts.over; i < texts.all.size(); ++i) {
        const Scratch::Written& one = texts.all[i];
        const bool outside = one.box.x1 < 1 || one.box.y1 < 1 || one.box.x0 > 1279 ||
                             one.box.y0 > 719 || one.text.empty();
        if (outside) continue;
        const Colour ground = ground_under(without_text, one.box);
        const double ratio = contrast(laid_on(one.colour, ground), ground);
        if (ratio < 4.5) found += "[" + one.text + " " + std::to_string(ratio) + "] ";
        ++checked;
    }
    CHECK(checked > 2);
    h.scratch.texts.reset();
    return found;
}

double grey_at(const Image& image, float x, float y) {
    const std::uint8_t* p = image.pixel(static_cast<int>(x), static_cast<int>(y));
    return 0.2126 * p[0] + 0.7152 * p[1] + 0.0722 * p[2];
}

}  // namespace

TEST_CASE("view: every text has contrast 4.5 on what lies under it [WCAG 2.1, 1.4.3]") {
    Headless h;
    for (const bool dark : {false, true}) {
        State s = made_state();
        s.remembered.dark = dark;
        const auto check = [&](const char* what) {
            const std::string found = hard_to_read(h, s);
            CHECK_MESSAGE(found.empty(), (dark ? "dark, " : "light, "), what, ": ", found);
        };
        check("at rest");
        s.draft.form[2].key = Key{-4, false};
        s.play.loop = SecondsRange{Seconds(3), Seconds(7)};
        s.play.at = Seconds(4);
        check("a loop, another key");
        for (std::uint32_t id = 1; id <= 16; id += 10) {
            s.pick = NoteId{id};
            s.look = {Seconds(0.5), Seconds(0.5 + 0.5 * static_cast<double>(id) + 3)};
            check("a note picked");
        }
        s.pick.reset();
        s.measured = made_measure();
        check("a measure");
        s.measured.reset();
        s.look = {Seconds(0), s.duration()};
        check("everything in view");
        s.notice = Notice{true, "could not read the file"};
        check("a failure");
        s.notice.reset();
        s.done = {"bar 1: bend 100 c -> 50 c"};
        s.undone = {"bar 2: discarded"};
        s.play.devices = {"Hall", "Desk"};
        s.kept = Kept{3, {"bar 1: inked"}, false};
        show_made_folder(s.chooser);
        for (const Overlay o : {Overlay::keys, Overlay::history, Overlay::confident, Overlay::bars,
                                Overlay::hand_out, Overlay::guard, Overlay::chooser,
                                Overlay::practice, Overlay::recovery, Overlay::focus}) {
            s.overlay = o;
            check("an overlay");
        }
        s = State{};
        s.remembered.dark = dark;
        s.remembered.recent = {"/music/live/lantern_street.flac"};
        check("nothing open");
        s = made_state();
        s.remembered.dark = dark;
        s.draft.bars.reset();
        check("no bars");
    }
}

TEST_CASE("view: text on a ground too near to it is found") {
    Headless h;
    State s = made_state();
    h.scratch.texts = Scratch::Texts{};
    h.frame(s);
    const Image without_text = h.image(s);
    const Palette& p = palette(Paper::light);
    const Layout l = lay_out(1280, 720, 1, true);
    const Colour ground = ground_under(without_text, l.transport.inset(4, 30));
    CHECK(ground == p.paper);
    CHECK(contrast(laid_on(with_alpha(p.ink, 60), ground), ground) < 4.5);
    CHECK(contrast(laid_on(p.ink, ground), ground) > 12.0);
}

TEST_CASE("view: pencilled and inked differ in grey alone: dashes, and a solid edge at the pluck") {
    for (const bool dark : {false, true}) {
        Headless h;
        State s = made_state();
        s.remembered.dark = dark;
        s.heard.line.reset();  // the notes alone
        s.look = {Seconds(0.8), Seconds(3.0)};
        const DraftNote first = s.draft.notes[0];
        const Axes a{lay_out(1280, 720, 1, true).grid, s.look, s.rows};
        const auto look = [&] {
            h.frame(s);
            h.frame(s);
            return h.image(s);
        };
        // Along the upper edge of the note: how often paper and line take turns.
        const auto turns = [&](const Image& image) {
            const float top = a.y(Pitch(first.note.key)) - 0.46F * a.row_height();
            int best = 0;
            for (float y = top - 2; y <= top + 2; y += 1) {
                int count = 0;
                bool before = false;
                const double paper = grey_at(image, a.x(first.note.offset) + 6, y);
                for (float x = a.x(first.note.onset) + 6; x < a.x(first.note.offset) - 6; x += 1) {
                    const bool line = std::abs(grey_at(image, x, y) - paper) > 60;
                    count += line != before ? 1 : 0;
                    before = line;
                }
                best = std::max(best, count);
            }
            return best;
        };
        const Image pencilled = look();
        s.draft = apply(s.draft, Ink{{first.id}}).value();
        const Image inked = look();
        CHECK(turns(pencilled) >= 8);
        CHECK(turns(inked) <= 2);
        const float mid = a.y(Pitch(first.note.key));
        const float edge = a.x(first.note.onset) + 1;
        CHECK(std::abs(grey_at(inked, edge, mid + 3) - grey_at(inked, edge - 8, mid + 3)) > 100);
    }
}
