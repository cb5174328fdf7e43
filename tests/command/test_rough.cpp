// command: names of every kind, files that are empty, places that may not be written, a locale with
// a decimal comma: the work is done, or refused in one line, and nothing is lost.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "tests/command/program.h"
#include "tests/support/comma_locale.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::testing;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

constexpr SampleRate rate{22050};

Audio two_notes() {
    auto line = sine(Hertz(220.0), Seconds(0.5), rate, 0.3);
    const auto second = sine(Hertz(330.0), Seconds(0.5), rate, 0.3);
    line.insert(line.end(), second.begin(), second.end());
    return audio_of(line, rate);
}

// As the shell takes it, whatever it holds.
std::string quoted(const std::string& name) {
    std::string all = "'";
    for (const char c : name)
        all += c == '\'' ? std::string("'\\''") : std::string(1, c);
    return all + "'";
}

}  // namespace

TEST_CASE("command: what is made from a file is never written over it") {
    const Workplace place;
    place.write_wav("solo.wav", two_notes());
    place.write("beats.json", R"({"beats":[0,0.5,1],"downbeats":[0]})");
    REQUIRE(place.run("draft solo.wav --tempo 120 --bar-one 0 --out solo.bentline").code == 0);
    REQUIRE(place.run("ink solo.bentline").code == 0);
    fs::create_symlink("solo.wav", place.path("link.wav"));
    const std::string sound = place.text_of("solo.wav"), draft = place.text_of("solo.bentline"),
                      beats = place.text_of("beats.json");
    const std::size_t files = place.files();
    for (const char* line : {
             "info solo.wav --out solo.wav",
             "slow solo.wav --speed 0.5 --out solo.wav",
             "slow solo.wav --speed 0.5 --out ./link.wav",
             "curve solo.wav --out solo.wav",
             "notes link.wav --out solo.wav",
             "beats solo.wav --out solo.wav",
             "draft solo.wav --no-bars --out solo.wav",
             "draft solo.wav --beats beats.json --out beats.json",
             "ink solo.bentline --out solo.wav",
             "bars solo.bentline --double-time --out solo.wav",
             "finger solo.bentline --out solo.bentline",
             "finger solo.bentline --out solo.wav",
             "export solo.bentline --midi solo.wav --force",
             "export solo.bentline --csv m.csv --text-tab solo.bentline --force",
             "play solo.bentline --as-wav solo.wav",
             "play solo.bentline --as-wav solo.wav --with-recording",
             "play solo.bentline --as-wav solo.bentline",
             "window solo.wav --picture solo.wav",
         }) {
        CAPTURE(line);
        const Outcome o = place.run(line);
        CHECK(o.code == 1);
        CHECK(o.error_lines() == 1);
        CHECK_MESSAGE(o.err.find("another name") != std::string::npos, o.err);
        CHECK(o.out.empty());
        CHECK(place.files() == files);
        CHECK(place.text_of("solo.wav") == sound);
        CHECK(place.text_of("solo.bentline") == draft);
        CHECK(place.text_of("beats.json") == beats);
    }
}

TEST_CASE("command: a recording may have any name; its draft finds it again") {
    const Workplace place;
    // With blanks, quotes, what a shell or a markup reads, a line's end, bytes that are no UTF-8
    // (Latin-1's é), and as long as a name may be (255 bytes, POSIX's usual NAME_MAX).
    for (const std::string& name :
         {std::string("my solo"), std::string("it's \"mine\""), std::string("a;b&<c>$d`e"),
          std::string("two\nlines"), std::string("caf\xE9 \xFF"), std::string("\u266d \u00fc"),
          std::string(251, 'x')}) {
        CAPTURE(name);
        place.write_wav(name + ".wav", two_notes());
        const std::string sound = quoted(name + ".wav");
        REQUIRE(place.run("draft " + sound + " --tempo 120 --bar-one 0 --out d.bentline").code ==
                0);
        const Outcome inked = place.run("ink d.bentline");
        CHECK(inked.code == 0);
        CHECK_MESSAGE(inked.error_lines() == 1, inked.err);  // nothing about a missing recording
        const Outcome played = place.run("play d.bentline --with-recording --as-wav p.wav");
        CHECK_MESSAGE(played.code == 0, played.err);
        const Outcome out =
            place.run("export d.bentline --musicxml m.musicxml --csv m.csv --sheet m.svg --force");
        CHECK_MESSAGE(out.code == 0, out.err);
        CHECK(json::accept(place.text_of("d.bentline")));  // UTF-8 throughout [RFC 8259, 8.1]
        // A sentence stays on its line whatever the name.
        const Outcome gone = place.run("info " + quoted(name.substr(0, 200) + " gone.wav"));
        CHECK(gone.code == 1);
        CHECK(gone.error_lines() == 1);
    }
}

TEST_CASE("command: an empty file is named as what it should have been") {
    const Workplace place;
    place.write_wav("solo.wav", two_notes());
    for (const char* name : {"none.json", "none.txt", "none.bentline", "none.wav"})
        place.write(name, "");
    const std::size_t files = place.files();
    struct Case {
        const char* line;
        const char* says;
    };
    for (const Case& c : {Case{"draft solo.wav --beats none.json --out d.bentline", "JSON"},
                          Case{"draft solo.wav --chords none.txt --out d.bentline", "chart"},
                          Case{"notes solo.wav --known none.json", "no list of notes"},
                          Case{"notes solo.wav --beats none.json", "JSON"},
                          Case{"ink none.bentline", "none.bentline"},
                          Case{"slow none.wav --speed 0.5 --out s.wav", "empty"}}) {
        CAPTURE(c.line);
        const Outcome o = place.run(c.line);
        CHECK(o.code == 1);
        CHECK(o.error_lines() == 1);
        CHECK_MESSAGE(o.err.find(c.says) != std::string::npos, o.err);
        CHECK(place.files() == files);
    }
}

