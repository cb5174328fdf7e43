// writing: a file is wholly there or not at all.
#include <filesystem>
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>
#include <unistd.h>

#include "engine/recording/atomic_file.h"

using namespace bentline;
namespace fs = std::filesystem;

TEST_CASE("writing: a missing folder is named, and nothing appears") {
    const fs::path missing = fs::temp_directory_path() / "bentline_no_such_folder" / "a.txt";
    const auto result = write_file(missing, "words");
    REQUIRE_FALSE(result.ok());
    CHECK(result.failure().kind == FailureKind::cannot_write);
    CHECK(result.failure().sentence.find("bentline_no_such_folder") != std::string::npos);
    CHECK_FALSE(fs::exists(missing));
}

TEST_CASE("writing: without commit the old file stays and nothing else is left") {
    const fs::path folder =
        fs::temp_directory_path() / ("bentline_write_" + std::to_string(getpid()));
    fs::create_directories(folder);
    REQUIRE(write_file(folder / "a.txt", "old").ok());
    {
        auto half = AtomicFile::create(folder / "a.txt");
        REQUIRE(half.ok());
        REQUIRE(half->write("new").ok());
    }
    std::ifstream in(folder / "a.txt");
    std::stringstream text;
    text << in.rdbuf();
    CHECK(text.str() == "old");
    CHECK(std::distance(fs::directory_iterator(folder), fs::directory_iterator()) == 1);
    REQUIRE(write_file(folder / "a.txt", "new").ok());
    std::ifstream again(folder / "a.txt");
    std::stringstream after;
    after << again.rdbuf();
    CHECK(after.str() == "new");
    fs::remove_all(folder);
}
