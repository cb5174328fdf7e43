// MIDI export: read back by midicsv (Debian), an independent reader, to the same notes, bends,
// tempo and metre.
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>

#include <doctest/doctest.h>
#include <unistd.h>

#include "engine/draft/edit.h"
#include "engine/export/midi.h"
#include "engine/export/wheel.h"
#include "tests/support/dice.h"

using namespace bentline;
using doctest::Approx;
namespace fs = std::filesystem;

namespace {

// One line of midicsv: "track, tick, type, fields…".
struct Row {
    int track = 0;
    std::int64_t tick = 0;
    std::string type;
    std::vector<std::string> fields;
    int number(std::size_t i) const { return std::stoi(fields.at(i)); }
};

struct Sounded {
    double on;
    double off;
    int key;
    int velocity;
};

std::string trimmed(const std::string& text) {
    const auto from = text.find_first_not_of(" \r\n");
    if (from == std::string::npos) return "";
    return text.substr(from, text.find_last_not_of(" \r\n") - from + 1);
}

// What midicsv sees in a file.
class ReadBack {
  public:
    explicit ReadBack(const Bytes& bytes) {
        const fs::path path =
            fs::temp_directory_path() / ("bentline_" + std::to_string(::getpid()) + ".mid");
        std::ofstream(path, std::ios::binary)
            .write(reinterpret_cast<const char*>(bytes.data()),
                   static_cast<std::streamsize>(bytes.size()));
        std::FILE* pipe = ::popen(("midicsv " + path.string() + " 2>&1").c_str(), "r");
        REQUIRE(pipe != nullptr);
        std::string all;
        char buffer[4096];
        while (const std::size_t n = std::fread(buffer, 1, sizeof buffer, pipe))
            all.append(buffer, n);
        REQUIRE_MESSAGE(::pclose(pipe) == 0,
                        "midicsv must be installed and accept the file: ", all);
        fs::remove(path);
        std::istringstream lines(all);
        for (std::string line; std::getline(lines, line);)
            add(line);
        tempos_ = of("Tempo");
        division_ = of("Header").at(0).number(2);
    }

    std::vector<Row> of(const std::string& type) const {
        std::vector<Row> found;
        for (const Row& r : rows_) {
            if (r.type == type) found.push_back(r);
        }
        return found;
    }

    // By the file's own tempo events.
    double seconds(std::int64_t tick) const {
        double t = 0.0;
        std::int64_t from = 0;
        double per_quarter = 0.5;
        for (const Row& r : tempos_) {
            if (r.tick >= tick) break;
            t += static_cast<double>(r.tick - from) / division_ * per_quarter;
            from = r.tick;
            per_quarter = r.number(0) * 1e-6;
        }
        return t + static_cast<double>(tick - from) / division_ * per_quarter;
    }

    std::vector<Sounded> notes() const {
        std::vector<Sounded> found;
        for (const Row& r : rows_) {
            const bool off = r.type == "Note_off_c" || (r.type == "Note_on_c" && r.number(2) == 0);
            if (off) {
                REQUIRE(!found.empty());
                REQUIRE(found.back().key == r.number(1));
                REQUIRE(found.back().off < 0.0);
                found.back().off = seconds(r.tick);
            } else if (r.type == "Note_on_c") {
                if (!found.empty()) REQUIRE(found.back().off >= 0.0);  // one note at a time
                found.push_back({seconds(r.tick), -1.0, r.number(1), r.number(2)});
            }
        }
        return found;
    }

    int range() const {
        int semitones = 0;
        for (const Row& r : of("Control_c")) {
            if (r.number(1) == 6) semitones = r.number(2);
        }
        return semitones;
    }

    // The wheel's distance at a time, in cents. What is at the time itself counts.
    double wheel(double time) const {
        double cents = 0.0;
        for (const Row& r : of("Pitch_bend_c")) {
            if (seconds(r.tick) <= time + 1e-4)
                cents = (r.number(1) - 8192) / 8192.0 * range() * 100.0;
        }
        return cents;
    }

