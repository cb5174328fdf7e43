// From a pitch line to pencilled notes with their inflections.
//
// The line is read twice: the tracker's curve says where the lead is, and a finer line around it
// says how it moves. Attacks come from spectral flux, high-frequency bursts and the rise of the
// followed pitch's own harmonics. A semi-Markov model then splits the line into steady and moving
// pieces, and the pieces of each pluck are read as notes, slides, bends, trills and vibrato by
// comparing models. Sources: Böck & Widmer 2013 (flux with vibrato suppression); McLeod & Wyvill
// 2005 (normalised square difference); Jackson et al. 2005 (optimal partitioning). The rest is
// derived here.
#pragma once

#include <vector>

#include "engine/notes/hints.h"
#include "engine/notes/note.h"
#include "engine/notes/note_settings.h"
#include "engine/pitch/curve.h"
#include "engine/recording/audio.h"
#include "engine/recording/focus.h"
#include "engine/result.h"
#include "engine/work.h"

namespace bentline {

// audio: 8 to 192 kHz, mono or stereo. curve: of the same excerpt (points outside it are passed
// over). Returns notes sorted by onset that do not overlap and lie within the audio; every number
// finite. An empty audio or curve gives no notes. Fails only with `stopped`. Deterministic.
// [worker]
Result<std::vector<Note>> find_notes(const Audio& audio, const PitchCurve& curve,
                                     const Focus& focus, const NoteSettings& settings = {},
                                     const Work& work = {});

// The same with hints. Inked notes come back unchanged, bit for bit, among the found ones; notes
// that were ruled out do not come back. curve: best made with the same hints.
Result<std::vector<Note>> find_notes(const Audio& audio, const PitchCurve& curve,
                                     const Focus& focus, const Hints& hints,
                                     const NoteSettings& settings = {}, const Work& work = {});

}  // namespace bentline
