// The corpus's tables in plain text.
#include <array>
#include <cstdio>
#include <ostream>
#include <string>
#include <utility>

#include "tests/corpus/scoreboard.h"

namespace bentline::corpus {

namespace {

template <class... Values>
void line(std::ostream& out, const char* form, Values... values) {
    std::array<char, 400> text{};
    std::snprintf(text.data(), text.size(), form, values...);  // NOLINT
    out << text.data() << '\n';
}

template <std::size_t... I>
std::array<const char*, kind_count> names_of_kinds(std::index_sequence<I...>) {
    return {kind_name(InflectionKind(std::in_place_index<I>))...};
}

double mean(const std::vector<double>& v) {
    double sum = 0.0;
    for (double x : v)
        sum += x;
    return v.empty() ? 0.0 : sum / static_cast<double>(v.size());
}

// 22 characters: '=' up to the share that was right, '|' at the share that was promised.
std::string bar(double said, double right) {
    std::string text(22, ' ');
    for (std::size_t i = 0; i < 21; ++i) {
        if ((static_cast<double>(i) + 0.5) / 21.0 < right) text[i] = '=';
    }
    text[static_cast<std::size_t>(said * 20.99)] = '|';
    return text;
}

}  // namespace

void print_table(std::ostream& out, std::span<const Scoreboard> boards) {
    line(out,
         "%-34s %5s | %5s %5s %5s %5s %5s %5s %5s | %5s %5s %5s %5s | %5s %5s | %5s %5s %5s %5s | "
         "%5s %5s",
         "set", "takes", "RPA50", "RPA25", "RPA10", "RCA", "VxRec", "VxFA", "OA", "noteP", "noteR",
         "noteF", "+endF", "inflF", "allF", "bendc", "vibHz", "vibc", "slide", "on_ms", "tun_c",
         "x real");
    for (const Scoreboard& b : boards) {
        const MelodyScore m = b.mean_melody();
        const Hits n = b.mean_notes();
        line(out,
             "%-34s %5zu | %5.3f %5.3f %5.3f %5.3f %5.3f %5.3f %5.3f | %5.3f %5.3f %5.3f %5.3f | "
             "%5.3f %5.3f | "
             "%5.1f %5.2f %5.1f %5.2f | %5.1f %5.1f | %6.0f",
             b.name.c_str(), b.melody.size(), m.raw_pitch_50, m.raw_pitch_25, m.raw_pitch_10,
             m.raw_chroma, m.voicing_recall, m.false_alarm, m.overall, n.precision, n.recall, n.f1,
             b.mean_notes_with_ends().f1, b.macro_f1_on_matched(), b.macro_f1_overall(),
             median(b.bend_cents), median(b.vibrato_hz), median(b.vibrato_cents),
             mean(b.slide_from), median(b.onset_ms), median(b.tuning_cents),
             b.hearing_time > Seconds(0) ? b.heard_length / b.hearing_time : 0.0);
    }
}

void print_kinds(std::ostream& out, const Scoreboard& b) {
    const auto names = names_of_kinds(std::make_index_sequence<kind_count>());
    line(out, "\n%s: inflections", b.name.c_str());
    line(out, "%-14s %5s %5s | %21s | %21s", "kind", "true", "heard", "on matched P / R / F1",
         "overall P / R / F1");
    for (std::size_t k = 0; k < kind_count; ++k) {
        const KindCount& c = b.kinds[k];
        const Hits m = c.on_matched();
        const Hits o = c.overall();
        line(out, "%-14s %5zu %5zu | %6.3f  %6.3f  %6.3f | %6.3f  %6.3f  %6.3f", names[k],
             c.in_truth, c.heard, m.precision, m.recall, m.f1, o.precision, o.recall, o.f1);
    }
    line(out,
         "release and pre-bend told right: %zu of %zu bends; written pitch differs on %zu matched "
         "notes",
         b.bends_release_right, b.bends_released, b.wrong_key);
}

void print_reliability(std::ostream& out, const Scoreboard& b) {
    line(out, "\n%s: calibration. Of what was said with this confidence, how much was right",
         b.name.c_str());
    line(out,
         "bars: share right, from 0 to 1; the bar of a perfectly calibrated listener ends at the "
         "mark");
    line(out, "%-10s | %6s %6s %6s %-22s | %6s %6s %6s", "said", "notes", "mean", "right", "",
         "infl", "mean", "right");
    for (std::size_t i = 0; i < 10; ++i) {
        const auto share = [i](const Reliability& r, double of) {
            return r.count[i] ? of / static_cast<double>(r.count[i]) : 0.0;
        };
        const auto half = [&](const Reliability& r) {
            const double said = share(r, r.said[i]);
            const double right = share(r, static_cast<double>(r.right[i]));
            std::array<char, 80> text{};
            std::snprintf(text.data(), text.size(), "%6zu %6.3f %6.3f %s", r.count[i], said,
                          right,  // NOLINT
                          r.count[i] ? bar(said, right).c_str() : std::string(22, ' ').c_str());
            return std::string(text.data());
        };
        line(out, "%.1f to %.1f | %s | %s", 0.1 * static_cast<double>(i),
             0.1 * static_cast<double>(i + 1), half(b.note_confidence).c_str(),
             half(b.inflection_confidence).c_str());
    }
    line(out, "expected calibration error: notes %.3f, inflections %.3f",
         b.note_confidence.expected_error(), b.inflection_confidence.expected_error());
}

void print_errors(std::ostream& out, const Scoreboard& b) {
    static constexpr std::array<const char*, figure_count> names = {
        "cents",       "bend size",      "vibrato rate", "vibrato depth",
        "slide in to", "slide out from", "slide on from"};
    line(out, "\n%s: standard errors. Of the true values, the share within one and within two",
         b.name.c_str());
    line(out, "%-14s | %6s %6s %6s | %s", "figure", "number", "within", "in two",
         "stated, median (c, Hz or s)");
    for (std::size_t k = 0; k < figure_count; ++k) {
        const Coverage& c = b.errors[k];
        if (c.all == 0) continue;
        line(out, "%-14s | %6zu %6.3f %6.3f | %.3f", names[k], c.all, c.share(),
             static_cast<double>(c.within_two) / static_cast<double>(c.all), median(c.errors));
    }
}

void print_choices(std::ostream& out, const Scoreboard& b) {
    const Choices& c = b.choices;
    const auto share = [](std::size_t some, std::size_t of) {
        return of ? static_cast<double>(some) / static_cast<double>(of) : 0.0;
    };
    line(out, "\n%s: alternatives", b.name.c_str());
    line(out,
         "wrong notes %zu, with alternatives %zu; right among them: the first %.3f, any %.3f "
         "(a wrong onset, which none can mend: %zu)",
         c.wrong, c.with_some, share(c.first_right, c.wrong - c.beyond),
         share(c.any_right, c.wrong - c.beyond), c.beyond);
    line(out, "right notes %zu, with alternatives %zu; promised %.1f right alternatives, %zu are",
         c.right_notes, c.right_with, c.promised, c.kept);
}

void print_gain(std::ostream& out, const Scoreboard& without, const Scoreboard& with) {
    line(out, "\n%s: gain in the same takes, with its standard error", with.name.c_str());
    const auto gain = [&](const char* what, auto value) {
        std::vector<double> before;
        std::vector<double> after;
        for (std::size_t i = 0; i < without.melody.size(); ++i) {
            before.push_back(value(without, i));
            after.push_back(value(with, i));
        }
        const Gain g = paired_gain(before, after);
        line(out, "%-24s %.4f to %.4f: %+.4f +- %.4f", what, mean(before), mean(after), g.mean,
             g.error);
    };
    using Board = const Scoreboard&;
    gain("RPA50", [](Board b, std::size_t i) { return b.melody[i].raw_pitch_50; });
    gain("rows right", [](Board b, std::size_t i) { return b.melody[i].overall; });
    gain("note precision", [](Board b, std::size_t i) { return b.notes[i].precision; });
    gain("note recall", [](Board b, std::size_t i) { return b.notes[i].recall; });
    gain("note F1", [](Board b, std::size_t i) { return b.notes[i].f1; });
    gain("note F1, onsets in 25 ms", [](Board b, std::size_t i) { return b.notes_in_time[i].f1; });
    gain("note F1, with ends", [](Board b, std::size_t i) { return b.notes_with_ends[i].f1; });
}

}  // namespace bentline::corpus
