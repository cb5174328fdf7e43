// The program under test, run through the shell.
#include "tests/command/program.h"

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>
#include <sys/wait.h>

#include "engine/recording/wav_file.h"

namespace bentline::testing {

namespace fs = std::filesystem;

int Outcome::error_lines() const {
    return static_cast<int>(std::count(err.begin(), err.end(), '\n'));
}

Outcome Workplace::run(const std::string& arguments) const {
    // Kept outside the folder, so that a test may count what the program left there.
    const fs::path out = folder_.path().string() + ".out";
    const fs::path err = folder_.path().string() + ".err";
    const std::string line = "cd '" + folder_.path().string() + "' && '" + BENTLINE_PROGRAM + "' " +
                             arguments + " >'" + out.string() + "' 2>'" + err.string() +
                             "' </dev/null";
    const int status = std::system(line.c_str());  // NOLINT(concurrency-mt-unsafe)
    const auto read = [](const fs::path& path) {
        std::ifstream in(path, std::ios::binary);
        std::ostringstream text;
        text << in.rdbuf();
        return text.str();
    };
    Outcome outcome{WIFEXITED(status) ? WEXITSTATUS(status) : -1, read(out), read(err)};
    fs::remove(out);
    fs::remove(err);
    return outcome;
}

std::string Workplace::text_of(const std::string& name) const {
    std::ifstream in(path(name), std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

void Workplace::write(const std::string& name, const std::string& text) const {
    std::ofstream(path(name), std::ios::binary) << text;
}

void Workplace::write_wav(const std::string& name, const Audio& audio) const {
    REQUIRE(bentline::write_wav(path(name), audio).ok());
}

std::size_t Workplace::files() const {
    return static_cast<std::size_t>(
        std::distance(fs::directory_iterator(folder_.path()), fs::directory_iterator()));
}

}  // namespace bentline::testing
