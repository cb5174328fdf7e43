// bentline_export_runner N [FOLDER]: hands out N generated choruses and counts what holds.
//   N: how many. FOLDER: keeps the files, and the readers' drawings of the first few, there.
// Prints a table; ends with 1 where anything fails.
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <unistd.h>

#include "tests/export/check_chorus.h"
#include "tests/export/chorus.h"

using namespace bentline;
using namespace bentline::testing;
namespace fs = std::filesystem;

int main(int argc, char** argv) {
    const int count = argc > 1 ? std::atoi(argv[1]) : 10;  // NOLINT
    const bool keep = argc > 2;
    const fs::path folder =
        keep ? fs::path(argv[2])
             : fs::temp_directory_path() / ("bentline-choruses-" + std::to_string(::getpid()));
    fs::create_directories(folder);
    std::vector<fs::path> files;
    std::vector<std::string> texts;
    int wrong = 0;
    int notes = 0;
    int without = 0;
    int impossible = 0;
    for (int i = 0; i < count; ++i) {
        const ChorusChecked checked = check_chorus(made_chorus(i, count));
        if (!checked.fault.empty()) {
            ++wrong;
            std::printf("chorus %d: %s\n", i, checked.fault.c_str());
        }
        notes += checked.notes;
        without += checked.without_spot;
        impossible += checked.impossible;
        files.push_back(folder / ("chorus-" + std::to_string(i) + ".musicxml"));
        std::ofstream(files.back()) << checked.xml;
        texts.push_back(checked.xml);
    }
    std::printf("choruses                             %d\n", count);
    std::printf("notes                                %d\n", notes);
    std::printf("wrong sums, ends, spots or MIDI      %d\n", wrong);
    std::printf("impossible fingerings                %d\n", impossible);
    std::printf("notes left without a spot            %d\n", without);
    bool fine = wrong == 0 && impossible == 0;
    if (const std::string why = no_schema(); !why.empty()) {
        std::printf("schema: skipped, %s\n", why.c_str());
    } else {
        const std::string faults = schema_faults(files);
        std::printf("schema-valid                         %s\n",
                    faults.empty() ? "all" : faults.c_str());
        fine = fine && faults.empty();
    }
    if (const std::string why = no_readers(); !why.empty()) {
        std::printf("readers: skipped, %s\n", why.c_str());
    } else {
        int first = 0;
        int second = 0;
        constexpr std::size_t batch = 25;
        for (std::size_t from = 0; from < files.size(); from += batch) {
            const std::size_t to = std::min(files.size(), from + batch);
            const auto readings = read_outside({files.begin() + static_cast<std::ptrdiff_t>(from),
                                                files.begin() + static_cast<std::ptrdiff_t>(to)},
                                               keep && from == 0 ? folder : fs::path());
            for (std::size_t i = 0; i < readings.size(); ++i) {
                const std::string a = fault_of_reading(readings[i].first, texts[from + i]);
                const std::string b = fault_of_reading(readings[i].second, texts[from + i]);
                first += a.empty() ? 1 : 0;
                second += b.empty() ? 1 : 0;
                for (const std::string& fault : {a, b}) {
                    if (!fault.empty()) std::printf("chorus %zu: %s\n", from + i, fault.c_str());
                }
            }
        }
        std::printf("read, counted and drawn alike        %d and %d of %d\n", first, second, count);
        fine = fine && first == count && second == count;
    }
    if (!keep) fs::remove_all(folder);
    return fine ? 0 : 1;
}
