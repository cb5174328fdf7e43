// command: without --out, results go to standard output, the same bytes as into a file.
#include <cstdlib>
#include <filesystem>
#include <string>

#include <doctest/doctest.h>
#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/command/program.h"
#include "tests/support/tones.h"

using namespace bentline;
using namespace bentline::testing;
namespace fs = std::filesystem;

namespace {

constexpr SampleRate rate{22050};

void add_solo(const Workplace& place) {
    place.write_wav("solo.wav", audio_of(sine(Hertz(220.0), Seconds(1.0), rate, 0.3), rate));
}

// Runs the program with standard output led to a file of any kind.
int led_to(const Workplace& place, const std::string& arguments, const std::string& to) {
    const std::string line = "cd '" + place.path("").string() + "' && '" + BENTLINE_PROGRAM + "' " +
                             arguments + " >'" + to + "' 2>err.txt";
    const int status = std::system(line.c_str());  // NOLINT(concurrency-mt-unsafe)
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

// What the program sends through a pipe; nothing is left of it.
std::string through_a_pipe(const Workplace& place, const std::string& arguments) {
    led_to(place, arguments + " | cat", "piped.txt");
    std::string piped = place.text_of("piped.txt");
    fs::remove(place.path("piped.txt"));
    fs::remove(place.path("err.txt"));
    return piped;
}

unsigned little_endian(const std::string& bytes, std::size_t at) {
    unsigned value = 0;
    for (std::size_t i = 4; i-- > 0;)
        value = (value << 8U) | static_cast<unsigned char>(bytes.at(at + i));
    return value;
}

// A terminal that nobody sits at; `name` is what a program writes to.
struct Terminal {
    int ours = ::posix_openpt(O_RDWR | O_NOCTTY);
    std::string name;

    Terminal() {
        const char* const other =
            ours >= 0 && ::grantpt(ours) == 0 && ::unlockpt(ours) == 0
                ? ::ptsname(ours)  // NOLINT(concurrency-mt-unsafe): nobody else asks
                : nullptr;
        if (other != nullptr) name = other;
    }
    ~Terminal() {
        if (ours >= 0) ::close(ours);
    }
    Terminal(const Terminal&) = delete;
    Terminal& operator=(const Terminal&) = delete;
};

}  // namespace

TEST_CASE("command: slow sends a whole WAV through a pipe, its sizes in its header") {
    const Workplace place;
    add_solo(place);
    REQUIRE(place.run("slow solo.wav --speed 0.5 --out s.wav").code == 0);
    const std::string filed = place.text_of("s.wav");
    const std::size_t files = place.files();
    const std::string piped = through_a_pipe(place, "slow solo.wav --speed 0.5");
    CHECK(piped == filed);
    const Outcome plain = place.run("slow solo.wav --speed 0.5");
    CHECK(plain.code == 0);
    CHECK(plain.out == filed);
    CHECK(through_a_pipe(place, "slow solo.wav --speed 0.5 --out /dev/stdout") == filed);
    CHECK(place.files() == files);
    // RIFF: the chunk's size counts what follows it; 44,100 frames of one channel of 24 bits.
    REQUIRE(piped.size() > 44100 * 3);
    CHECK(little_endian(piped, 4) == piped.size() - 8);
    const auto data = piped.find("data");
    REQUIRE(data < 256);
    CHECK(little_endian(piped, data + 4) == 44100 * 3);
    // A clip of the draft's sound goes there as well.
    REQUIRE(place.run("draft solo.wav --tempo 120 --bar-one 0 --out d.bentline").code == 0);
    REQUIRE(place.run("play d.bentline --as-wav p.wav").code == 0);
    CHECK(through_a_pipe(place, "play d.bentline --as-wav /dev/stdout") == place.text_of("p.wav"));
}

TEST_CASE("command: slow fills no terminal with bytes") {
    const Workplace place;
    add_solo(place);
    const Terminal terminal;
    if (terminal.name.empty()) {
        MESSAGE("skipped: the system gives no terminal");
        return;
    }
    CHECK(led_to(place, "slow solo.wav --speed 0.5", terminal.name) == 2);
    const std::string said = place.text_of("err.txt");
    CHECK(said.find("terminal") != std::string::npos);
    CHECK(said.find('\n') == said.size() - 1);
    CHECK(led_to(place, "slow solo.wav --speed 0.5 --out s.wav", terminal.name) == 0);
}

TEST_CASE("command: standard output that takes no more is named in one line") {
    const Workplace place;
    add_solo(place);
    REQUIRE(place.run("draft solo.wav --tempo 120 --bar-one 0 --out d.bentline").code == 0);
    place.write("err.txt", "");
    const std::size_t files = place.files();
    for (const char* line :
         {"info solo.wav", "curve solo.wav", "notes solo.wav", "slow solo.wav --speed 0.5",
          "draft solo.wav --no-bars", "lesson d.bentline", "finger d.bentline",
          "export d.bentline --pencilled --text-tab -"}) {
        CAPTURE(line);
        CHECK(led_to(place, std::string(line) + " --quiet", "/dev/full") == 1);
        const std::string said = place.text_of("err.txt");
        CHECK_MESSAGE(said.find("standard output") != std::string::npos, said);
        CHECK(said.find('\n') == said.size() - 1);
        CHECK(place.files() == files);
    }
}

TEST_CASE("command: draft and lesson print themselves") {
    const Workplace place;
    add_solo(place);
    const std::string options = "draft solo.wav --tempo 120 --bar-one 0";
    REQUIRE(place.run(options + " --out d.bentline").code == 0);
    const Outcome draft = place.run(options);
    CHECK(draft.code == 0);
    CHECK(draft.err.find(" pencilled\n") != std::string::npos);
    // It may be put anywhere and finds its recording: nothing is said but what was inked.
    fs::create_directory(place.path("elsewhere"));
    place.write("elsewhere/d.bentline", draft.out);
    const Outcome inked = place.run("ink elsewhere/d.bentline");
    CHECK(inked.code == 0);
    CHECK_MESSAGE(inked.error_lines() == 1, inked.err);
    REQUIRE(place.run("lesson d.bentline --out l.html").code == 0);
    const Outcome lesson = place.run("lesson d.bentline");
    CHECK(lesson.code == 0);
    CHECK(lesson.out == place.text_of("l.html"));
}
