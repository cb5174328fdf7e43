// draft journal: unsaved edits survive a crash; a journal of another state is left alone.
#include <filesystem>
#include <fstream>

#include <doctest/doctest.h>
#include <unistd.h>

#include "drafts.h"
#include "engine/draft/journal.h"

using namespace bentline;
using bentline::testing::EditMaker;
using bentline::testing::steady_line;
namespace fs = std::filesystem;

namespace {

constexpr std::uint64_t mark = 0xfeedULL;

struct DraftPath {
    DraftPath()
        : folder(fs::temp_directory_path() / ("bentline_journal_" + std::to_string(::getpid()))),
          file(folder / "solo.bentline") {
        fs::remove_all(folder);
        fs::create_directories(folder);
    }
    ~DraftPath() { fs::remove_all(folder); }
    DraftPath(const DraftPath&) = delete;
    DraftPath& operator=(const DraftPath&) = delete;
    fs::path folder;
    fs::path file;
};

// Edits, undoes and redoes at random, writing it all to the journal as a front end does.
void play(History& history, Journal& journal, unsigned seed, int steps) {
    EditMaker maker(seed);
    for (int i = 0; i < steps; ++i) {
        if (i % 7 == 5 && history.can_undo()) {
            history.undo();
            REQUIRE(journal.append(reversed(history.step(history.done()))).ok());
        } else if (i % 7 == 6 && history.can_redo()) {
            history.redo();
            REQUIRE(journal.append(history.step(history.done() - 1)).ok());
        } else {
            const std::size_t before = history.done();
            if (history.edit(maker.make(history.now())).ok() && history.done() > before) {
                REQUIRE(journal.append(history.step(before)).ok());
            }
        }
    }
}

}  // namespace

TEST_CASE("journal: edits, undos and redos come back after a crash, exactly") {
    for (unsigned seed = 1; seed <= 5; ++seed) {
        const DraftPath path;
        const Draft saved = steady_line(40);
        History history(saved);
        {
            Journal journal(path.file, mark);
            play(history, journal, seed, 120);
        }  // the program is gone; nothing was saved
        const Recovered r = recover(path.file, saved, mark);
        CHECK_FALSE(r.cut_off);
        REQUIRE(r.draft == history.now());

        History again(saved);
        for (const Change& c : r.changes)
            REQUIRE(again.replay(c).ok());
        CHECK(again.now() == history.now());
        CHECK(again.unsaved());

        // It goes on, crashes again, and nothing of before is lost.
        Journal journal(path.file, mark, r.changes);
        play(again, journal, seed + 100, 30);
        CHECK(recover(path.file, saved, mark).draft == again.now());
        while (again.can_undo())
            again.undo();
        CHECK(again.now() == saved);
    }
}

TEST_CASE("journal: a line cut off in the writing is left out, the ones before it are kept") {
    const DraftPath path;
    const Draft saved = steady_line(10);
    History history(saved);
    Journal journal(path.file, mark);
    REQUIRE(history.edit(Ink{{NoteId{1}}}).ok());
    REQUIRE(journal.append(history.step(0)).ok());
    const Draft after_first = history.now();
    REQUIRE(history.edit(Ink{{NoteId{2}}}).ok());
    REQUIRE(journal.append(history.step(1)).ok());
    const fs::path file = journal_path(path.file);
    fs::resize_file(file, fs::file_size(file) - 3);
    const Recovered r = recover(path.file, saved, mark);
    CHECK(r.cut_off);
    CHECK(r.changes.size() == 1);
    CHECK(r.changes[0].words == "bar 1: C4 inked");
    CHECK(r.draft == after_first);
}

TEST_CASE("journal: none, one of another saved state, or nonsense replays nothing") {
    const DraftPath path;
    const Draft saved = steady_line(10);
    CHECK(recover(path.file, saved, mark).changes.empty());
    History history(saved);
    Journal journal(path.file, mark);
    REQUIRE(history.edit(Discard{{NoteId{1}}}).ok());
    REQUIRE(journal.append(history.step(0)).ok());
    CHECK(recover(path.file, saved, mark + 1).changes.empty());
    CHECK(recover(path.file, saved, mark).changes.size() == 1);
    // The right head, but lines that do not fit the draft.
    const Recovered other = recover(path.file, history.now(), mark);
    CHECK(other.changes.empty());
    CHECK(other.cut_off);
    CHECK(other.draft == history.now());
    journal.saved(mark + 1);
    CHECK_FALSE(fs::exists(journal_path(path.file)));
    std::ofstream(journal_path(path.file)) << "\0\n{{{\n";
    CHECK(recover(path.file, saved, mark).changes.empty());
}

TEST_CASE("journal: what a vanished folder refused is written once it is back") {
    const DraftPath path;
    const Draft saved = steady_line(10);
    History history(saved);
    Journal journal(path.file, mark);
    fs::remove_all(path.folder);
    REQUIRE(history.edit(Ink{{NoteId{1}}}).ok());
    const auto refused = journal.append(history.step(0));
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.failure().kind == FailureKind::cannot_write);
    fs::create_directories(path.folder);
    REQUIRE(history.edit(Ink{{NoteId{2}}}).ok());
    REQUIRE(journal.append(history.step(1)).ok());
    CHECK(recover(path.file, saved, mark).draft == history.now());
}
