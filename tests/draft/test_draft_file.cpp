// draft file: what is saved comes back bit for bit; what is damaged is refused with its place; what
// goes wrong on the way to the disk leaves the old file.
#include <clocale>
#include <cmath>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>
#include <sys/resource.h>
#include <unistd.h>

#include "drafts.h"
#include "engine/draft/draft_file.h"
#include "engine/draft/draft_json.h"
#include "engine/recording/wav_file.h"
#include "tests/support/folder.h"

using namespace bentline;
using bentline::testing::EditMaker;
using bentline::testing::note;
using bentline::testing::steady_line;
namespace fs = std::filesystem;

namespace {

std::string bytes_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return std::move(text).str();
}

void put_bytes(const fs::path& path, const std::string& bytes) {
    std::ofstream(path, std::ios::binary) << bytes;
}

void put_recording(const fs::path& path, float level) {
    Audio audio{SampleRate(8000), Frames(0), {std::vector<float>(4000, level)}};
    REQUIRE(write_wav(path, audio).ok());
}

// A draft in which every field is set to something awkward.
Draft full_draft(unsigned seed) {
    Draft d = steady_line(60);
    EditMaker maker(seed);
    for (int i = 0; i < 200; ++i) {
        if (auto next = apply(d, maker.make(d))) d = std::move(next).value();
    }
    d.title = "Quotes \" and \\ and\nlines, \u266d";
    d.chorus = SecondsRange{Seconds(0.1), Seconds(1.0 / 3.0)};
    d.tuning = Cents(-12.345678901234567);
    d.focus = Focus{Pitch(40.5), Pitch(86.25), -0.1, 0.7};
    d.key = Key{-3, true};
    d.form = parse_keys("C minor, B in Eb minor, 25 in D", parse_form("AABA").value()).value().form;
    d.chords = {"Eb6 C7", "", "F\u00f8 (?)"};
    BarMap::Parts parts;
    parts.anchors = {{-2, Seconds(0.1)}, {0, Seconds(0.7)}, {1, Seconds(1.0 / 0.9)}};
    parts.metres = {{1, Metre{3, 4}}, {9, Metre{12, 8}}};
    parts.pickup = 2;
    parts.free_bars = {{3, 5}};
    d.bars = BarMap::make(parts).value();
    Note all = note(100.0, 101.0 + 1e-9, 64);
    all.cents = Cents(0.1);
    all.level = Decibels(-13.7);
    const SecondsRange span{Seconds(100.1), Seconds(100.2)};
    all.inflections = {
        {SlideIn{MidiKey(62), span}, 0.5, "r"},
        {SlideOut{MidiKey(60), {}}, {}, ""},
        {SlideToNext{span}, {}, ""},
        {Bend{Cents(99.9), Seconds(100.3), Seconds(100.4), true, true, span}, {}, ""},
        {Vibrato{Hertz(5.6), Cents(33.3), span}, 0.25, ""},
        {Trill{-1}, {}, ""},
        {Staccato{}, {}, ""},
        {Accent{}, {}, ""}};
    return apply(d, AddNote{all}).value();
}

}  // namespace

TEST_CASE("draft file: text and back is the same draft, bit for bit") {
    for (unsigned seed = 1; seed <= 10; ++seed) {
        const Draft d = full_draft(seed);
        const auto back = read_draft_text(draft_text(d), "x");
        REQUIRE_MESSAGE(back.ok(), (back.ok() ? "" : back.failure().sentence));
        CHECK(*back == d);
        CHECK(draft_text(*back) == draft_text(d));
    }
    const Draft empty;
    CHECK(read_draft_text(draft_text(empty), "x").value() == empty);
}

