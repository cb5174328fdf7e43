// structure: folders include only what lies upstream of them, libraries stay at the rim, the top
// level holds what it should.
#include <array>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <string>
#include <vector>

#include <doctest/doctest.h>

namespace fs = std::filesystem;

namespace {

const fs::path root = BENTLINE_SOURCE_DIR;

// Folder -> folders that it may include (itself and engine's own root are always allowed).
const std::map<std::string, std::set<std::string>> upstream = {
    {"engine/transform", {}},
    {"engine/recording", {"engine/transform"}},
    {"engine/listening", {"engine/transform", "engine/recording"}},
    {"engine/pitch", {"engine/transform", "engine/recording"}},
    {"engine/notes", {"engine/transform", "engine/recording", "engine/pitch"}},
    {"engine/bars", {"engine/transform", "engine/recording", "engine/pitch", "engine/notes"}},
    {"engine/draft", {"engine/recording", "engine/pitch", "engine/notes", "engine/bars"}},
    {"engine/score", {"engine/notes", "engine/bars", "engine/draft"}},
    {"engine/tab", {"engine/notes", "engine/bars", "engine/draft", "engine/score"}},
    {"engine/sound",
     {"engine/recording", "engine/listening", "engine/notes", "engine/bars", "engine/draft"}},
    {"engine/export",
     {"engine/recording", "engine/listening", "engine/notes", "engine/bars", "engine/draft",
      "engine/score", "engine/tab", "engine/sound"}},
    {"engine/lesson",
     {"engine/notes", "engine/bars", "engine/draft", "engine/score", "engine/tab",
      "engine/export"}},
};

// Headers of outside libraries -> the only folders that may include them.
const std::map<std::string, std::set<std::string>> rim = {
    {"sndfile.h", {"engine/recording"}},
    {"mpg123.h", {"engine/recording"}},
    {"vorbis/", {"engine/recording"}},
    {"ebur128.h", {"engine/recording"}},
    {"kiss_fft", {"engine/transform"}},
    {"portaudio.h", {"engine/listening"}},
    {"imgui", {"ui/window"}},
    {"GLFW", {"ui/window"}},
    {"GL/", {"ui/window"}},
    {"X11/", {}},
    {"png.h", {"ui/window"}},
    {"CLI/", {"ui/command"}},
    {"pugixml", {"engine/export"}},
    {"zip.h", {"engine/export"}},
    {"cairo", {"engine/export"}},
    {"ft2build.h", {"engine/export"}},
    {"nlohmann", {"engine/draft", "engine/export", "engine/lesson", "ui/command", "ui/window"}},
};

struct Include {
    std::string folder;  // of the including file, relative to the root: "engine/pitch"
    std::string file;
    std::string target;
    bool quoted;
};

// The first two parts of a path: "engine/pitch/curve.h" -> "engine/pitch"; "engine/units.h" ->
// "engine".
std::string folder_of(const std::string& path) {
    const auto first = path.find('/');
    const auto second = path.find('/', first + 1);
    return path.substr(0, second == std::string::npos ? first : second);
}

std::vector<Include> includes_below(const std::string& top) {
    static const std::regex line_form(R"(^\s*#\s*include\s*(["<])([^">]+)[">])");
    std::vector<Include> found;
    for (const auto& entry : fs::recursive_directory_iterator(root / top)) {
        const auto ext = entry.path().extension();
        if (!entry.is_regular_file() || (ext != ".h" && ext != ".cpp")) continue;
        const std::string file = fs::relative(entry.path(), root).generic_string();
        std::ifstream in(entry.path());
        for (std::string line; std::getline(in, line);) {
            std::smatch m;
            if (std::regex_search(line, m, line_form)) {
                found.push_back({folder_of(file), file, m[2], m[1] == "\""});
            }
        }
    }
    return found;
}

bool allowed_inside(const Include& i) {
    if (!i.quoted) return true;
    const std::string target = folder_of(i.target);
    if (target == "engine" || target == i.folder) return true;
    if (i.folder == "engine") return false;  // the root files stand on nothing
    const auto row = upstream.find(i.folder);
    return row != upstream.end() && row->second.count(target) > 0;
}

}  // namespace

TEST_CASE("structure: engine folders include only those upstream of them") {
    const auto includes = includes_below("engine");
    REQUIRE(includes.size() > 10);
    for (const Include& i : includes) {
        CHECK_MESSAGE(allowed_inside(i), i.file, " includes ", i.target);
    }
}

TEST_CASE("structure: the scan itself can fail") {
    CHECK_FALSE(allowed_inside({"engine/pitch", "x.cpp", "engine/notes/note.h", true}));
    CHECK_FALSE(allowed_inside({"engine/draft", "x.cpp", "ui/window/state.h", true}));
    CHECK_FALSE(allowed_inside({"engine/unheard_of", "x.cpp", "engine/notes/note.h", true}));
    CHECK(allowed_inside({"engine/notes", "x.cpp", "engine/pitch/curve.h", true}));
}

TEST_CASE("structure: outside libraries appear only in the folders that own them") {
    for (const char* top : {"engine", "ui"}) {
        for (const Include& i : includes_below(top)) {
            for (const auto& [header, folders] : rim) {
                if (i.quoted || i.target.rfind(header, 0) != 0) continue;
                CHECK_MESSAGE(folders.count(i.folder) > 0, i.file, " includes ", i.target);
            }
        }
    }
}

TEST_CASE("structure: every folder of the engine is on the map") {
    for (const auto& entry : fs::directory_iterator(root / "engine")) {
        if (!entry.is_directory()) continue;
        const std::string name = "engine/" + entry.path().filename().string();
        CHECK_MESSAGE(upstream.count(name) == 1, name);
    }
}

TEST_CASE("structure: the top level holds what it should and nothing else") {
    const std::set<std::string> fixed = {"CMakeLists.txt", "README.md", "DEVELOPERS.md",
                                         "engine",         "ui",        "tests",
                                         "third_party",    "demo_audio"};
    std::set<std::string> seen;
    for (const auto& entry : fs::directory_iterator(root)) {
        const std::string name = entry.path().filename().string();
        if (name[0] == '.' || name.rfind("build", 0) == 0 || name == "out") continue;
        seen.insert(name);
    }
    CHECK(seen == fixed);
}
