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
    // Expected calibration error (Naeini, Cooper & Hauskrecht 2015): mean distance of what was said
    // from what was right, over tenths of confidence, by their number. 0 of none.
    double expected_error() const;
};

// Measured figures with a standard error: how many of the true values lie within one of it.
struct Coverage {
    std::size_t within = 0;
    std::size_t within_two = 0;
    std::size_t all = 0;
    std::vector<double> errors;  // as stated
    void add(double off, double stated);
    double share() const {
        return all ? static_cast<double>(within) / static_cast<double>(all) : 0.0;
    }
};
enum Figure : std::size_t {
    note_cents,
    bend_size,
    vibrato_rate,
    vibrato_depth,
    slide_in_end,
    slide_out_start,
    slide_on_start,
    figure_count
};

// What the alternatives of wrong and of right notes are worth.
struct Choices {
    std::size_t wrong = 0;        // pencilled notes that match no true one
    std::size_t with_some = 0;    // of them, those that offer alternatives
    std::size_t first_right = 0;  // the likeliest alternative is the truth
    std::size_t any_right = 0;    // one of the alternatives is
    std::size_t beyond = 0;       // no alternative could be: the onset is wrong, not the note
    std::size_t right_notes = 0;  // notes that are right …
    std::size_t right_with = 0;   // … and offer alternatives all the same
    double promised = 0.0;        // sum of the alternatives' probabilities over all notes
    std::size_t kept = 0;         // alternatives that are the truth, over all notes
    void add(const Choices& other);
};

struct Scoreboard {
    std::string name;
    std::vector<MelodyScore> melody;  // one each take
    std::vector<Hits> notes;
    std::vector<Hits> notes_with_ends;
    std::vector<Hits> notes_in_time;  // onset within 25 ms
    std::size_t true_notes = 0;
    std::size_t wrong_key = 0;  // matched by sound, but written otherwise
    std::array<KindCount, kind_count> kinds{};
    // Errors on hits, absolute.
    std::vector<double> bend_cents, vibrato_hz, vibrato_cents, slide_from, slide_to, trill_steps;
    std::vector<double> onset_ms, tuning_cents;
    std::size_t bends_released = 0, bends_release_right = 0;
    Reliability note_confidence, inflection_confidence;
    std::array<Coverage, figure_count> errors{};
    Choices choices;
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
void print_errors(std::ostream& out, const Scoreboard& board);
void print_choices(std::ostream& out, const Scoreboard& board);
// What `with` has over `without`, the same takes: mean difference and its standard error.
void print_gain(std::ostream& out, const Scoreboard& without, const Scoreboard& with);

struct Gain {
    double mean = 0.0;
    double error = 0.0;  // standard error of the mean; 0 of fewer than two
};
// after[i] - before[i]; both of one length.
Gain paired_gain(std::span<const double> before, std::span<const double> after);

// What the alternatives of the estimated notes offer. partner: the true note of each, or the number
// of true notes for none.
Choices judge_choices(const Take& take, const Heard& heard,
                      const std::vector<std::size_t>& partner);

// How a note is scored: by its written pitch, as it sounds under the tuning that goes with it.
ScoredNote scored(const Note& note, Cents tuning);
std::vector<ScoredNote> scored(const std::vector<Note>& notes, Cents tuning);

}  // namespace bentline::corpus
