// command: every verb's result on sound whose truth is known.
#include <cmath>
#include <sstream>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "engine/recording/recording.h"
#include "tests/command/program.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::testing;
using nlohmann::json;

namespace {

constexpr SampleRate rate{44100};

// Three plucked notes, E4 A4 C5, a third of a second apart from 0.5 s on.
Audio three_notes() {
    std::vector<float> whole = floor_noise(Seconds(2.5), rate);
    int i = 0;
    for (const double key : {64.0, 69.0, 72.0}) {
        const auto note = plucked(steady(frequency(Pitch(key))), Seconds(0.3), rate);
        mix_in(whole, note, Seconds(0.5 + 0.333 * i++), rate);
    }
    return audio_of(std::move(whole), rate);
}

std::vector<std::vector<double>> table_of(const std::string& csv, std::string& header) {
    std::istringstream in(csv);
    std::getline(in, header);
    std::vector<std::vector<double>> rows;
    for (std::string line; std::getline(in, line);) {
        std::vector<double> row;
        std::istringstream cells(line);
        for (std::string cell; std::getline(cells, cell, ',');)
            row.push_back(std::stod(cell));
        rows.push_back(row);
    }
    return rows;
}

}  // namespace

TEST_CASE("command: info tells format, length, level and tuning") {
    Workplace folder;
    // A4 at 445 Hz lies 19.56 cents above 440 [Ellis: 1200 log2(445/440)].
    folder.write_wav("tone.wav", audio_of(sine(Hertz(445.0), Seconds(2.0), rate, 0.5), rate));
    const Outcome o = folder.run("info tone.wav");
    REQUIRE(o.code == 0);
    const json j = json::parse(o.out);
    CHECK(j.at("sample_rate") == 44100);
    CHECK(j.at("channels") == 1);
    CHECK(j.at("duration_s") == 2.0);
    CHECK(j.at("format").get<std::string>().find("WAV") != std::string::npos);
    // 0.5 of full scale is -6.02 dB; a sample may miss the crest by 0.01 dB.
    CHECK(std::abs(j.at("peak_db").get<double>() + 6.02) < 0.02);
    // A steady tone is followed to a cent (engine/pitch/tracker.h).
    CHECK(std::abs(j.at("tuning_cents").get<double>() - 19.56) < 1.5);
    CHECK(j.contains("loudness_lufs"));
}

TEST_CASE("command: info leaves out what silence does not have") {
    Workplace folder;
    folder.write_wav("silence.wav", audio_of(std::vector<float>(44100), rate));
    const Outcome o = folder.run("info silence.wav");
    REQUIRE(o.code == 0);
    const json j = json::parse(o.out);
    CHECK_FALSE(j.contains("peak_db"));
    CHECK_FALSE(j.contains("loudness_lufs"));
    CHECK_FALSE(j.contains("tuning_cents"));
}

TEST_CASE("command: slow keeps rate, channels and pitch, and is round(frames / speed) long") {
    Workplace folder;
    const auto left = sine(Hertz(440.0), Seconds(1.5), rate);
    folder.write_wav("tone.wav", stereo_of(left, std::vector<float>(left.size()), rate));
    // 0.25 s to 1.25 s is 44100 frames; at 0.7 of the speed 63000.
    const Outcome o = folder.run("slow tone.wav --speed 0.7 --from 0.25 --to 1.25 --out slow.wav");
    CHECK(o.code == 0);
    CHECK(o.err.empty());
    const auto slow = Recording::open(folder.path("slow.wav"));
    REQUIRE(slow.ok());
    CHECK(slow->info().frames == Frames(63000));
    CHECK(slow->info().rate == rate);
    CHECK(slow->info().channels == 2);
    const Outcome retuned =
        folder.run("slow tone.wav --speed 0.5 --cents 100 --out up.wav && '" BENTLINE_PROGRAM
                   "' curve up.wav");
    REQUIRE(retuned.code == 0);
    std::string header;
    const auto rows = table_of(retuned.out, header);
    REQUIRE(rows.size() == 300);
    // 440 Hz a semitone up is 466.16 Hz [equal temperament]; 1 cent is 0.27 Hz.
    CHECK(std::abs(rows[150][1] - 466.164) < 0.5);
}

