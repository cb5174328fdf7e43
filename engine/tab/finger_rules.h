// The ways to play each note of a line, which of them may follow one another, and at what effort.
// Inside engine/tab only; fingering.h says what the rules and the weights are.
#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "engine/tab/fingering.h"

namespace bentline {

inline constexpr double forbidden = std::numeric_limits<double>::infinity();

// One way to play one note. string 0: it is left out; the hand then only passes.
struct Way {
    int string = 0;
    int fret = 0;
    int hand = 1;
    bool placed() const { return string != 0; }
    bool fretted() const { return string != 0 && fret > 0; }
    // -1 (first finger stretched back) to 4 (fourth finger stretched on).
    int offset() const { return fret - hand; }
    int finger() const;  // 1 to 4; 0 where not fretted
    friend bool operator==(const Way&, const Way&) = default;
};

class FingerRules {
  public:
    // request: checked by check_request(); both must outlive the object.
    FingerRules(const FingeringRequest& request, const FingeringSettings& settings);

    std::size_t notes() const { return facts_.size(); }
    // Every way that a note's own rules and pin allow, in a fixed order; empty where there is none.
    std::vector<Way> ways(std::size_t note) const;
    // Ways to leave it out: one for each place where the hand may be.
    std::vector<Way> ways_out() const;
    // The effort of a note for itself.
    double own_effort(std::size_t note, const Way& way) const;
    // The effort of getting from the note before `note` to it; `forbidden` where a rule is broken.
    double step_effort(std::size_t note, const Way& before, const Way& now) const;
    // Whether two notes may sound together that do. earlier < later.
    bool together(const Way& earlier, const Way& later) const;
    // Whether they do: `earlier` rings on while `later` sounds.
    bool overlap(std::size_t earlier, std::size_t later) const;
    // Why a note that was left out was.
    std::string problem(std::size_t note) const;

  private:
    // What the rules need to know of a note, looked up once.
    struct Facts {
        std::vector<int>
            reached;  // semitones from its key that its slides and trill need on its string
        bool fretted = false;         // may not be open
        bool lowest_fretted = false;  // what is reached may not be open either (slides, not trills)
        std::optional<int> trill;
        std::optional<Cents> bend;
        std::optional<int> pinned;
        bool slid_to = false;  // the finger slides from the note before
        bool same_string = false;
        int sweep_step = 0;  // string number to add, coming from the note before in a sweep
        bool in_sweep_step = false;
        int unison = 0;  // with the note before: 1: it is the bent one, -1: the note before is
        double hurry = 1.0;
    };
    bool allows(const Facts& facts, Spot spot) const;

    const FingeringRequest& request_;
    const FingeringSettings& settings_;
    std::vector<Facts> facts_;
};

// Failure out_of_range: what find_fingering states.
Result<Done> check_request(const FingeringRequest& request);

}  // namespace bentline