TEST_CASE("draft file: the same text under a locale that writes a decimal comma") {
    const Draft d = full_draft(1);
    const std::string text = draft_text(d);
    // A locale of its own, made from the system's sources; the test needs nothing installed for it.
    const bentline::testing::Folder folder("draft");
    const std::string made = (folder / "comma").string();
    const bool there =
        std::system(("localedef -i de_DE -f UTF-8 " + made + " 2>/dev/null").c_str()) == 0;
    ::setenv("LOCPATH", (folder / "").c_str(), 1);
    if (!there || !std::setlocale(LC_ALL, "comma")) {
        MESSAGE("skipped: no locale with a decimal comma can be made here");
        return;
    }
    CHECK(std::string(std::localeconv()->decimal_point) == ",");
    CHECK(draft_text(d) == text);
    CHECK(read_draft_text(text, "x").value() == d);
    std::setlocale(LC_ALL, "C");
}

TEST_CASE("draft file: the recording is named relative to the file and found from anywhere") {
    const bentline::testing::Folder folder("draft");
    fs::create_directories(folder / "takes");
    fs::create_directories(folder / "drafts");
    put_recording(folder / "takes/take.wav", 0.1F);
    Draft d = steady_line(3);
    d.recording = refer_to(folder / "takes/take.wav").value();
    const auto mark = save_draft(d, folder / "drafts/solo.bentline");
    REQUIRE(mark.ok());
    CHECK(bytes_of(folder / "drafts/solo.bentline").find("\"../takes/take.wav\"") !=
          std::string::npos);
    const auto loaded = load_draft(folder / "drafts/solo.bentline");
    REQUIRE(loaded.ok());
    CHECK(loaded->found == RecordingFound::there);
    CHECK(loaded->warning.empty());
    CHECK(loaded->draft == d);
    CHECK(loaded->mark == *mark);

    // The whole folder moves.
    fs::create_directories(folder / "moved");
    fs::rename(folder / "takes", folder / "moved/takes");
    fs::rename(folder / "drafts", folder / "moved/drafts");
    const auto moved = load_draft(folder / "moved/drafts/solo.bentline");
    REQUIRE(moved.ok());
    CHECK(moved->found == RecordingFound::there);
    CHECK(moved->draft.notes == d.notes);

    // The recording lies beside the draft now.
    fs::rename(folder / "moved/takes/take.wav", folder / "moved/drafts/take.wav");
    const auto beside = load_draft(folder / "moved/drafts/solo.bentline");
    REQUIRE(beside.ok());
    CHECK(beside->found == RecordingFound::there);
    CHECK(fs::path(beside->draft.recording.path).filename() == "take.wav");
}

TEST_CASE("draft file: a recording whose name is no UTF-8 is found again; the file is UTF-8") {
    const bentline::testing::Folder folder("draft");
    const std::string name = "caf\xE9 \xFF.wav";  // Latin-1, as old disks have it
    put_recording(folder / name, 0.1F);
    Draft d = steady_line(3);
    d.recording = refer_to(folder / name).value();
    REQUIRE(save_draft(d, folder / "solo.bentline").ok());
    const std::string text = bytes_of(folder / "solo.bentline");
    CHECK(text.find('\xE9') == std::string::npos);
    CHECK(text.find("\"path_hex\":\"636166e920ff2e776176\"") != std::string::npos);  // by ASCII
    const auto loaded = load_draft(folder / "solo.bentline");
    REQUIRE(loaded.ok());
    CHECK(loaded->found == RecordingFound::there);
    CHECK(loaded->draft == d);
    const std::string wrong =
        text.substr(0, text.find("636166")) + "63616" + text.substr(text.find("636166") + 6);
    const auto refused = read_draft_text(wrong, "x");
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.failure().sentence.find("path_hex") != std::string::npos);
    // Names of UTF-8 need none.
    put_recording(folder / "\u266d.wav", 0.1F);
    d.recording = refer_to(folder / "\u266d.wav").value();
    REQUIRE(save_draft(d, folder / "solo.bentline").ok());
    CHECK(bytes_of(folder / "solo.bentline").find("path_hex") == std::string::npos);
    // And no draft is saved over its recording.
    const auto over = save_draft(d, folder / "\u266d.wav");
    REQUIRE_FALSE(over.ok());
    CHECK(over.failure().kind == FailureKind::cannot_write);
    CHECK(load_draft(folder / "solo.bentline")->found == RecordingFound::there);
}

