#!/usr/bin/env python3
"""Runs clang-tidy over the engine's and the window's sources; prints what it finds; exit 1 if anything.

  tests/lint.py BUILD      BUILD: a configured build folder with compile_commands.json

Most of a run of clang-tidy goes into the standard library's headers, over and over. So the sources of
a folder are read together, several in one translation unit, and only where they do not go together
(two anonymous functions of one name) in smaller groups, down to one by one.
"""
import concurrent.futures
import json
import os
import pathlib
import shlex
import subprocess
import sys

TOGETHER = 16  # sources at a time; more save little and leave a core without work at the end
FILTER = r"/(engine|ui)/.*\.(h|cpp)$"


def flags_of(command):
    """The compiler's arguments without compiler, source, object and precompiled headers."""
    flags, words = [], iter(shlex.split(command)[1:])
    for word in words:
        if word in ("-o", "-c", "-include", "-MF", "-MT", "-MQ"):
            next(words)
        elif word not in ("-MD", "-Winvalid-pch") and not word.startswith("-fmodules"):
            flags.append(word)
    return tuple(flags)


def groups_of(build, top):
    """Sources that share folder and flags, TOGETHER at a time: [(flags, [source])]."""
    together = {}
    for entry in json.loads((build / "compile_commands.json").read_text()):
        source = pathlib.Path(entry["file"]).resolve()
        if not source.is_relative_to(top) or source.is_relative_to(build):
            continue
        place = source.relative_to(top)
        if place.parts[0] in ("engine", "ui"):
            together.setdefault((place.parent, flags_of(entry["command"])), []).append(source)
    groups = []
    for (_, flags), sources in sorted(together.items()):
        sources = sorted(set(sources))
        groups += [(flags, sources[i : i + TOGETHER]) for i in range(0, len(sources), TOGETHER)]
    return groups


def lint(folder, flags, sources):
    """What clang-tidy says of these sources: [text], empty where all is well."""
    unit = sources[0]
    if len(sources) > 1:
        unit = folder / f"{sources[0].parent.name}_{sources[0].stem}_and_others.cpp"
        unit.write_text("".join(f'#include "{source}"  // NOLINT\n' for source in sources))
    # A shadowed name is told when each source is compiled; here it may be another source's.
    tidy = ["clang-tidy", "--quiet", f"--header-filter={FILTER}", str(unit), "--"]
    done = subprocess.run([*tidy, *flags, "-Wno-shadow"], capture_output=True, text=True)
    if done.returncode == 0:
        return []
    if len(sources) > 1 and "[clang-diagnostic-error]" in done.stdout:
        places = {line.split(":")[0] for line in done.stdout.splitlines() if ": error: " in line}
        alone = [source for source in sources if str(source) in places]
        rest = [source for source in sources if source not in alone]
        if len(alone) > len(sources) // 2 or not alone:
            return [text for source in sources for text in lint(folder, flags, [source])]
        return lint(folder, flags, rest) + lint(folder, flags, alone)
    return [done.stdout + done.stderr]


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    top = pathlib.Path(__file__).resolve().parent.parent
    build = pathlib.Path(sys.argv[1]).resolve()
    folder = build / "lint"
    folder.mkdir(exist_ok=True)
    groups = groups_of(build, top)
    if not groups:
        sys.exit(f"{build}/compile_commands.json names no source of the engine or the window")
    # The largest first, so that no core waits long for the last one.
    groups.sort(key=lambda group: -sum(source.stat().st_size for source in group[1]))
    found = []
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        for texts in pool.map(lambda group: lint(folder, *group), groups):
            found += texts
    for text in found:
        print(text)
    count = sum(len(sources) for _, sources in groups)
    print(f"{count} sources read, " + (f"{len(found)} groups with findings" if found else "nothing found"))
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main()
