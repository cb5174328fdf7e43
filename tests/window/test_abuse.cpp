// abuse: random intents, keys and presses on a desk and its view, from a seed. Nothing asserts,
// crashes or hangs; the notes stay a single line; every edit can be undone down to the first draft
// and done again up to the last.
//   BENTLINE_ABUSE_STEPS: how many (2000); BENTLINE_ABUSE_SEED: where they begin (1)
#include <algorithm>
#include <cstdlib>

#include <doctest/doctest.h>

#include "engine/recording/fingerprint.h"
#include "evening.h"
#include "headless.h"
#include "tests/support/dice.h"
#include "tones.h"
#include "ui/window/keymap.h"

using namespace bentline;
using namespace bentline::window;

namespace {

class Abuser {
  public:
    // Seeds beside each other would draw the same numbers one later: a branch is far away.
    Abuser(std::uint64_t seed, fs::path folder)
        : dice_(testing::Dice(seed).branch(1)), folder_(std::move(folder)) {}

    int whole(int low, int high) { return dice_.whole(low, high); }
    double real(double low, double high) { return dice_.between(low, high); }
    // Any intent but those that put another document on the desk or close it.
    Intent intent() {
        while (true) {
            Intent made = any(std::make_index_sequence<std::variant_size_v<AnyIntent>>());
            if (!leaves(made)) return made;
        }
    }
    std::string stroke() {
        static constexpr const char* more[] = {"escape", "enter", "c",   "shift+c", "left", "down",
                                               "m",      "n",     "tab", "x",       "l",    "s"};
        const auto all = commands();
        if (whole(0, 2) == 0) return more[whole(0, 11)];
        return std::string(
            all[static_cast<std::size_t>(whole(0, static_cast<int>(all.size()) - 1))].stroke);
    }
    static bool leaves(const Intent& i) {
        return std::holds_alternative<intents::Open>(i) ||
               std::holds_alternative<intents::OpenDemo>(i) ||
               std::holds_alternative<intents::Leave>(i) ||
               std::holds_alternative<intents::Unsaved>(i) ||
               std::holds_alternative<intents::Recover>(i) ||
               std::holds_alternative<intents::BindKey>(i) ||
               std::holds_alternative<intents::Wait>(i);
    }

  private:
    template <std::size_t... N>
    Intent any(std::index_sequence<N...>) {
        const auto chosen = static_cast<std::size_t>(whole(0, static_cast<int>(sizeof...(N)) - 1));
        std::optional<Intent> made;
        ((N == chosen ? void(made = filled<std::variant_alternative_t<N, AnyIntent>>()) : void()),
         ...);
        return *made;
    }
    template <class I>
    Intent filled() {
        I intent;
        std::apply([&](auto&... each) { (fill(each), ...); }, intent.fields());
        return intent;
    }
    void fill(double& v) { v = whole(0, 3) == 0 ? real(-1e6, 1e6) : real(-2, 3); }
    void fill(int& v) { v = whole(0, 5) == 0 ? whole(-1000000, 1000000) : whole(-3, 40); }
    void fill(std::int64_t& v) { v = whole(-1, 200); }
    void fill(bool& v) { v = whole(0, 1) == 1; }
    void fill(Hertz& v) { v = Hertz(real(-1, 12)); }
    template <class Tag>
    void fill(Quantity<Tag, double>& v) {
        v = Quantity<Tag, double>(whole(0, 7) == 0 ? real(-1e5, 1e5) : real(-1, 66));
    }
    void fill(std::string& v) {
        const std::string words[] = {"",
                                     "Eb",
                                     "AABA",
                                     "A12 B5",
                                     "Bb7 x",
                                     "7/8",
                                     "vibrato",
                                     "slide_in",
                                     "trill",
                                     "\xff\xfe",
                                     "A x4",
                                     "4/4",
                                     (folder_ / "out.mid").string(),
                                     (folder_ / "no/out.pdf").string(),
                                     (folder_ / "out.csv").string(),
                                     (folder_ / "out.html").string(),
                                     "/no/such/place"};
        v = words[whole(0, 16)];
    }
    template <class E>
    requires std::is_enum_v<E>
    void fill(E& v) {
        constexpr int last = std::is_same_v<E, Overlay>   ? static_cast<int>(Overlay::focus)
                             : std::is_same_v<E, Purpose> ? static_cast<int>(Purpose::lesson)
                                                          : 2;
        v = static_cast<E>(whole(0, last));
    }

