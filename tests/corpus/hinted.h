// Hints as a player would give them, taken from the truth, and what is left to score without them.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/notes/hints.h"
#include "tests/corpus/scoreboard.h"
#include "tests/corpus/take.h"

namespace bentline::corpus {

enum class HintKind {
    none,
    inked,  // every fourth true note
    bars,   // the true notes of the first two bars (eight beats)
    here,   // "there is a note here" for every second missed note, at random up to 40 ms beside it,
            // every second of those with its pitch
    not_these,  // "not this note" for every second false one
    beats,      // the true beats
    all,        // all of them (inked: every fourth)
};
// "inked", "bars", "here", "not", "beats", "all"; nothing for another word.
std::optional<HintKind> hint_kind(std::string_view word);

struct Given {
    Hints hints;
    std::vector<bool> given_notes;  // of the truth: told, so not scored
};
// `plain`: what was heard without any hint; misses and false notes are its own.
Given give_hints(HintKind kind, const Take& take, const Heard& plain, std::uint64_t seed);

// Take and estimate without what was given: true notes that were told, estimated notes that match
// them or begin inside them, and the rows of pitch from each told note's onset to its end.
struct Remainder {
    Take take;  // without audio
    Heard heard;
};
Remainder without_given(const Take& take, const Heard& heard, const std::vector<bool>& given);

}  // namespace bentline::corpus
