// Scores the engine on the corpus and prints one table. README.md beside this file says what the
// columns mean.
#include <cstddef>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <CLI/CLI.hpp>

#include "tests/corpus/case_files.h"
#include "tests/corpus/collection.h"
#include "tests/corpus/hinted.h"
#include "tests/corpus/listeners.h"
#include "tests/corpus/reliability.h"
#include "tests/corpus/scoreboard.h"

using namespace bentline;
using namespace bentline::corpus;

namespace {

struct Wishes {
    std::vector<std::string> sets{"clean"};
    std::string seeds = "dev";
    std::string font;
    int takes = 40;
    int first = 0;
    double seconds = 8.0;
    bool pointed = false;
    bool aubio = false;
    bool classical = false;
    bool each = false;
    bool by_instrument = false;
    std::string save;
    double save_below = 2.0;
    std::string plot;
};

// "band0+inked": the set, and the hints that are given in it.
struct SetWish {
    std::string set;
    HintKind hints = HintKind::none;
};

std::optional<SetWish> read_set(const std::string& text) {
    const auto plus = text.find_last_of('+');
    if (plus == std::string::npos) return SetWish{text, HintKind::none};
    if (const auto kind = hint_kind(std::string_view(text).substr(plus + 1)))
        return SetWish{text.substr(0, plus), *kind};
    return SetWish{text, HintKind::none};
}

bool choose(const std::string& set, SetChoice& choice) {
    if (set == "clean") return true;
    choice.unison_bends = set == "unison";
    if (choice.unison_bends) return true;
    choice.scene = set == "room" ? Scene::room : Scene::band;
    if (set == "room") return true;
    if (set == "band+6")
        choice.lead_over_band = Decibels(6.0);
    else if (set == "band0")
        choice.lead_over_band = Decibels(0.0);
    else if (set == "band-3")
        choice.lead_over_band = Decibels(-3.0);
    else
        return false;
    return true;
}

Seeds seeds_named(const std::string& word) {
    if (word == "locked") return Seeds::locked;
    if (word == "wide") return Seeds::wide;
    return word == "foreign" ? Seeds::foreign : Seeds::development;
}

// One set; false when something could not be made or heard.
bool score_set(const Wishes& wishes, const SetChoice& choice, HintKind kind,
               const std::string& word, std::vector<Scoreboard>& boards) {
    Collection collection(choice);
    Scoreboard ours;
    Scoreboard hinted;  // with hints, on what they did not tell; then `ours` is on the same
    hinted.name = "  with " + word;
    Scoreboard classical;
    Scoreboard reference;
    std::map<std::string, Scoreboard> by_instrument;
    ours.name = collection.set_name() + (wishes.pointed ? ", pointed" : "");
    classical.name = "  without the network";
    reference.name = collection.set_name() + ", aubio";
    for (int i = wishes.first; i < wishes.first + wishes.takes; ++i) {
        const auto take = collection.make(i);
        if (!take) {
            std::cerr << take.failure().sentence << '\n';
            return false;
        }
        const std::clock_t began = std::clock();
        const auto heard = hear_with_engine(take->audio, wishes.pointed ? take->focus : Focus{});
        if (!heard) {
            std::cerr << take->name << ": " << heard.failure().sentence << '\n';
            return false;
        }
        ours.hearing_time += Seconds(static_cast<double>(std::clock() - began) / CLOCKS_PER_SEC);
        ours.heard_length += take->audio.duration();
        if (kind != HintKind::none) {
            const Focus focus = wishes.pointed ? take->focus : Focus{};
            const Given given = give_hints(kind, *take, *heard, static_cast<std::uint64_t>(i) + 1);
            const auto again = hear_with_engine(take->audio, focus, given.hints);
            if (!again) {
                std::cerr << take->name << ": " << again.failure().sentence << '\n';
                return false;
            }
            const Remainder before = without_given(*take, *heard, given.given_notes);
            const Remainder after = without_given(*take, *again, given.given_notes);
            ours.add(before.take, before.heard);
            hinted.add(after.take, after.heard);
            continue;
        }
        ours.add(*take, *heard);
        by_instrument[take->name.substr(0, take->name.find(','))].add(*take, *heard);
        if (wishes.classical) {
            const auto again =
                hear_without_network(take->audio, wishes.pointed ? take->focus : Focus{});
            if (!again) {
                std::cerr << take->name << ": " << again.failure().sentence << '\n';
                return false;
            }
            classical.add(*take, *again);
        }
        if (wishes.aubio) reference.add(*take, hear_with_aubio(take->audio));
        if (wishes.each) {
            std::printf("%3d %-28s RPA50 %.3f RPA10 %.3f rec %.3f FA %.3f noteF %.3f\n", i,
                        take->name.c_str(), ours.melody.back().raw_pitch_50,
                        ours.melody.back().raw_pitch_10, ours.melody.back().voicing_recall,
                        ours.melody.back().false_alarm, ours.notes.back().f1);
        }
        if (!wishes.save.empty() && ours.notes.back().f1 < wishes.save_below) {
            const auto saved = save_case(wishes.save, i, *take, *heard);
            if (!saved) {
                std::cerr << saved.failure().sentence << '\n';
                return false;
            }
        }
    }
    if (kind != HintKind::none) ours.name += ", beside " + word;
    boards.push_back(std::move(ours));
    if (kind != HintKind::none) boards.push_back(std::move(hinted));
    if (wishes.classical && kind == HintKind::none) boards.push_back(std::move(classical));
    if (wishes.by_instrument) {
        for (auto& [name, board] : by_instrument) {
            board.name = "  " + name;
            boards.push_back(std::move(board));
        }
    }
    if (wishes.aubio) boards.push_back(std::move(reference));
    return true;
}

}  // namespace