TEST_CASE("command: one bar as practice clips at three speeds") {
    Workplace folder;
    folder.write_wav("tone.wav", audio_of(sine(Hertz(440.0), Seconds(2.0), rate), rate));
    REQUIRE(folder.run("slow tone.wav --from 0.5 --to 1.5 --clips bar").code == 0);
    const struct {
        const char* name;
        std::int64_t frames;  // round(44100 / speed)
    } clips[] = {{"bar/tone-0.50-50.wav", 88200},
                 {"bar/tone-0.50-75.wav", 58800},
                 {"bar/tone-0.50-100.wav", 44100}};
    for (const auto& clip : clips) {
        const auto opened = Recording::open(folder.path(clip.name));
        REQUIRE_MESSAGE(opened.ok(), clip.name);
        CHECK(opened->info().frames == Frames(clip.frames));
    }
}

TEST_CASE("command: curve has a row each 10 ms from 0, 0 Hz where there is no lead") {
    Workplace folder;
    std::vector<float> whole = floor_noise(Seconds(2.0), rate);
    mix_in(whole, sine(Hertz(329.63), Seconds(1.0), rate), Seconds(0.5), rate);
    folder.write_wav("tone.wav", audio_of(whole, rate));
    REQUIRE(folder.run("curve tone.wav --out curve.csv").code == 0);
    std::string header;
    const auto rows = table_of(folder.text_of("curve.csv"), header);
    CHECK(header == "time_s,f0_hz,confidence,level_db");
    REQUIRE(rows.size() == 200);
    for (std::size_t i = 0; i < rows.size(); ++i) {
        CHECK(std::abs(rows[i][0] - 0.01 * static_cast<double>(i)) < 1e-9);
        CHECK(rows[i][2] >= 0.0);
        CHECK(rows[i][2] <= 1.0);
    }
    CHECK(rows[10][1] == 0.0);
    CHECK(rows[190][1] == 0.0);
    CHECK(std::abs(rows[100][1] - 329.63) < 0.2);  // 1 cent of E4

    const Outcome cut = folder.run("curve tone.wav --from 0.9 --to 1.2");
    const auto part = table_of(cut.out, header);
    REQUIRE(part.size() == 30);
    CHECK(part.front()[0] == doctest::Approx(0.9));
    CHECK(std::abs(part[10][1] - 329.63) < 0.2);

    const Outcome high = folder.run("curve tone.wav --register A4:E6");
    for (const auto& row : table_of(high.out, header))
        CHECK((row[1] == 0.0 || row[1] > 425.0));
}

TEST_CASE("command: the path from sound to an inked draft and MIDI") {
    Workplace folder;
    folder.write_wav("solo.wav", three_notes());
    const Outcome notes = folder.run("notes solo.wav --out notes.json");
    REQUIRE(notes.code == 0);
    const json n = json::parse(folder.text_of("notes.json"));
    REQUIRE(n.at("notes").size() == 3);
    const int keys[] = {64, 69, 72};
    for (std::size_t i = 0; i < 3; ++i) {
        const json& note = n.at("notes")[i];
        CHECK(note.at("midi") == keys[i]);
        // 50 ms: mir_eval's onset tolerance.
        CHECK(std::abs(note.at("onset_s").get<double>() - (0.5 + 0.333 * static_cast<double>(i))) <
              0.05);
        CHECK(note.at("offset_s") > note.at("onset_s"));
        CHECK(note.contains("level_db"));
        CHECK(note.contains("confidence"));
        CHECK(note.at("inflections").is_array());
    }

    // 180 beats a minute: a third of a second; the notes fall on the beats of bar 1.
    REQUIRE(
        folder
            .run(
                "draft solo.wav --tempo 180.18 --bar-one 0.5 --metre 3/4 --key Am --out s.bentline")
            .code == 0);
    Outcome exported = folder.run("export s.bentline --midi none.mid");
    CHECK(exported.code == 1);  // nothing is inked yet
    CHECK(exported.err.find("ink") != std::string::npos);
    CHECK_FALSE(std::filesystem::exists(folder.path("none.mid")));
    REQUIRE(folder.run("export s.bentline --midi pencilled.mid --pencilled").code == 0);
    REQUIRE(folder.run("ink s.bentline --bars 1").code == 0);
    REQUIRE(folder.run("export s.bentline --midi inked.mid").code == 0);
    CHECK(folder.text_of("inked.mid").substr(0, 4) == "MThd");  // SMF 1.0, header chunk
    CHECK(folder.text_of("inked.mid") == folder.text_of("pencilled.mid"));
    exported = folder.run("export s.bentline --midi inked.mid --plain");
    CHECK(exported.code == 1);  // the name is taken
    CHECK(exported.err.find("--force") != std::string::npos);
    CHECK(folder.run("export s.bentline --midi inked.mid --plain --force").code == 0);
    CHECK(folder.text_of("inked.mid") != folder.text_of("pencilled.mid"));
}

