// What others say of our MusicXML: the W3C's schema through xmllint, and two readers from npm
// (tests/export/readers). Each may be missing on a machine; then there is a reason instead.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace bentline::testing {

// Empty, or why there is no schema: it is looked for where BENTLINE_MUSICXML_SCHEMA says, else in
// shared/musicxml-4.0 beside the source folder.
std::string no_schema();
// What xmllint says against the files, one line a fault; empty where all are valid.
std::string schema_faults(const std::vector<std::filesystem::path>& files);

// Empty, or why there are no readers (node, or `npm ci` in tests/export/readers).
std::string no_readers();
struct Reading {
    std::string error;  // empty: it was loaded and drawn
    int bars = 0;
    int notes = 0;  // of the notation staff
    int tab_notes = 0;
    std::vector<int> keys;     // sounding, in order
    std::optional<int> drawn;  // heads and frets in the drawing; empty: only loaded
};
struct Readings {
    Reading first;
    Reading second;
};
// One a file. draw: they also draw it. pictures: a folder for the drawings, or empty.
std::vector<Readings> read_outside(const std::vector<std::filesystem::path>& files,
                                   bool draw = true, const std::filesystem::path& pictures = {});

}  // namespace bentline::testing
