// command: bad input gets one clear sentence, the right exit code, and leaves nothing behind.
#include <cmath>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "engine/recording/wav_file.h"
#include "tests/command/program.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::testing;

namespace {

void add_tone(const Workplace& folder) {
    folder.write_wav("tone.wav", audio_of(sine(Hertz(440.0), Seconds(0.5), SampleRate(44100)),
                                          SampleRate(44100)));
}

}  // namespace

TEST_CASE("command: wrong usage ends with 2 and one line that points to the help") {
    Workplace folder;
    add_tone(folder);
    folder.write("bad.json", R"({"beats":[2,1],"downbeats":[1]})");
    const std::size_t files = folder.files();
    const std::vector<std::string> lines = {
        "",
        "dance tone.wav",
        "info",
        "slow tone.wav --out s.wav",
        "slow tone.wav --speed 3 --out s.wav",
        "slow tone.wav --speed half --out s.wav",
        "slow tone.wav --speed nan --out s.wav",
        "slow tone.wav --speed 0.5 --cents inf --out s.wav",
        "notes tone.wav --pan nan",
        "draft tone.wav --tempo nan --out d.bentline",
        "draft tone.wav --bar-one nan --tempo 120 --out d.bentline",
        "slow tone.wav --speed 0.5 --cents 1300 --out s.wav",
        "curve tone.wav --register E3",
        "curve tone.wav --register H3:E6",
        "curve tone.wav --register E6:E3",
        "curve tone.wav --pan 2",
        "notes tone.wav --pan-width -1",
        "draft tone.wav --bar-one 1 --no-bars --out d.bentline",
        "ink d.bentline --bars 1 --from 1:1",
        "draft tone.wav --tempo 5 --out d.bentline",
        "ink d.bentline --bars eight",
    };
    for (const std::string& line : lines) {
        CAPTURE(line);
        const Outcome o = folder.run(line);
        CHECK(o.code == 2);
        CHECK(o.error_lines() == 1);
        CHECK(o.err.find("--help") != std::string::npos);
        CHECK(o.out.empty());
        CHECK(folder.files() == files);
    }
}

TEST_CASE("command: an unknown command is named beside those there are; a command's own help") {
    Workplace folder;
    const Outcome unknown = folder.run("dance tone.wav");
    CHECK(unknown.err.find("'dance' is no command") != std::string::npos);
    CHECK(unknown.err.find("window") != std::string::npos);
    CHECK(folder.run("").err.find("slow, curve") != std::string::npos);
    CHECK(folder.run("--loud").err.find("see bentline --help") != std::string::npos);
    const Outcome paper = folder.run("export d.bentline --sheet a.pdf --paper napkin");
    CHECK(paper.err.find("'napkin' is no paper") != std::string::npos);
    CHECK(paper.err.find("see bentline export --help") != std::string::npos);
    const Outcome fast = folder.run("slow tone.wav --speed 3 --out s.wav");
    CHECK(fast.err.find("'3' will not do; give a number from 0.1 to 2") != std::string::npos);
}

