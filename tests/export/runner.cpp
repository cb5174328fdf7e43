// bentline_export_runner N [FOLDER] [every=10]: hands out N generated choruses and counts what
// holds.
//   N: how many. FOLDER: keeps the files, and the readers' drawings, there.
// The readers load all of them and draw every tenth (drawing takes a second each); every=1: all.
// Prints a table; ends with 1 where anything fails.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <unistd.h>

#include "engine/draft/draft_file.h"
#include "tests/export/check_chorus.h"
#include "tests/export/chorus.h"

using namespace bentline;
using namespace bentline::testing;
namespace fs = std::filesystem;

namespace {

// How many files each reader read and counted as the file says.
struct Tally {
    int first = 0;
    int second = 0;
    int drawn = 0;  // heads and frets, by both
};

void read_in_batches(const std::vector<std::size_t>& which, bool draw, const fs::path& pictures,
                     const std::vector<fs::path>& files, const std::vector<std::string>& texts,
                     Tally& tally) {
    constexpr std::size_t batch = 25;
    for (std::size_t from = 0; from < which.size(); from += batch) {
        std::vector<fs::path> some;
        for (std::size_t i = from; i < std::min(which.size(), from + batch); ++i)
            some.push_back(files[which[i]]);
        const auto readings = read_outside(some, draw, pictures);
        for (std::size_t i = 0; i < readings.size(); ++i) {
            const std::size_t chorus = which[from + i];
            const std::string a = fault_of_reading(readings[i].first, texts[chorus]);
            const std::string b = fault_of_reading(readings[i].second, texts[chorus]);
            tally.first += a.empty() ? 1 : 0;
            tally.second += b.empty() ? 1 : 0;
            tally.drawn +=
                readings[i].first.drawn.value_or(0) + readings[i].second.drawn.value_or(0);
            for (const std::string& fault : {a, b}) {
                if (!fault.empty()) std::printf("chorus %zu: %s\n", chorus, fault.c_str());
            }
        }
    }
}

}  // namespace

int main(int argc, char** argv) {
    const int count = argc > 1 ? std::atoi(argv[1]) : 10;  // NOLINT
    std::size_t every = 10;
    std::string kept;
    for (const std::string& word :
         std::vector<std::string>(argv + std::min(argc, 2), argv + argc)) {
        if (word.rfind("every=", 0) == 0)
            every = static_cast<std::size_t>(std::max(1, std::atoi(word.c_str() + 6)));  // NOLINT
        else
            kept = word;
    }
    const bool keep = !kept.empty();
    const fs::path folder =
        keep ? fs::path(kept)
             : fs::temp_directory_path() / ("bentline-choruses-" + std::to_string(::getpid()));
    fs::create_directories(folder);
    std::vector<fs::path> files;
    std::vector<std::string> texts;
    int wrong = 0;
    int notes = 0;
    int without = 0;
    int impossible = 0;
    for (int i = 0; i < count; ++i) {
        const Draft draft = made_chorus(i, count);
        const ChorusChecked checked = check_chorus(draft);
        if (keep) {
            const std::string name = "chorus-" + std::to_string(i);
            (void)save_draft(draft, folder / (name + ".bentline"));
        }
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
        Tally tally;
        std::vector<std::size_t> drawn;
        std::vector<std::size_t> loaded;
        for (std::size_t i = 0; i < files.size(); ++i)
            (i % every == 0 ? drawn : loaded).push_back(i);
        read_in_batches(drawn, true, keep ? folder : fs::path(), files, texts, tally);
        read_in_batches(loaded, false, {}, files, texts, tally);
        std::printf("read and counted alike               %d and %d of %d\n", tally.first,
                    tally.second, count);
        std::printf("of these also drawn by both          %zu, with %d heads and frets\n",
                    drawn.size(), tally.drawn);
        fine = fine && tally.first == count && tally.second == count;
    }
    if (!keep) fs::remove_all(folder);
    return fine ? 0 : 1;
}
