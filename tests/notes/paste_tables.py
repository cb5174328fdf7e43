"""Puts what bentline_fit_notes printed in place of the tables in engine/notes.

    bentline_fit_notes plucks 100 > plucks.txt; python3 tests/notes/paste_tables.py plucks.txt
    (build; likewise `notes`, build, then `all`)

Tables that the text does not hold stay as they are. Run in the source folder; clang-format after it.
"""

import re
import sys

ROW = re.compile(r"^\{\{(.*)\}\},$")


def read(path):
    """The text's parts: plucks, notes, each kind's, the traits, the errors."""
    parts = {"plucks": [], "notes": [], "kinds": {}, "traits": None, "errors": {}}
    into = parts["plucks"]
    for line in open(path, encoding="utf-8"):
        line = line.rstrip("\n")
        kind = re.match(r"^// kind (\d+)", line)
        error = re.match(r"^ *\{([^}]*)\},  // figure (\d+) (alone|others)", line)
        if line == "// notes":
            into = parts["notes"]
        elif kind:
            into = parts["kinds"].setdefault(int(kind[1]), [])
        elif line.startswith("constexpr TraitVector trait_weights"):
            parts["traits"] = line
        elif error:
            parts["errors"][int(error[2]), error[3]] = error[1]
        elif ROW.match(line):
            into.append(ROW.match(line)[1])
    return parts


def change(path, pairs):
    text = open(path, encoding="utf-8").read()
    for pattern, new in pairs:
        text, count = re.subn(pattern, lambda _: new, text, count=1, flags=re.S)
        if count != 1:
            sys.exit(f"{path}: no table like {pattern}")
    open(path, "w", encoding="utf-8").write(text)


def net(rows, inputs):
    """Units' rows, the output's row and the direct weights, as both models hold them."""
    units = ",\n    ".join("{{" + r + "}}" for r in rows[:-2])
    return [
        (r"std::size_t units = \d+;", f"std::size_t units = {len(rows) - 2};"),
        (r"unit_weights = \{\{.*?\n\}\};", "unit_weights = {{\n    " + units + ",\n}};"),
        (r"output_weights = \{.*?\};", "output_weights = {" + rows[-2] + "};"),
        (inputs + r"> direct_weights = \{.*?\};", inputs + "> direct_weights = {" + rows[-1] + "};"),
    ]


KINDS = ["slide_in", "slide_out", "slide_to_next", "bend", "vibrato", "trill", "staccato", "accent"]


def main():
    parts = read(sys.argv[1])
    if parts["plucks"]:
        change("engine/notes/attack_model.cpp", net(parts["plucks"], "evidence_count"))
    if parts["notes"]:
        change("engine/notes/confidence_model.cpp", net(parts["notes"], "telling_count"))
    if len(parts["kinds"]) == len(KINDS):
        rows = ",\n    ".join(
            "{{" + parts["kinds"][k][-1] + ", " + parts["kinds"][k][-2] + "}}" for k in range(len(KINDS))
        )
        rows = "// " + ", ".join(KINDS) + "\n    " + rows + ",\n"
        change(
            "engine/notes/confidence_model.cpp",
            [(r"(?<=kind_weights = \{\{\n    ).*?(?=\}\};)", rows)],
        )
    if parts["traits"]:
        change(
            "engine/notes/alternatives.cpp",
            [(r"constexpr TraitVector trait_weights = \{.*?\};", parts["traits"])],
        )
    if parts["errors"]:
        text = open("engine/notes/figure_errors.cpp", encoding="utf-8").read()
        table = re.search(r"(?<=scales =\n    \{\{\n).*?(?=\n    \}\};)", text, re.S)
        lines = []
        for figure, line in enumerate(table[0].split("\n")):
            old = re.match(r"^ *\{\{\{(.*?)\}, \{(.*?)\}\}\},( *//.*)$", line)
            new = [parts["errors"].get((figure, w), old[1 + i]) for i, w in enumerate(["alone", "others"])]
            lines.append("        {{{" + new[0] + "}, {" + new[1] + "}}}," + old[3])
        text = text[: table.start()] + "\n".join(lines) + text[table.end() :]
        open("engine/notes/figure_errors.cpp", "w", encoding="utf-8").write(text)


main()