  private:
    void add(const std::string& line) {
        Row row;
        std::istringstream parts(line);
        std::string part;
        for (int i = 0; std::getline(parts, part, ','); ++i) {
            const std::string field = trimmed(part);
            if (i == 0) row.track = std::stoi(field);
            if (i == 1) row.tick = std::stoll(field);
            if (i == 2) row.type = field;
            if (i > 2) row.fields.push_back(field);
        }
        rows_.push_back(std::move(row));
    }

    std::vector<Row> rows_;
    std::vector<Row> tempos_;
    double division_ = 0;
};

Note note(double from, double to, int key, double level = -14.0) {
    Note n;
    n.onset = Seconds(from);
    n.offset = Seconds(to);
    n.key = MidiKey(key);
    n.level = Decibels(level);
    return n;
}

// Six notes with one inflection each, at 111 beats a minute, bar 1 at 2.9 s, in Eb.
Draft inflected() {
    Draft d;
    d.title = "Harbour Lights Out";
    d.bars = BarMap::constant(Tempo(111.0), Seconds(2.9)).value();
    d.key = Key{-3, false};
    d.form = parse_form("AABA").value();
    d.chords = {"Eb6 C7", "Fm7 Bb7"};
    std::vector<Note> notes = {note(2.5, 2.9, 58),      note(2.913, 3.4, 63),
                               note(3.45, 3.9, 65, -8), note(4.0, 4.5, 67, -20),
                               note(4.5, 5.2, 70),      note(5.4, 5.5, 72)};
    notes[0].inflections = {
        {SlideIn{MidiKey(53), SecondsRange{Seconds(2.5), Seconds(2.65)}}, {}, ""}};
    notes[1].inflections = {
        {Bend{Cents(50.0), Seconds(3.0), Seconds(3.1), false, false, {}}, {}, ""}};
    notes[2].inflections = {{Accent{}, {}, ""}};
    notes[3].inflections = {{SlideToNext{SecondsRange{Seconds(4.35), Seconds(4.5)}}, {}, ""}};
    notes[4].inflections = {
        {Vibrato{Hertz(5.5), Cents(30.0), SecondsRange{Seconds(4.7), Seconds(5.2)}}, {}, ""}};
    notes[5].inflections = {{Staccato{}, {}, ""}};
    return pencil(std::move(d), notes).value();
}

MidiSettings all_notes(bool plain = false) {
    MidiSettings s;
    s.which = WhichNotes::inked_and_pencilled;
    s.plain = plain;
    return s;
}

void check_same_notes(const Draft& draft, const ReadBack& back) {
    const auto notes = back.notes();
    REQUIRE(notes.size() == draft.notes.size());
    for (std::size_t i = 0; i < notes.size(); ++i) {
        const Note& n = draft.notes[i].note;
        CHECK(notes[i].key == n.key.value());
        CHECK(std::abs(notes[i].on - n.onset.value()) < 0.001);
        CHECK(std::abs(notes[i].off - n.offset.value()) < 0.001);
    }
}

}  // namespace

TEST_CASE("midi: midicsv reads the same notes back, plain and bent, within a millisecond") {
    const Draft d = inflected();
    for (const bool plain : {false, true})
        check_same_notes(d, ReadBack(midi_bytes(d, all_notes(plain)).value()));
    Draft no_bars = d;
    no_bars.bars.reset();
    check_same_notes(no_bars, ReadBack(midi_bytes(no_bars, all_notes()).value()));
}