    testing::Dice dice_;
    fs::path folder_;
};

int from_environment(const char* name, int otherwise) {
    const char* text = std::getenv(name);
    return text == nullptr ? otherwise : std::atoi(text);
}

}  // namespace

TEST_CASE("abuse: thousands of random intents, keys and presses; undone to the first, redone") {
    Folder folder("abuse");
    // Names without a folder are written there, too.
    struct Inside {
        fs::path before = fs::current_path();
        ~Inside() { fs::current_path(before); }
    } inside;
    fs::current_path(folder.path());
    REQUIRE(write_tones(folder / "tones.wav"));
    Draft draft = made_draft();
    draft.recording = refer_to(folder / "tones.wav").value();
    std::vector<Note> notes = made_notes();
    for (std::size_t i = 0; i < notes.size(); i += 3) {
        notes[i].alternatives = {{MidiKey(notes[i].key.value() + 12), {}, 0.2, "an octave higher"},
                                 {std::nullopt, {}, 0.1, "not a note of the soloist"}};
    }
    draft.notes = NoteList();
    draft.next_id = NoteId{1};
    REQUIRE(save_draft(pencil(draft, notes).value(), folder / "made.bentline").ok());
    Desk desk({.sound = Sound::off, .remember = {}, .journal = true});
    desk.set_bench_width(bench_width(1280, 720, 1));
    desk.apply(intents::Open{(folder / "made.bentline").string()});
    desk.wait_for_work();
    REQUIRE(desk.state().open);
    REQUIRE(desk.state().heard.line);
    const Draft first = desk.state().draft;
    Headless screen;
    Abuser abuser(static_cast<std::uint64_t>(from_environment("BENTLINE_ABUSE_SEED", 1)),
                  folder.path());
    const int steps = from_environment("BENTLINE_ABUSE_STEPS", 2000);
    std::size_t edits = 0;
    for (int step = 0; step < steps; ++step) {
        std::vector<Intent> asked;
        const int way = abuser.whole(0, 9);
        if (way < 4) {
            asked = {abuser.intent()};
        } else if (way < 8) {
            asked = screen.stroke(desk.state(), abuser.stroke());
        } else if (way == 8) {
            const auto x = static_cast<float>(abuser.real(0, 1280)),
                       y = static_cast<float>(abuser.real(0, 720));
            screen.mouse(x, y, abuser.whole(0, 1) == 1);
            asked = screen.frame(desk.state());
        } else {
            ImGui::GetIO().MouseWheel = static_cast<float>(abuser.whole(-2, 2));
            ImGui::GetIO().AddInputCharacter(static_cast<unsigned>(abuser.whole('A', 'z')));
            asked = screen.frame(desk.state());
        }
        for (const Intent& intent : asked) {
            if (Abuser::leaves(intent)) continue;
            CAPTURE(to_line(intent));
            desk.apply(intent);
        }
        desk.tick();
        if (step % 40 == 39) desk.wait_for_work();
        edits = std::max(edits, desk.state().done.size());
        const State& s = desk.state();
        REQUIRE(s.open);
        REQUIRE(s.look.from < s.look.to);
        REQUIRE(s.rows.from < s.rows.to);
        if (s.pick) REQUIRE(s.picked() != nullptr);
        for (std::size_t i = 1; i < s.draft.notes.size(); ++i)
            REQUIRE(s.draft.notes[i - 1].note.offset <= s.draft.notes[i].note.onset);
    }
    desk.wait_for_work();
    CHECK(edits > std::min<std::size_t>(static_cast<std::size_t>(steps) / 50, 40));
    const Draft last = desk.state().draft;
    const auto done = static_cast<int>(desk.state().done.size());
    desk.apply(intents::GoBackTo{0});
    CHECK(desk.state().draft == first);
    desk.apply(intents::GoBackTo{done});
    CHECK(desk.state().draft == last);
    desk.wait_for_work();
}
