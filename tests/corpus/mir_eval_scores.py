"""Scores the cases of test_metrics.cpp with mir_eval (Debian: python3-mir-eval).

usage: mir_eval_scores.py CASES.json SCORES.json; exit code 3 where mir_eval is not installed.
"""
import json
import sys

try:
    import numpy as np
    import mir_eval
except ImportError:
    sys.exit(3)


def melody(case):
    ref = np.array(case["truth"])
    est = np.array(case["estimate"])
    times = 0.01 * np.arange(len(ref))
    ref_v, ref_c, est_v, est_c = mir_eval.melody.to_cent_voicing(times, ref, times, est)
    recall, alarm = mir_eval.melody.voicing_measures(ref_v, est_v)

    def pitch(tolerance):
        return mir_eval.melody.raw_pitch_accuracy(ref_v, ref_c, est_v, est_c, tolerance)

    return [pitch(50), pitch(25), pitch(10),
            mir_eval.melody.raw_chroma_accuracy(ref_v, ref_c, est_v, est_c),
            recall, alarm,
            mir_eval.melody.overall_accuracy(ref_v, ref_c, est_v, est_c)]


def notes(case):
    def parts(rows):
        rows = np.array(rows)
        return rows[:, :2], rows[:, 2]

    ref_i, ref_p = parts(case["truth"])
    est_i, est_p = parts(case["estimate"])
    out = []
    for ratio in (None, 0.2):
        p, r, f, _ = mir_eval.transcription.precision_recall_f1_overlap(
            ref_i, ref_p, est_i, est_p, offset_ratio=ratio)
        out += [p, r, f]
    return out


with open(sys.argv[1]) as f:
    cases = json.load(f)
with open(sys.argv[2], "w") as f:
    json.dump({"melody": [melody(c) for c in cases["melody"]],
               "notes": [notes(c) for c in cases["notes"]]}, f)