TEST_CASE("midi: tempo, metre, key, markers and chords stand where the bars are") {
    const ReadBack back(midi_bytes(inflected(), all_notes()).value());
    const Row header = back.of("Header").at(0);
    CHECK(header.number(0) == 1);
    CHECK(header.number(1) == 2);
    // 2.9 s are five beats of 0.5405 s and 0.197 s, less than half a beat, which lengthen the
    // first: a lead-in bar of one beat, then one of four.
    const auto metres = back.of("Time_signature");
    REQUIRE(metres.size() == 2);
    CHECK(metres[0].number(0) == 1);
    CHECK(metres[1].number(0) == 4);
    CHECK(metres[1].number(1) == 2);  // 2 to the power of 2
    CHECK(metres[1].number(2) == 24);
    CHECK(metres[1].tick == 960);
    CHECK(std::abs(back.of("Tempo").back().number(0) - 540541) <=
          1);  // 60 s / 111, whole microseconds
    CHECK(back.of("Key_signature").at(0).number(0) == -3);
    CHECK(back.of("Key_signature").at(0).fields[1] == "\"major\"");
    CHECK(back.of("Title_t").at(0).fields[0] == "\"Harbour Lights Out\"");
    const auto markers = back.of("Marker_t");
    REQUIRE(!markers.empty());
    CHECK(markers[0].tick == 5 * 960);
    CHECK(back.seconds(markers[0].tick) == Approx(2.9).epsilon(1e-4));
    CHECK(back.of("Text_t").at(0).fields[0] == "\"Eb6 C7\"");
}

TEST_CASE("midi: a key signature event where a section's key begins and ends [SMF 1.0, FF 59]") {
    Draft draft = inflected();
    draft.form = parse_form("A1B1A2").value();
    draft.form[1].key = Key{-4, false};
    draft.form[2].key = Key{-6, true};
    draft = apply(draft, AddNote{note(16.0, 16.4, 63)}).value();
    const ReadBack back(midi_bytes(draft, all_notes()).value());
    const auto keys = back.of("Key_signature");
    REQUIRE(keys.size() == 4);
    const std::vector<int> fifths = {-3, -4, -6, -3};
    // Four beats of 60 / 111 s a bar.
    const std::vector<double> at = {0.0, 2.9 + 240.0 / 111.0, 2.9 + 480.0 / 111.0,
                                    2.9 + 960.0 / 111.0};
    for (std::size_t i = 0; i < 4; ++i) {
        CHECK(keys[i].number(0) == fifths[i]);
        CHECK(back.seconds(keys[i].tick) == Approx(at[i]).epsilon(1e-3));
    }
    CHECK(keys[2].fields[1] == "\"minor\"");
}

TEST_CASE("midi: the wheel's range is set by RPN 0 and closed by the null RPN [MIDI 1.0]") {
    const ReadBack back(midi_bytes(inflected(), all_notes()).value());
    const auto controls = back.of("Control_c");
    const std::vector<std::pair<int, int>> expected = {{101, 0}, {100, 0},   {6, 12},
                                                       {38, 0},  {101, 127}, {100, 127}};
    REQUIRE(controls.size() == expected.size());
    for (std::size_t i = 0; i < expected.size(); ++i) {
        CHECK(controls[i].tick == 0);
        CHECK(controls[i].number(1) == expected[i].first);
        CHECK(controls[i].number(2) ==
              expected[i].second);  // 12 reaches the slide of five semitones
    }
    const ReadBack plain(midi_bytes(inflected(), all_notes(true)).value());
    CHECK(plain.of("Control_c").empty());
    CHECK(plain.of("Pitch_bend_c").empty());
}

TEST_CASE("midi: the wheel follows the inflections and is centred at every plain onset") {
    const Draft d = inflected();
    const ReadBack back(midi_bytes(d, all_notes()).value());
    const double step = 0.15;  // cents: one step of the wheel at a range of 12 semitones
    CHECK(back.wheel(2.501) == Approx(-500.0).epsilon(0.001));
    CHECK(std::abs(back.wheel(2.7)) < step);
    CHECK(back.wheel(3.2) == Approx(50.0).epsilon(0.01));
    CHECK(back.wheel(4.46) == Approx(200.0).epsilon(0.001));  // on the way from G to Bb
    CHECK(back.wheel(4.7 + 0.25 / 5.5) == Approx(30.0).epsilon(0.02));
    for (const Row& r : back.of("Note_on_c")) {
        const double at = back.seconds(r.tick);
        const bool slid_in = std::abs(at - 2.5) < 0.002;
        if (!slid_in) CHECK(std::abs(back.wheel(at)) < step);
    }
    CHECK(back.of("Pitch_bend_c").back().number(1) == 8192);
    CHECK(back.seconds(back.of("Pitch_bend_c").back().tick) <= 5.2 + wheel_rest.value() + 0.001);
}