TEST_CASE("command: a folder that may not be written, and a disk that is full") {
    const Workplace place;
    place.write_wav("solo.wav", two_notes());
    REQUIRE(place.run("draft solo.wav --tempo 120 --bar-one 0 --out solo.bentline").code == 0);
    REQUIRE(place.run("ink solo.bentline").code == 0);
    const std::string draft = place.text_of("solo.bentline");
    // Nobody writes into /proc, root neither.
    const std::vector<std::string> lines = {
        "info solo.wav --out /proc/i.json",
        "slow solo.wav --speed 0.5 --out /proc/s.wav",
        "slow solo.wav --clips /proc/clips",
        "curve solo.wav --out /proc/c.csv",
        "notes solo.wav --out /dev/full",
        "draft solo.wav --no-bars --out /proc/d.bentline",
        "ink solo.bentline --out /proc/d.bentline",
        "bars solo.bentline --double-time --out /proc/d.bentline",
        "finger solo.bentline --out /dev/full",
        "export solo.bentline --midi m.mid --csv /proc/m.csv",
        "export solo.bentline --midi m.mid --clips /proc/clips",
        "export solo.bentline --sheet /proc/m.pdf",
        "play solo.bentline --as-wav /proc/p.wav",
        "lesson solo.bentline --out /proc/l.html",
        "window solo.bentline --picture /proc/w.png",
    };
    const std::size_t files = place.files();
    for (const std::string& line : lines) {
        CAPTURE(line);
        const Outcome o = place.run(line);
        CHECK(o.code == 1);
        CHECK_MESSAGE(o.error_lines() == 1, o.err);
        CHECK_MESSAGE(o.err.find(";") != std::string::npos, o.err);  // and what to do
        CHECK(place.files() == files);
        CHECK(place.text_of("solo.bentline") == draft);
    }
}

TEST_CASE("command: numbers have points under a locale with a comma, in what is read and written") {
    const CommaLocale comma;
    if (!comma.in_c()) {
        MESSAGE("skipped: no locale with a decimal comma can be made here");
        return;
    }
    const Workplace place;
    place.write_wav("solo.wav", two_notes());
    ::setenv("LC_ALL", "comma", 1);  // LOCPATH is set as long as `comma` lives
    const auto german = [&](const std::string& line) {
        const Outcome o = place.run(line);
        CHECK_MESSAGE(o.code == 0, line, o.err);
        return o.out;
    };
    const std::string info = german("info solo.wav"), curve = german("curve solo.wav --pan 0.25"),
                      notes = german("notes solo.wav --from 0.25");
    german("slow solo.wav --speed 0.75 --cents 12.5 --out german.wav");
    german("draft solo.wav --tempo 123.5 --bar-one 0.25 --out german.bentline");
    CHECK(place.run("slow solo.wav --speed 0,75 --out s.wav").code == 2);
    ::unsetenv("LC_ALL");
    CHECK(place.run("info solo.wav").out == info);
    CHECK(place.run("curve solo.wav --pan 0.25").out == curve);
    CHECK(place.run("notes solo.wav --from 0.25").out == notes);
    CHECK(json::parse(info).at("duration_s") == 1.0);
    CHECK(place.run("slow solo.wav --speed 0.75 --cents 12.5 --out s.wav").code == 0);
    CHECK(place.text_of("s.wav") == place.text_of("german.wav"));
    CHECK(place.run("draft solo.wav --tempo 123.5 --bar-one 0.25 --out d.bentline").code == 0);
    CHECK(place.text_of("d.bentline") == place.text_of("german.bentline"));
}

TEST_CASE("command: info of a part measures that part") {
    const Workplace place;
    // Half a second at 0.3, then one at 0.03 of full scale: -10.46 and -30.46 dB.
    auto line = sine(Hertz(220.0), Seconds(0.5), rate, 0.3);
    const auto soft = sine(Hertz(220.0), Seconds(1.0), rate, 0.03);
    line.insert(line.end(), soft.begin(), soft.end());
    place.write_wav("solo.wav", audio_of(line, rate));
    const json whole = json::parse(place.run("info solo.wav").out);
    const json part = json::parse(place.run("info solo.wav --from 0.6 --to 1.4").out);
    // A crest may be missed by 0.01 dB.
    CHECK(std::abs(whole.at("peak_db").get<double>() + 10.46) < 0.02);
    CHECK(std::abs(part.at("peak_db").get<double>() + 30.46) < 0.02);
    CHECK(part.at("duration_s") == 1.5);  // the recording's
    CHECK(place.run("info solo.wav --from 2").code == 1);
}

TEST_CASE("command: what is mistyped is named in plain words") {
    const Workplace place;
    place.write_wav("solo.wav", two_notes());
    struct Case {
        const char* line;
        const char* says;
    };
    for (const Case& c :
         {Case{"slow solo.wav --sped 0.5 --out s.wav", "'--sped' is no option of slow"},
          Case{"info solo.wav other.wav", "'other.wav' is more than info works on"},
          Case{"notes solo.wav --from 1:1", "--from: '1:1' is no number"},
          Case{"slow solo.wav --speed 0.5 --speed 1 --out s.wav",
               "--speed may be given only once"}}) {
        CAPTURE(c.line);
        const Outcome o = place.run(c.line);
        CHECK(o.code == 2);
        CHECK(o.error_lines() == 1);
        CHECK_MESSAGE(o.err.find(c.says) != std::string::npos, o.err);
    }
    CHECK(place.run("window --help").out.find("--quiet") != std::string::npos);
    CHECK(place.run("--help").out.find("Commands:") != std::string::npos);
}
