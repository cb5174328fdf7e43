// Other programs, run through the shell.
#include "tests/export/outside.h"

#include <cstdio>
#include <cstdlib>
#include <sstream>
#include <stdexcept>

#include <nlohmann/json.hpp>

namespace bentline::testing {

namespace fs = std::filesystem;

namespace {

std::string output_of(const std::string& command) {
    std::FILE* pipe = ::popen(command.c_str(), "r");
    if (pipe == nullptr) throw std::runtime_error("cannot run " + command);
    std::string all;
    char buffer[4096];
    while (const std::size_t n = std::fread(buffer, 1, sizeof buffer, pipe))
        all.append(buffer, n);
    ::pclose(pipe);
    return all;
}

bool there(const char* program) {
    return !output_of("command -v " + std::string(program)).empty();
}

fs::path schema_folder() {
    if (const char* named = std::getenv("BENTLINE_MUSICXML_SCHEMA")) return named;  // NOLINT
    return fs::path(BENTLINE_SOURCE_DIR) / ".." / "shared" / "musicxml-4.0";
}

fs::path readers_folder() {
    return fs::path(BENTLINE_SOURCE_DIR) / "tests" / "export" / "readers";
}

std::string listed(const std::vector<fs::path>& files) {
    std::string text;
    for (const fs::path& f : files)
        text += " '" + f.string() + "'";
    return text;
}

Reading reading_of(const nlohmann::json& j) {
    Reading r;
    if (j.contains("error")) {
        r.error = j.at("error").get<std::string>();
        return r;
    }
    r.bars = j.at("bars").get<int>();
    r.notes = j.at("notes").get<int>();
    r.tab_notes = j.at("tab_notes").get<int>();
    r.keys = j.at("midi").get<std::vector<int>>();
    if (j.contains("drawn")) r.drawn = j.at("drawn").get<int>();
    return r;
}

}  // namespace

std::string no_schema() {
    if (!there("xmllint")) return "xmllint is not installed (third_party/install.sh test)";
    if (!fs::exists(schema_folder() / "musicxml.xsd"))
        return "the schema is not at " + schema_folder().string() +
               "; BENTLINE_MUSICXML_SCHEMA may name its folder";
    return "";
}

std::string schema_faults(const std::vector<fs::path>& files) {
    const fs::path folder = schema_folder();
    const std::string said =
        output_of("XML_CATALOG_FILES='" + (folder / "catalog.xml").string() +
                  "' xmllint --nonet --noout --schema '" + (folder / "musicxml.xsd").string() +
                  "'" + listed(files) + " 2>&1");
    std::istringstream lines(said);
    std::string faults;
    std::size_t valid = 0;
    for (std::string line; std::getline(lines, line);) {
        if (line.ends_with(" validates"))
            ++valid;
        else
            faults += line + "\n";
    }
    if (faults.empty() && valid != files.size()) return "xmllint did not look at all files";
    return faults;
}

std::string no_readers() {
    if (!there("node")) return "node is not installed";
    if (!fs::exists(readers_folder() / "node_modules" / "verovio") ||
        !fs::exists(readers_folder() / "node_modules" / "opensheetmusicdisplay"))
        return "the readers are not installed (third_party/install.sh test, where npm is)";
    return "";
}

std::vector<Readings> read_outside(const std::vector<fs::path>& files, bool draw,
                                   const fs::path& pictures) {
    const std::string said = output_of(
        "node '" + (readers_folder() / "read.mjs").string() + "'" + (draw ? "" : " --load-only") +
        (pictures.empty() ? "" : " --pictures '" + pictures.string() + "'") + listed(files) +
        " 2>/dev/null");
    std::vector<Readings> readings;
    std::istringstream lines(said);
    for (std::string line; std::getline(lines, line);) {
        if (line.empty() || line[0] != '{') continue;
        const auto j = nlohmann::json::parse(line);
        readings.push_back({reading_of(j.at("a")), reading_of(j.at("b"))});
    }
    return readings;
}

}  // namespace bentline::testing
