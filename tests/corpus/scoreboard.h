// Adds up the scores of many takes and prints them as one table.
#pragma once

#include <array>
#include <cstddef>
#include <iosfwd>
#include <span>
#include <string>
#include <vector>

#include "engine/notes/note.h"
#include "tests/corpus/metrics.h"
#include "tests/corpus/take.h"

namespace bentline::corpus {

// What a listener (ours, or a reference) made of a take.
struct Heard {
    PitchRows rows;  // one each row_step from time 0
    std::vector<Note> notes;
    Cents tuning;
};

inline constexpr std::size_t kind_count = std::variant_size_v<InflectionKind>;

// Inflections of one kind. A hit: both the true and the estimated note of a matched pair have it.
struct KindCount {
    std::size_t matched = 0;           // hits
    std::size_t in_truth = 0;          // all true notes
    std::size_t in_truth_matched = 0;  // those of matched notes
    std::size_t heard = 0;             // all estimated notes
    std::size_t heard_matched = 0;
    Hits on_matched() const { return hits(matched, in_truth_matched, heard_matched); }
    Hits overall() const { return hits(matched, in_truth, heard); }
};

struct Reliability {
    std::array<std::size_t, 10> count{};
    std::array<std::size_t, 10> right{};
    std::array<double, 10> said{};
    void add(double confidence, bool is_right);
};

struct Scoreboard {
    std::string name;
    std::vector<MelodyScore> melody;  // one each take
    std::vector<Hits> notes;
    std::vector<Hits> notes_with_ends;
    std::size_t true_notes = 0;
    std::size_t wrong_key = 0;  // matched by sound, but written otherwise
    std::array<KindCount, kind_count> kinds{};
    // Errors on hits, absolute.
    std::vector<double> bend_cents, vibrato_hz, vibrato_cents, slide_from, slide_to, trill_steps;
    std::vector<double> onset_ms, tuning_cents;
    std::size_t bends_released = 0, bends_release_right = 0;
    Reliability note_confidence, inflection_confidence;
    // Filled by whoever listens: how long the takes are and how long hearing them took.
    Seconds heard_length{0.0};
    Seconds hearing_time{0.0};

    void add(const Take& take, const Heard& heard);

    MelodyScore mean_melody() const;
    Hits mean_notes() const;
    Hits mean_notes_with_ends() const;
    // Mean F1 over the kinds that the truth holds.
    double macro_f1_on_matched() const;
    double macro_f1_overall() const;
    double micro_f1_overall() const;
};

double median(std::vector<double> values);  // nan of none

// Rows: the boards. Then, for each board, kinds and reliability.
void print_table(std::ostream& out, std::span<const Scoreboard> boards);
void print_kinds(std::ostream& out, const Scoreboard& board);
void print_reliability(std::ostream& out, const Scoreboard& board);

// How a note is scored: by its written pitch, as it sounds under the tuning that goes with it.
ScoredNote scored(const Note& note, Cents tuning);

}  // namespace bentline::corpus