int main(int argc, char** argv) {
    Wishes wishes;
    CLI::App app("Scores the engine on made music whose truth is known");
    app.add_option(
        "sets", wishes.sets,
        "clean, unison, room, band+6, band0, band-3; with hints: band0+inked, +bars, +here, "
        "+not, +beats, +all");
    app.add_option("--plot", wishes.plot,
                   "draw the calibration of every set into this folder, as SVG and as text");
    app.add_option("--seeds", wishes.seeds, "dev, locked, wide or foreign")
        ->check(CLI::IsMember({"dev", "locked", "wide", "foreign"}));
    app.add_option("--takes", wishes.takes, "how many takes of each set")
        ->check(CLI::Range(1, 100000));
    app.add_option("--seconds", wishes.seconds, "length of a take, about")
        ->check(CLI::Range(3.0, 600.0));
    app.add_option("--first", wishes.first, "number of the first take");
    app.add_option("--font", wishes.font, "only instruments with this in their name");
    app.add_flag("--pointed", wishes.pointed, "tell the engine register and place of the soloist");
    app.add_flag("--aubio", wishes.aubio, "a reference row by aubio");
    app.add_flag("--by-instrument", wishes.by_instrument, "also a row for every instrument");
    app.add_flag("--classical", wishes.classical,
                 "a row by the engine without its network, and what the network gains");
    app.add_flag("--each", wishes.each, "a line for every take");
    app.add_option("--save", wishes.save,
                   "write takes as WAV, with truth and estimate as JSON, into this folder");
    app.add_option("--save-below", wishes.save_below, "only takes with a note F1 below this");
    CLI11_PARSE(app, argc, argv);

    std::vector<Scoreboard> boards;
    for (const std::string& set : wishes.sets) {
        SetChoice choice;
        choice.seeds = seeds_named(wishes.seeds);
        choice.only_font = wishes.font;
        choice.length = Seconds(wishes.seconds);
        const auto wish = read_set(set);
        if (!wish || !choose(wish->set, choice)) {
            std::cerr << "there is no set '" << set
                      << "': clean, unison, room, band+6, band0 or band-3\n";
            return 2;
        }
        if (const auto missing = missing_file(choice.seeds)) {
            std::cerr << *missing << ": run third_party/install.sh test\n";
            return 1;
        }
        const std::string word = set.substr(set.find_last_of('+') + 1);
        if (!score_set(wishes, choice, wish->hints, word, boards)) return 1;
    }
    print_table(std::cout, boards);
    for (std::size_t i = 1; i < boards.size(); ++i) {
        const std::string& name = boards[i].name;
        if (name.starts_with("  with ")) print_gain(std::cout, boards[i - 1], boards[i]);
        if (name.starts_with("  without")) print_gain(std::cout, boards[i], boards[i - 1]);
    }
    for (const Scoreboard& b : boards) {
        if (b.name.find("aubio") != std::string::npos || b.name.starts_with("  ")) continue;
        print_kinds(std::cout, b);
        print_reliability(std::cout, b);
        print_errors(std::cout, b);
        print_choices(std::cout, b);
    }
    if (!wishes.plot.empty()) {
        const auto drawn = plot_reliability(wishes.plot, boards);
        if (!drawn) {
            std::cerr << drawn.failure().sentence << '\n';
            return 1;
        }
    }
    return 0;
}
