// window: the crash journal. A desk that is torn down without leaving is an evening that ended
// badly.
#include <filesystem>
#include <fstream>
#include <memory>
#include <sstream>

#include <doctest/doctest.h>

#include "engine/draft/journal.h"
#include "evening.h"
#include "tones.h"

using namespace bentline;
using namespace bentline::window;

namespace {

// Desks on one draft file, one after the other.
struct Evenings {
    Folder folder;
    fs::path file;
    std::unique_ptr<Desk> desk;
    explicit Evenings(const char* name) : folder(name), file(folder / "made.bentline") {
        REQUIRE(save_draft(made_draft(), file).ok());
    }
    void begin(const fs::path& what) {
        desk = std::make_unique<Desk>(
            DeskSettings{.sound = Sound::off, .remember = folder / "window.json", .journal = true});
        desk->apply(intents::Open{what.string()});
        desk->wait_for_work();
        REQUIRE(desk->state().open);
    }
    void begin() { begin(file); }
    // Torn down without leaving; what the journal was told is on the disk.
    void crash() { desk.reset(); }
    const State& s() const { return desk->state(); }
    void play(const std::string& script) {
        std::istringstream in(script);
        const Result<Done> played = play_session(*desk, in);
        REQUIRE_MESSAGE(played.ok(), (played ? "" : played.failure().sentence));
    }
    bool journal_there() const { return fs::exists(journal_path(file)); }
};

}  // namespace

TEST_CASE("kept: what grew into one step is kept at each press") {
    Evenings e("kept_grown");
    e.begin();
    e.play("show focus\nregister 41 80\nregister 42 80\nstage 0.1 2\nstage 0 2");
    // Two on the register are one step; the two on the stage took each other back.
    CHECK(e.s().done.size() == 1);
    const Draft at_the_end = e.s().draft;
    e.crash();
    e.begin();
    REQUIRE(e.s().kept);
    CHECK(e.s().kept->edits == 4);
    e.play("recover yes");
    CHECK(e.s().draft == at_the_end);
    // Back to a step that was kept, and on from there: nothing runs together with it.
    e.play("show focus\nundo\nregister 44 80");
    CHECK(e.s().done.size() == 4);
    const Draft later = e.s().draft;
    e.crash();
    e.begin();
    e.play("recover yes");
    CHECK(e.s().draft == later);
}

TEST_CASE("kept: after a crash every edit is offered again, with undo and redo among them") {
    Evenings e("kept_crash");
    e.begin();
    CHECK_FALSE(e.s().kept);
    e.play(
        "ink-bars 1 2\npick 11\nstep-pitch 1\nstep-bend 2\nundo\nredo\nundo\nchord 3 1 \"G7\"\n"
        "key \"F\"\nregister 45 80\nadd 0.2 0.5 66\nback-to 3\nback-to 4");
    const Draft at_the_end = e.s().draft;
    REQUIRE(e.s().unsaved);
    e.crash();
    REQUIRE(e.journal_there());

    e.begin();
    REQUIRE(e.s().kept);
    CHECK(e.s().overlay == Overlay::recovery);
    CHECK_FALSE(e.s().kept->cut_off);
    CHECK_FALSE(e.s().kept->last_words.empty());
    CHECK(e.s().draft == made_draft());  // only offered so far
    e.play("recover yes");
    CHECK(e.s().draft == at_the_end);
    CHECK(e.s().unsaved);
    CHECK(e.s().overlay == Overlay::none);
    // A second crash before any further edit, and one after it, lose nothing either.
    e.crash();
    e.begin();
    e.play("recover yes\npick 40\nink");
    const Draft later = e.s().draft;
    CHECK_FALSE(later == at_the_end);
    e.crash();
    e.begin();
    e.play("recover yes");
    CHECK(e.s().draft == later);
    while (!e.s().done.empty())
        e.play("undo");
    CHECK(e.s().draft == made_draft());
}

TEST_CASE("kept: put away without an answer it is taken up; thrown away it is gone for good") {
    Evenings e("kept_answers");
    e.begin();
    e.play("pick 5\nink");
    e.crash();
    e.begin();
    e.play("show none");
    CHECK(e.s().draft.notes[4].inked());
    e.crash();
    e.begin();
    e.play("recover no");
    CHECK(e.s().draft == made_draft());
    CHECK_FALSE(e.s().unsaved);
    e.crash();
    CHECK_FALSE(e.journal_there());
    e.begin();
    CHECK_FALSE(e.s().kept);
}

TEST_CASE("kept: what is saved, or closed in good order, is not offered again") {
    Evenings e("kept_order");
    e.begin();
    e.play("pick 5\nink\nsave\nwait");
    e.crash();
    CHECK_FALSE(e.journal_there());
    e.begin();
    CHECK_FALSE(e.s().kept);
    CHECK(e.s().draft.notes[4].inked());
    e.play("pick 6\nink\nleave\nunsaved drop");
    CHECK(e.s().leaving);
    e.crash();
    CHECK_FALSE(e.journal_there());
    e.begin();
    CHECK_FALSE(e.s().kept);
    CHECK_FALSE(e.s().draft.notes[5].inked());
}

TEST_CASE("kept: edits after a save are kept against the saved file; a broken line is left out") {
    Evenings e("kept_after");
    e.begin();
    e.play("pick 5\nink\nsave\nwait\npick 6\nink\npick 7\nink");
    e.crash();
    // The last line is cut in half, as when the disk was full.
    std::ifstream in(journal_path(e.file), std::ios::binary);
    std::stringstream bytes;
    bytes << in.rdbuf();
    in.close();
    std::string text = bytes.str();
    text.resize(text.size() - 20);
    std::ofstream(journal_path(e.file), std::ios::binary) << text;
    e.begin();
    REQUIRE(e.s().kept);
    CHECK(e.s().kept->edits == 1);
    CHECK(e.s().kept->cut_off);
    e.play("recover yes");
    CHECK(e.s().draft.notes[4].inked());
    CHECK(e.s().draft.notes[5].inked());
    CHECK_FALSE(e.s().draft.notes[6].inked());
}

TEST_CASE("kept: a draft that was never saved is found again when its recording is opened") {
    Evenings e("kept_new");
    const fs::path tones = e.folder / "tones.wav";
    REQUIRE(write_tones(tones));
    e.begin(tones);
    REQUIRE_FALSE(e.s().draft.notes.empty());
    const Draft pencilled = e.s().draft;
    e.play("pick-step 1\nink-on\nbar-one 0.5");
    const Draft at_the_end = e.s().draft;
    REQUIRE_FALSE(at_the_end == pencilled);
    e.crash();
    e.begin(tones);
    REQUIRE(e.s().kept);
    CHECK(e.s().kept->edits == 2);
    e.play("recover yes");
    CHECK(e.s().draft == at_the_end);
    e.play("save\nwait");
    e.crash();
    CHECK(fs::exists(e.folder / "tones.bentline"));
    // Its first state and its journal went with the save.
    CHECK(fs::is_empty(e.folder / "unsaved"));
    e.begin(tones);
    CHECK_FALSE(e.s().kept);
}