TEST_CASE("draft file: a missing or changed recording is reported, and the draft opens") {
    const bentline::testing::Folder folder("draft");
    put_recording(folder / "take.wav", 0.1F);
    Draft d = steady_line(3);
    d.recording = refer_to(folder / "take.wav").value();
    REQUIRE(save_draft(d, folder / "solo.bentline").ok());
    put_recording(folder / "take.wav", 0.2F);
    const auto changed = load_draft(folder / "solo.bentline");
    REQUIRE(changed.ok());
    CHECK(changed->found == RecordingFound::changed);
    CHECK(changed->warning.find("take.wav") != std::string::npos);
    CHECK(changed->draft.notes == d.notes);
    fs::remove(folder / "take.wav");
    const auto missing = load_draft(folder / "solo.bentline");
    REQUIRE(missing.ok());
    CHECK(missing->found == RecordingFound::missing);
    CHECK(missing->warning.find("missing") != std::string::npos);
    CHECK(missing->draft == d);
}

TEST_CASE("draft file: what is no draft is refused, and the sentence says where") {
    const std::string good = draft_text(steady_line(5));
    const auto sentence = [](const std::string& text) {
        const auto read = read_draft_text(text, "solo.bentline");
        REQUIRE_FALSE(read.ok());
        CHECK(read.failure().kind == FailureKind::bad_draft);
        CHECK(read.failure().place.path == "solo.bentline");
        return read.failure().sentence;
    };
    const auto with = [&](const std::string& from, const std::string& to) {
        std::string text = good;
        const auto at = text.find(from);
        REQUIRE(at != std::string::npos);
        return text.replace(at, from.size(), to);
    };
    const auto says = [](const std::string& text, const std::string& part) {
        CHECK_MESSAGE(text.find(part) != std::string::npos, text);
    };
    says(sentence(""), "ends too early");
    says(sentence(good.substr(0, good.size() / 2)), "ends too early");
    says(sentence(with("\"onset_s\":0.25", "\"onset_s\":oops")), "line 17, column");
    says(sentence(with("\"onset_s\":0.25", "\"onset_s\":\"soon\"")),
         "notes[1].onset_s should be a number");
    says(sentence(with("\"onset_s\":0.25,", "")), "notes[1].onset_s is missing");
    says(sentence(with("\"onset_s\":0.25", "\"onset_s\":0.1")),
         "Two notes would sound at once at 0.100 s");
    says(sentence(with("\"midi\":61", "\"midi\":161")),
         "notes[1].midi should be a whole number from 0 to 127");
    says(sentence(with("\"id\":2", "\"id\":1")), "Two notes carry the id 1");
    says(sentence(with("\"id\":2", "\"id\":2000")), "notes[1].id is above next_id");
    says(sentence(with("\"pencilled\"", "\"smudged\"")),
         "notes[0].state should be inked or pencilled");
    says(sentence(with("\"version\": 1", "\"version\": 2")), "made by a newer program");
    says(sentence(with("bentline draft", "shopping list")), "does not say that this is a draft");
    says(sentence(with("\"4/4\"", "\"4/5\"")), "bars.metres[0].metre should be a metre");
    says(sentence(with("\"tuning_cents\": 0.0", "\"tuning_cents\": 1e999")),
         "cannot be read as a draft");
    says(sentence(with("\"highest\":88.0", "\"highest\":20.0")), "focus does not fit");
    says(sentence(with("\"anchors\":[[0,0.0]]", "\"anchors\":[[0,3603.0]]")),
         "bars does not fit: Bar 1 would be at 3603.000 s, more than an hour away from the music");
    says(sentence(with("\"anchors\":[[0,0.0]]", "\"anchors\":[[0,-3601.0]]")), "put it near");
    says(sentence(std::string(100000, '[')), "too deep");
    says(sentence("[]"), "should be an object");
    says(sentence("{}"), "does not say that this is a draft");
}

