// Prints the quality table: every measurement, every engine, at 0.25, 0.5 and 0.75 of the speed.
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "tests/reference/designs.h"
#include "tests/reference/engines.h"
#include "tests/reference/measures.h"

using namespace bentline::reference;

namespace {

using Figures = std::vector<double>;  // one a row

const std::vector<std::string> rows = {
    "worst partial, c",
    "between partials, dB",
    "modulation of a steady tone, dB",
    "low chord, residue, dB",
    "click timing, worst, ms",
    "click delay, constant, ms",
    "click rise, times the input's",
    "clicks twice or lost, %",
    "pre-echo, dB",
    "plucked line against exact, dB",
    "the same, in the attacks, dB",
    "synth phrase against slower, dB",
    "the same, in the attacks, dB",
    "bend followed, c rms",
    "vibrato followed, c rms",
    "vibrato rate, % off",
    "vibrato depth, c off",
    "noise: levels held, %",
    "noise: flatness lost, dB",
    "noise: heard again, %",
    "noise: unrest, times noise's own",
    "noise: band level off, dB",
    "tone in noise: noise off, dB",
    "cymbal: course off, dB",
    "left into right, dB",
    "length, frames off",
};

// What slows a sound: channels in, channels out, at a speed; says how many frames were given.
struct Slower {
    std::string name;
    std::function<std::vector<Signal>(const std::vector<Signal>&, double, std::size_t*)> all;

    Signal one(const Signal& in, double speed) const { return all({in}, speed, nullptr)[0]; }
};

Slower slower(Engine e) {
    return {name(e), [e](const std::vector<Signal>& in, double speed, std::size_t* given) {
                return slow(e, in, speed, given);
            }};
}

Slower slower(Design d) {
    return {name(d), [d](const std::vector<Signal>& in, double speed, std::size_t* given) {
                std::vector<Signal> out;
                for (const Signal& c : in)
                    out.push_back(slow(d, c, speed));
                if (given != nullptr) *given = out[0].size();
                return out;
            }};
}

Figures measure(const Slower& e, double speed) {
    Figures f;
    double cents = 0.0;
    double between = -300.0;
    double modulation = 0.0;
    for (const double hz : {98.0, 196.0, 440.0, 987.77}) {
        const Tone tone = steady_tone(hz, 8, 3.0);
        const Signal y = e.one(tone.sound, speed);
        cents = std::max(cents, worst_partial_cents(tone, y));
        between = std::max(between, between_partials_db(tone, y));
        modulation = std::max(modulation, modulation_db(tone, y));
    }
    f.insert(f.end(), {cents, between, modulation});
    const Tone chord = low_chord(3.0);
    f.push_back(fit_residue_db(chord, e.one(chord.sound, speed)));

    const Clicks alone = clicks(false);
    const Clicks over = clicks(true);
    const ClickFigures a = click_figures(alone, e.one(alone.sound, speed), speed, true);
    const ClickFigures b = click_figures(over, e.one(over.sound, speed), speed, false);
    f.insert(f.end(),
             {std::max(a.timing_ms, b.timing_ms), a.offset_ms, std::max(a.rise_ratio, b.rise_ratio),
              0.5 * (a.wrong_percent + b.wrong_percent), a.pre_echo_db});

    const Distance line =
        spectral_distance(plucked_line(speed), e.one(plucked_line(1.0).sound, speed));
    const Distance synth =
        spectral_distance(synth_phrase(speed), e.one(synth_phrase(1.0).sound, speed));
    f.insert(f.end(), {line.whole_db, line.attacks_db, synth.whole_db, synth.attacks_db});

    const Moving bend = moving_tone(Motion::bend);
    const Moving vibrato = moving_tone(Motion::vibrato);
    f.push_back(motion_error_cents(Motion::bend, bend, e.one(bend.sound, speed), speed));
    const Signal shaken = e.one(vibrato.sound, speed);
    f.push_back(motion_error_cents(Motion::vibrato, vibrato, shaken, speed));
    const Vibrato v = vibrato_of(vibrato, shaken, speed);
    f.insert(f.end(),
             {std::abs(v.rate_hz / (5.5 * speed) - 1.0) * 100.0, std::abs(v.depth_cents - 35.0)});

    NoiseFigures worst{};
    worst.unrest = 1.0;
    for (const Colour colour : {Colour::white, Colour::pink}) {
        const Signal x = noise(colour, 3.0, 21);
        const NoiseFigures n = noise_figures(x, e.one(x, speed));
        worst.held_percent = std::max(worst.held_percent, n.held_percent);
        worst.flatness_db = std::max(worst.flatness_db, n.flatness_db);
        if (colour == Colour::white) worst.repeated_percent = n.repeated_percent;
        if (std::abs(std::log(n.unrest)) > std::abs(std::log(worst.unrest)))
            worst.unrest = n.unrest;
        worst.level_db = std::max(worst.level_db, n.level_db);
    }
    f.insert(f.end(), {worst.held_percent, worst.flatness_db, worst.repeated_percent, worst.unrest,
                       worst.level_db});
    Tone veiled = steady_tone(440.0, 8, 3.0);
    const Signal veil = noise(Colour::white, 3.0, 22);
    for (std::size_t i = 0; i < veil.size(); ++i)
        veiled.sound[i] += 0.1F * veil[i];  // -40 dBFS
    f.push_back(noise_between_db(veiled, e.one(veiled.sound, speed)));
    f.push_back(cymbal_course_db(e.one(cymbal(1.0), speed), speed));

    const Signal left = plucked_line(1.0).sound;
    std::size_t given = 0;
    const auto both = e.all({left, Signal(left.size(), 0.0F)}, speed, &given);
    f.push_back(std::max(-200.0, level_db(both[1]) - level_db(both[0])));
    f.push_back(static_cast<double>(given) - std::round(static_cast<double>(left.size()) / speed));
    return f;
}

}  // namespace

// quality [own|designs]: with "own" only our engine, to try things quickly; with "designs" beside
// published designs instead of libraries; [speed] for one speed.
int main(int argc, char** argv) {
    const std::string which = argc > 1 ? argv[1] : "";
    std::vector<double> speeds = {0.5, 0.25, 0.75};
    if (argc > 2) speeds = {std::atof(argv[2])};
    std::vector<Slower> columns = {slower(Engine::own)};
    if (which == "designs") {
        for (const Design d : designs)
            columns.push_back(slower(d));
    } else if (which != "own") {
        for (const Engine e : engines) {
            if (e != Engine::own) columns.push_back(slower(e));
        }
    }
    for (const double speed : speeds) {
        std::vector<Figures> figures;
        std::printf("\nAt %.2f of the speed\n\n| figure |", speed);
        for (const Slower& s : columns) {
            std::printf(" %s |", s.name.c_str());
            figures.push_back(measure(s, speed));
        }
        std::printf("\n| --- |");
        for (std::size_t i = 0; i < columns.size(); ++i)
            std::printf(" ---: |");
        std::printf("\n");
        for (std::size_t r = 0; r < rows.size(); ++r) {
            std::printf("| %s |", rows[r].c_str());
            for (const Figures& c : figures)
                std::printf(" %.*f |", std::abs(c[r]) < 10.0 ? 3 : 1, c[r]);
            std::printf("\n");
        }
        const Distance guide =
            spectral_distance(plucked_line(speed, true), plucked_line(speed).sound);
        std::printf(
            "\nThe plucked line's exact slow version lies %.3f dB (in the attacks %.3f) from "
            "the same line played slower with its decay kept.\n",
            guide.whole_db, guide.attacks_db);
        std::fflush(stdout);
    }
    return 0;
}