TEST_CASE("command: a draft opens when its recording is gone, and says so") {
    Workplace folder;
    folder.write_wav("solo.wav", three_notes());
    REQUIRE(folder.run("draft solo.wav --out s.bentline").code == 0);
    std::filesystem::remove(folder.path("solo.wav"));
    const Outcome o = folder.run("ink s.bentline");
    CHECK(o.code == 0);
    CHECK(o.err.find("solo.wav") != std::string::npos);
    CHECK(folder.run("export s.bentline --midi s.mid").code == 0);
}

TEST_CASE("command: a draft that is made anew keeps the old one if there is ink in it") {
    Workplace folder;
    folder.write_wav("solo.wav", three_notes());
    const char* again = "draft solo.wav --no-bars --out s.bentline";
    REQUIRE(folder.run(again).code == 0);
    const std::string pencilled = folder.text_of("s.bentline");
    // Nothing inked, nothing to lose.
    CHECK(folder.run(again).code == 0);
    CHECK(folder.files() == 2);
    REQUIRE(folder.run("ink s.bentline").code == 0);
    const std::string inked = folder.text_of("s.bentline");
    const Outcome told = folder.run(again);
    CHECK(told.code == 0);
    CHECK(told.err.find("kept as s.before.bentline") != std::string::npos);
    CHECK(folder.text_of("s.bentline") == pencilled);
    CHECK(folder.text_of("s.before.bentline") == inked);
    REQUIRE(folder.run("ink s.bentline").code == 0);
    CHECK(folder.run(std::string(again) + " --quiet").code == 0);
    CHECK(folder.text_of("s.before-2.bentline") == inked);
    CHECK(folder.text_of("s.before.bentline") == inked);
    // What is no draft is a result as any other.
    folder.write("s.bentline", "{}");
    CHECK(folder.run(again).code == 0);
    CHECK(folder.text_of("s.bentline") == pencilled);
    CHECK(folder.files() == 4);
}

TEST_CASE("command: beats from a file become the bars of a draft") {
    Workplace folder;
    folder.write_wav("solo.wav", three_notes());
    folder.write(
        "beats.json",
        R"({"beats":[0.1,0.5,0.833,1.166,1.5,1.9],"downbeats":[0.5,1.5],"beats_per_bar":3})");
    REQUIRE(folder.run("draft solo.wav --beats beats.json --out s.bentline").code == 0);
    REQUIRE(folder.run("ink s.bentline --bars 1-1").code == 0);
    CHECK(folder.run("ink s.bentline --bars 1-1").err.find("3 notes") != std::string::npos);
    // Bar 1 a beat later: the first of the three notes falls before it.
    REQUIRE(folder.run("draft solo.wav --beats beats.json --bar-one 0.8 --out t.bentline").code ==
            0);
    CHECK(folder.run("ink t.bentline --bars 1-1").err.find("2 notes") != std::string::npos);
}