TEST_CASE("command: what cannot be done ends with 1, one line, and no half-written file") {
    Workplace folder;
    add_tone(folder);
    folder.write("empty.wav", "");
    folder.write("words.wav", "these are words and no sound at all, in no format that is known");
    folder.write("words.bentline", "these are words");
    folder.write("backwards.json", R"({"beats":[2.0,1.0],"downbeats":[1.0]})");
    folder.write("lonely.json", R"({"beats":[2.0],"downbeats":[2.0]})");
    folder.write("list.json", "[1, 2");
    folder.write("far.json", R"({"beats":[0.0,1e9],"downbeats":[0.0]})");
    folder.write("hours.json", R"({"beats":[90000.0,90000.5],"downbeats":[90000.0]})");
    folder.write("prose.txt", "no bars at all");
    folder.write("late.txt", "verse | C7 | F7 |");
    auto broken = sine(Hertz(440.0), Seconds(0.5), SampleRate(44100));
    broken[11025] = std::nanf("");
    REQUIRE(write_wav(folder.path("broken.wav"), audio_of(broken, SampleRate(44100)),
                      WavSamples::float32)
                .ok());
    const std::size_t files = folder.files();
    struct Case {
        std::string line;
        std::string named;  // what the sentence must name
    };
    const std::vector<Case> cases = {
        {"info missing.wav", "missing.wav"},
        {"info .", "."},
        {"notes empty.wav --out n.json", "empty.wav"},
        {"curve words.wav --out c.csv", "words.wav"},
        {"slow words.wav --speed 0.5 --out s.wav", "words.wav"},
        {"slow tone.wav --speed 0.5 --out nowhere/s.wav", "nowhere"},
        {"curve tone.wav --out nowhere/c.csv", "nowhere"},
        {"notes tone.wav --from 9", "--from"},
        {"notes tone.wav --from -1", "--from"},
        {"notes tone.wav --from 0.2 --to 0.1", "--to"},
        {"notes tone.wav --to 9", "--to"},
        {"notes tone.wav --from nan", "--from"},
        {"notes tone.wav --from 1e300", "1e+300"},
        {"info tone.wav --out ''", "without a name"},
        {"slow broken.wav --speed 0.5 --out s.wav", "broken.wav"},
        {"slow broken.wav --speed 0.5", "broken.wav"},
        {"slow broken.wav --clips made", "broken.wav"},
        {"draft tone.wav --tempo 120 --bar-one 99999 --out d.bentline", "an hour away"},
        {"draft tone.wav --beats hours.json --out d.bentline", "an hour away"},
        {"draft tone.wav --beats far.json --out d.bentline", "far.json: Beat 2"},
        {"draft tone.wav --chords late.txt --out d.bentline", "section's letter"},
        {"draft tone.wav --metre 4/5 --out d.bentline", "4/5"},
        {"draft tone.wav --key H --out d.bentline", "H"},
        {"draft tone.wav --form A99999999999 --out d.bentline", "A99999999999"},
        {"draft tone.wav --beats backwards.json --out d.bentline", "beat"},
        {"draft tone.wav --beats lonely.json --out d.bentline", "lonely.json"},
        {"draft tone.wav --beats list.json --out d.bentline", "list.json"},
        {"draft tone.wav --beats none.json --out d.bentline", "none.json"},
        {"draft tone.wav --chords prose.txt --out d.bentline", "prose.txt"},
        {"draft tone.wav --chords none.txt --out d.bentline", "none.txt"},
        {"beats tone.wav --metre 4/5", "4/5"},
        {"ink none.bentline", "none.bentline"},
        {"ink words.bentline", "words.bentline"},
        {"export words.bentline --midi m.mid", "words.bentline"},
    };
    for (const Case& c : cases) {
        CAPTURE(c.line);
        const Outcome o = folder.run(c.line);
        CHECK(o.code == 1);
        CHECK(o.error_lines() == 1);
        CHECK_MESSAGE(o.err.find(c.named) != std::string::npos, o.err);
        CHECK(o.out.empty());
        CHECK(folder.files() == files);
    }
}

TEST_CASE("command: help is for everyone, and ends with 0") {
    Workplace folder;
    const Outcome all = folder.run("--help");
    CHECK(all.code == 0);
    for (const char* verb :
         {"info", "slow", "curve", "notes", "beats", "draft", "ink", "finger", "export"}) {
        CHECK(all.out.find(verb) != std::string::npos);
        const Outcome one = folder.run(std::string(verb) + " --help");
        CHECK(one.code == 0);
        CHECK(one.out.find("--help") != std::string::npos);
    }
    CHECK(all.out.find("rights") != std::string::npos);
}

TEST_CASE("command: ink without bars to count in says what to do") {
    Workplace folder;
    add_tone(folder);
    REQUIRE(folder.run("draft tone.wav --no-bars --out d.bentline").code == 0);
    const std::string before = folder.text_of("d.bentline");
    for (const char* part : {"--bars 1-2", "--from 1:1 --to 3:1", "--from 1:1"}) {
        const Outcome o = folder.run(std::string("ink d.bentline ") + part);
        CHECK(o.code == 1);
        CHECK(o.error_lines() == 1);
        CHECK(folder.text_of("d.bentline") == before);
    }
    CHECK(folder.run("ink d.bentline --from 0 --to 100").code == 0);  // seconds need no bars
}
