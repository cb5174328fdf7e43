#!/usr/bin/env python3
"""Counts how many true notes a pencilled draft found, and reads the true beats for run.sh.

  compare.py TRUTH.json PENCILLED.json   the count, by pitch, onset, and kind of inflection
  compare.py --bars BEATS.json 17 18     start and end (s) of those bars

A note is found when a pencilled note starts within 50 ms of it at the same written pitch; each pencilled
note is used once.
"""
import json
import sys

ONSET_S = 0.050


def load(path):
    with open(path, encoding="utf-8") as f:
        return json.load(f)


def pairs(truth, found):
    """Largest one-to-one matching (augmenting paths), as indices into found, or None."""
    candidates = [
        [j for j, n in enumerate(found)
         if abs(n["onset_s"] - t["onset_s"]) <= ONSET_S and n["midi"] == t["midi"]]
        for t in truth
    ]
    owner = {}

    def place(i, seen):
        for j in candidates[i]:
            if j in seen:
                continue
            seen.add(j)
            if j not in owner or place(owner[j], seen):
                owner[j] = i
                return True
        return False

    for i in range(len(truth)):
        place(i, set())
    match = [None] * len(truth)
    for j, i in owner.items():
        match[i] = j
    return match


def kinds(note):
    return {i["kind"] for i in note.get("inflections", [])}


def report(truth, found):
    match = pairs(truth, found)
    hit = sum(m is not None for m in match)
    print(f"true notes {len(truth)}, pencilled {len(found)}, found {hit} "
          f"({100 * hit / len(truth):.1f} %), pencilled but not true {len(found) - hit}")
    for kind in sorted({k for n in truth + found for k in kinds(n)}):
        true = sum(kind in kinds(n) for n in truth)
        said = sum(kind in kinds(n) for n in found)
        both = sum(m is not None and kind in kinds(t) and kind in kinds(found[m])
                   for t, m in zip(truth, match))
        print(f"  {kind:14s} true {true:3d}, pencilled {said:3d}, right {both:3d}")


def main(arguments):
    if arguments[0] == "--bars":
        downbeats = load(arguments[1])["downbeats"]
        first, last = int(arguments[2]), int(arguments[3])
        print(f"{downbeats[first - 1]:.4f} {downbeats[last]:.4f}")
    else:
        report(load(arguments[0])["notes"], load(arguments[1])["notes"])


if __name__ == "__main__":
    main(sys.argv[1:])