TEST_CASE("command: a part of a draft is named by bar:beat or by seconds") {
    Workplace folder;
    folder.write_wav("solo.wav", three_notes());
    // The notes fall on the beats of bar 1 in 3/4.
    REQUIRE(folder.run("draft solo.wav --tempo 180.18 --bar-one 0.5 --metre 3/4 --out s.bentline")
                .code == 0);
    const struct {
        const char* part;
        const char* notes;
    } parts[] = {{"--from 1:2", "2 notes"},          {"--from 1:1 --to 1:3", "2 notes"},
                 {"--from 0.4 --to 0.7", "1 notes"}, {"--to 1:2", "1 notes"},
                 {"--from 0:1 --to 2:1", "3 notes"}, {"--from 1:2 --to 1.0", "1 notes"}};
    for (const auto& p : parts) {
        const Outcome o = folder.run(std::string("ink s.bentline --out part.bentline ") + p.part);
        CHECK_MESSAGE(o.code == 0, p.part);
        CHECK_MESSAGE(o.err.find(p.notes) != std::string::npos, p.part, ": ", o.err);
    }
    for (const char* wrong : {"--from 1:4", "--from 2:1 --to 1:1", "--from one", "--to 1:0"}) {
        const Outcome o = folder.run(std::string("ink s.bentline --out none.bentline ") + wrong);
        CHECK_MESSAGE(o.code == 1, wrong);
        CHECK_MESSAGE(o.error_lines() == 1, wrong);
    }
    CHECK_FALSE(std::filesystem::exists(folder.path("none.bentline")));
}

TEST_CASE("command: results do not depend on the locale or on who asks twice") {
    Workplace folder;
    folder.write_wav("solo.wav", three_notes());
    const Outcome once = folder.run("notes solo.wav");
    const Outcome twice = folder.run("notes solo.wav");
    CHECK(once.out == twice.out);
    REQUIRE(once.code == 0);
    CHECK(folder.run("notes solo.wav --quiet").err.empty());
}

TEST_CASE("command: beats of a click track, and a draft with chords over them") {
    Workplace folder;
    // A click each half second (120 beats a minute), the first of four louder.
    std::vector<float> whole = floor_noise(Seconds(20.0), rate);
    for (int beat = 0; beat < 38; ++beat) {
        const double peak = beat % 4 == 0 ? 0.6 : 0.3;
        mix_in(whole, sine(Hertz(beat % 4 == 0 ? 660.0 : 990.0), Seconds(0.03), rate, peak),
               Seconds(0.5 + 0.5 * beat), rate);
    }
    folder.write_wav("clicks.wav", audio_of(std::move(whole), rate));
    REQUIRE(folder.run("beats clicks.wav --tempo 120 --metre 4/4 --out beats.json").code == 0);
    const json j = json::parse(folder.text_of("beats.json"));
    CHECK(j.at("beats_per_bar") == 4);
    CHECK(std::abs(j.at("tempo_bpm").get<double>() - 120.0) < 1.0);
    const auto beats = j.at("beats").get<std::vector<double>>();
    REQUIRE(beats.size() > 30);
    std::size_t near = 0;
    for (const double b : beats) {
        // 70 ms: mir_eval's tolerance for beats.
        if (std::abs(std::remainder(b, 0.5)) < 0.07) ++near;
    }
    CHECK(near == beats.size());
    // A draft follows the beats itself, and says so. Clicks lie at half seconds.
    const Outcome own = folder.run("draft clicks.wav --tempo 120 --metre 4/4 --out own.bentline");
    CHECK(own.code == 0);
    CHECK(own.err.find("Beats followed at 120") != std::string::npos);
    CHECK(folder.run("ink own.bentline --bars 1-2").code == 0);
    const Outcome steady =
        folder.run("draft clicks.wav --tempo 120 --bar-one 2.5 --out steady.bentline");
    CHECK(steady.code == 0);
    CHECK(steady.err.find("followed") == std::string::npos);
    REQUIRE(folder.run("draft clicks.wav --no-bars --out free.bentline").code == 0);
    CHECK(folder.run("ink free.bentline --bars 1-2").code == 1);
    folder.write("chart.txt", "A\n| Eb6 C7 | Fm7 Bb7 | % | Xq |\n");
    const Outcome o =
        folder.run("draft clicks.wav --beats beats.json --chords chart.txt --out d.bentline");
    CHECK(o.code == 0);
    CHECK(o.err.find("Xq") != std::string::npos);
    CHECK(folder.text_of("d.bentline").find("Fm7 Bb7") != std::string::npos);
}
