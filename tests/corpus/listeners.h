// Who listens to a take: our engine, and a general-purpose library as the reference row.
#pragma once

#include "engine/notes/hints.h"
#include "engine/recording/focus.h"
#include "engine/result.h"
#include "engine/work.h"
#include "tests/corpus/scoreboard.h"
#include "tests/corpus/take.h"

namespace bentline::corpus {

// The engine's pitch line and notes. focus: the default hints nothing; a take's own points at the
// soloist.
Result<Heard> hear_with_engine(const Audio& audio, const Focus& focus, const Hints& hints = {});

// The same by the classical measures alone, so that the network's worth can be read off.
Result<Heard> hear_without_network(const Audio& audio, const Focus& focus);

// aubio (Debian's libaubio): its YIN by spectrum, 2048 frames, its default tolerance, silent under
// -60 dB; its default onset detector; a note from each onset to the next or to where the pitch is
// lost, at the median of its pitch. No inflections.
Heard hear_with_aubio(const Audio& audio);

}  // namespace bentline::corpus