TEST_CASE("draft file: fields of a newer revision are kept through edits and a save") {
    Draft d = steady_line(3);
    std::string text = draft_text(d);
    const auto insert = [&](const std::string& after, const std::string& what) {
        const auto at = text.find(after);
        REQUIRE(at != std::string::npos);
        text.insert(at + after.size(), what);
    };
    insert("\"revision\": ", "9");  // 90
    insert("\"title\": \"\"", ",\n\"capo\": {\"fret\": 3}");
    insert("\"id\":1,", "\"colour\":\"warm\",");
    insert("\"inflections\":[", "{\"kind\":\"rake\",\"strings\":3},");
    const auto read = read_draft_text(text, "x");
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.failure().sentence));
    CHECK(read->notes[0].note.inflections == d.notes[0].note.inflections);
    const Draft edited = apply(*read, Retune{{NoteId{1}}, 2}).value();
    const std::string again = draft_text(edited);
    CHECK(again.find("\"capo\": {\"fret\":3}") != std::string::npos);
    CHECK(again.find("\"colour\":\"warm\"") != std::string::npos);
    CHECK(again.find("{\"kind\":\"rake\",\"strings\":3}") != std::string::npos);
}

TEST_CASE("draft file: a file that cannot be opened says so") {
    const bentline::testing::Folder folder("draft");
    CHECK(load_draft(folder / "none.bentline").failure().kind == FailureKind::not_found);
    fs::create_directories(folder / "folder.bentline");
    CHECK(load_draft(folder / "folder.bentline").failure().kind == FailureKind::unreadable);
    put_bytes(folder / "empty.bentline", "");
    CHECK(load_draft(folder / "empty.bentline").failure().kind == FailureKind::bad_draft);
}

TEST_CASE("draft file: a folder that is gone or a full disk leaves the old file and the draft") {
    const bentline::testing::Folder folder("draft");
    fs::create_directories(folder / "gone");
    Draft d = steady_line(3);
    REQUIRE(save_draft(d, folder / "solo.bentline").ok());
    const std::string old = bytes_of(folder / "solo.bentline");
    const Draft later = apply(d, Ink{{NoteId{1}}}).value();

    fs::remove(folder / "gone");
    const auto gone = save_draft(later, folder / "gone/solo.bentline");
    REQUIRE_FALSE(gone.ok());
    CHECK(gone.failure().kind == FailureKind::cannot_write);

    // No room: the process may write 100 bytes a file. (A limit of the system stands in for the
    // disk.)
    struct rlimit before {};
    REQUIRE(getrlimit(RLIMIT_FSIZE, &before) == 0);
    const struct rlimit tight { 100, before.rlim_max };
    const auto old_action = std::signal(SIGXFSZ, SIG_IGN);
    REQUIRE(setrlimit(RLIMIT_FSIZE, &tight) == 0);
    const auto full = save_draft(later, folder / "solo.bentline");
    REQUIRE(setrlimit(RLIMIT_FSIZE, &before) == 0);
    std::signal(SIGXFSZ, old_action);
    REQUIRE_FALSE(full.ok());
    CHECK(full.failure().kind == FailureKind::cannot_write);
    CHECK(bytes_of(folder / "solo.bentline") == old);
    std::size_t files = 0;
    for (const auto& entry : fs::directory_iterator(folder / ""))
        files += entry.is_regular_file() ? 1 : 0;
    CHECK(files == 1);  // nothing half-written lies about
    REQUIRE(save_draft(later, folder / "solo.bentline").ok());
    CHECK(load_draft(folder / "solo.bentline")->draft.notes[0].inked());
}