TEST_CASE("midi: louder notes are struck harder, accents more so, slid-into notes softer") {
    const auto notes = ReadBack(midi_bytes(inflected(), all_notes()).value()).notes();
    CHECK(notes[1].velocity == 80);        // the median level
    CHECK(notes[2].velocity == 113 + 12);  // 80 * 10^(6/40) = 113.0, and the accent
    CHECK(notes[3].velocity == 57);        // 80 * 10^(-6/40) = 56.6
    CHECK(notes[4].velocity == 56);        // not struck: 80 * 0.7
    CHECK(velocity_of(Decibels(0.0), 80) == 80);
    CHECK(velocity_of(Decibels(60.0), 80) == 127);
    CHECK(velocity_of(Decibels(-100.0), 80) == 1);
}

TEST_CASE("midi: only the inked notes, unless all are asked for") {
    Draft d = inflected();
    const auto none = midi_bytes(d);
    REQUIRE_FALSE(none.ok());
    CHECK(none.failure().sentence.find("No note of the draft is inked") != std::string::npos);
    std::vector<DraftNote> notes(d.notes.begin(), d.notes.end());
    notes[1].state = notes[4].state = NoteState::inked;
    d.notes = NoteList::make(notes).value();
    const auto inked = ReadBack(midi_bytes(d).value()).notes();
    REQUIRE(inked.size() == 2);
    CHECK(inked[0].key == 63);
    CHECK(inked[1].key == 70);
    CHECK(inked[1].velocity == 80);  // the note that slid into it is not there
    const Draft empty;
    CHECK_FALSE(midi_bytes(empty, all_notes()).ok());
}

TEST_CASE(
    "midi: a long line over breathing beats, before bar 1 and before the recording, reads back") {
    testing::Dice dice(5);
    std::vector<Seconds> beats;
    double t = 1.3;
    for (int i = 0; i < 2000; ++i, t += 0.45 * dice.between(0.9, 1.1))
        beats.push_back(Seconds(t));
    std::vector<Note> notes;
    for (double at = 0.1; at < 800.0; at += dice.between(0.05, 0.6)) {
        notes.push_back(note(at, at + 0.045, dice.whole(40, 88), dice.between(-40.0, -6.0)));
    }
    Draft d;
    d.bars = BarMap::from_beats(beats, 9, Metre{3, 4}).value();
    d = pencil(std::move(d), notes).value();
    check_same_notes(d, ReadBack(midi_bytes(d, all_notes()).value()));

    Draft early;
    early = pencil(early, {note(-1.5, -1.0, 60), note(0.5, 1.0, 62)}).value();
    const auto shifted = ReadBack(midi_bytes(early, all_notes()).value()).notes();
    CHECK(shifted[0].on == Approx(0.5));  // the file begins at -2 s
    CHECK(shifted[1].on == Approx(2.5));
}

TEST_CASE("midi: the file is written whole or not at all") {
    const fs::path folder =
        fs::temp_directory_path() / ("bentline_midi_" + std::to_string(::getpid()));
    fs::create_directories(folder);
    REQUIRE(export_midi(inflected(), folder / "solo.mid", all_notes()).ok());
    CHECK(fs::file_size(folder / "solo.mid") == midi_bytes(inflected(), all_notes())->size());
    const auto gone = export_midi(inflected(), folder / "no" / "solo.mid", all_notes());
    REQUIRE_FALSE(gone.ok());
    CHECK(gone.failure().kind == FailureKind::cannot_write);
    const Draft empty;
    CHECK_FALSE(export_midi(empty, folder / "none.mid").ok());
    CHECK_FALSE(fs::exists(folder / "none.mid"));
    fs::remove_all(folder);
}
