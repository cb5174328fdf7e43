// staging: several files come into being together or not at all.
#include <filesystem>
#include <string>

#include <doctest/doctest.h>
#include <sys/stat.h>
#include <unistd.h>

#include "engine/recording/staging.h"
#include "tests/recording/small_disk.h"
#include "tests/recording/sound_files.h"

using namespace bentline;
using namespace bentline::testing;
namespace fs = std::filesystem;

TEST_CASE("staging: nothing is seen until all is put in place, then all of it is there") {
    const Folder folder;
    REQUIRE(write_file(folder / "a", "old").ok());
    Staging staging;
    REQUIRE(staging.add(folder / "a", "new a").ok());
    REQUIRE(staging.add(folder / "b", "new b").ok());
    const auto hidden = staging.add_folder(folder / "made" / "clips");
    REQUIRE(hidden.ok());
    REQUIRE(write_file(*hidden / "one.wav", "sound").ok());
    CHECK(bytes_of(folder / "a") == "old");
    CHECK_FALSE(fs::exists(folder / "b"));
    CHECK_FALSE(fs::exists(folder / "made"));
    REQUIRE(staging.put_in_place().ok());
    CHECK(bytes_of(folder / "a") == "new a");
    CHECK(bytes_of(folder / "b") == "new b");
    CHECK(bytes_of(folder / "made" / "clips" / "one.wav") == "sound");
}

TEST_CASE("staging: dropped before it is put in place it leaves nothing") {
    const Folder folder;
    {
        Staging staging;
        REQUIRE(staging.add(folder / "a", "a").ok());
        const auto hidden = staging.add_folder(folder / "clips/");
        REQUIRE(hidden.ok());
        REQUIRE(write_file(*hidden / "one.wav", "sound").ok());
    }
    CHECK(entries(folder.path()) == 0);
}

TEST_CASE("staging: other files of a folder stay, and hidden names go") {
    const Folder folder;
    fs::create_directory(folder / "clips");
    REQUIRE(write_file(folder / "clips" / "mine.txt", "mine").ok());
    REQUIRE(write_file(folder / "clips" / "one.wav", "old").ok());
    {
        Staging staging;
        const auto hidden = staging.add_folder(folder / "clips");
        REQUIRE(hidden.ok());
        REQUIRE(write_file(*hidden / "one.wav", "new").ok());
        REQUIRE(staging.put_in_place().ok());
    }
    CHECK(bytes_of(folder / "clips" / "mine.txt") == "mine");
    CHECK(bytes_of(folder / "clips" / "one.wav") == "new");
    CHECK(entries(folder / "clips") == 2);
    CHECK(entries(folder.path()) == 1);
}

TEST_CASE("staging: when the last move fails, the first ones are taken back") {
    const Folder folder;
    REQUIRE(write_file(folder / "a", "old").ok());
    {
        Staging staging;
        REQUIRE(staging.add(folder / "a", "new").ok());
        REQUIRE(staging.add(folder / "b", "new").ok());
        REQUIRE(staging.add(folder / "c", "new").ok());
        const auto hidden = staging.add_folder(folder / "clips");
        REQUIRE(hidden.ok());
        REQUIRE(write_file(*hidden / "one.wav", "sound").ok());
        // A folder of that name has come meanwhile: no file can be moved there.
        fs::create_directory(folder / "c");
        REQUIRE(write_file(folder / "c" / "in the way", "x").ok());
        const auto moved = staging.put_in_place();
        REQUIRE_FALSE(moved.ok());
        CHECK(moved.failure().kind == FailureKind::cannot_write);
        CHECK(moved.failure().sentence.find((folder / "c").string()) != std::string::npos);
    }
    CHECK(bytes_of(folder / "a") == "old");
    CHECK_FALSE(fs::exists(folder / "b"));
    CHECK_FALSE(fs::exists(folder / "clips"));
    CHECK(bytes_of(folder / "c" / "in the way") == "x");
    CHECK(entries(folder.path()) == 2);
}

TEST_CASE("staging: a full disk, a folder that is gone, one name twice") {
    const Folder folder;
    REQUIRE(write_file(folder / "a", "old").ok());
    {
        Staging staging;
        REQUIRE(staging.add(folder / "a", "new").ok());
        const auto full = [&] {
            const SmallDisk disk(1000);
            return staging.add(folder / "b", std::string(5000, 'x'));
        }();
        REQUIRE_FALSE(full.ok());
        CHECK(full.failure().kind == FailureKind::cannot_write);
        const auto gone = staging.add(folder / "gone" / "c", "c");
        REQUIRE_FALSE(gone.ok());
        CHECK(gone.failure().sentence.find("gone") != std::string::npos);
        CHECK_FALSE(staging.add(folder / "a", "again").ok());
        CHECK_FALSE(staging.add_folder(folder / "a").ok());
    }
    CHECK(bytes_of(folder / "a") == "old");
    CHECK(entries(folder.path()) == 1);
}
