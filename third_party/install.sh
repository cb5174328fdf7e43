#!/usr/bin/env bash
# Installs the Debian packages that Bentline needs; does nothing where they are all there.
#   third_party/install.sh [build] [test] [demo] [bench]     default: build
# packages.txt beside this file names every package and why.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
[ $# -gt 0 ] || set -- build

for section in "$@"; do
    grep -qx "\[$section\]" "$here/packages.txt" ||
        { echo "install.sh: there is no section '$section' in packages.txt" >&2; exit 2; }
done
wanted=$(awk -v sections=" $* " '
    /^\[/ { section = substr($0, 2, length($0) - 2); next }
    /^[^#[:space:]]/ && index(sections, " " section " ") { print $1 }' "$here/packages.txt" | sort -u)

# The readers that the tests show our MusicXML to come from npm. A machine without npm, or without a
# registry, does without them: their test says that it skips.
readers=$here/../tests/export/readers
if [[ " $* " == *" test "* ]] && command -v npm >/dev/null &&
    [ "$readers/node_modules/.package-lock.json" -ot "$readers/package-lock.json" ]; then
    echo "Readers of MusicXML: installing"
    (cd "$readers" && npm ci --omit=optional --ignore-scripts --no-audit --no-fund --silent) &&
        touch "$readers/node_modules/.package-lock.json" ||
        echo "Readers of MusicXML: not installed; their test will be skipped"
fi

missing=()
for package in $wanted; do
    dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
done
if [ ${#missing[@]} -eq 0 ]; then
    echo "Packages for $*: all $(wc -w <<<"$wanted") are installed."
    exit 0
fi

echo "Packages for $*: installing ${missing[*]}"
as_root=()
if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null ||
        { echo "install.sh: run it as root, or install sudo: these packages are missing: ${missing[*]}" >&2; exit 1; }
    as_root=(sudo)
fi
export DEBIAN_FRONTEND=noninteractive
"${as_root[@]}" apt-get update -q
"${as_root[@]}" apt-get install -y -q --no-install-recommends "${missing[@]}"
echo "Packages for $*: done."
