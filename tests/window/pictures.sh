#!/usr/bin/env bash
# Draws eight named states of the window into a folder, to be looked at.
#   pictures.sh PROGRAM RECORDING FOLDER
set -euo pipefail
program=$1 recording=$2 folder=$3
mkdir -p "$folder"
made=$(mktemp -d)
trap 'rm -rf "$made"' EXIT
draft=$made/$(basename "${recording%.*}").bentline
"$program" draft "$recording" --tempo 140 --bar-one 1.7 --key Eb --form AABA --out "$draft" --quiet

# picture NAME FILE, with the session's lines on standard input
picture() {
    cat >"$made/session"
    "$program" window ${2:+"$2"} --session "$made/session" --picture "$folder/$1.png"
    echo "$folder/$1.png"
}
picture 1-empty "" <<<""
picture 2-recording "$recording" <<<""
picture 3-loop "$draft" <<<$'loop-bars 7 8\nspeed 0.5\nink-bars 1 6\npick-step 2'
picture 4-measure "$draft" <<<$'loop-bars 3 3\nmeasure 5.2 5.6'
picture 5-chorus "$draft" <<<$'look-at 0 58\nink-bars 1 16'
picture 6-keys "$draft" <<<$'show keys'
picture 7-confident "$draft" <<<$'loop-bars 9 10\nthreshold 0.7\nshow confident'
picture 8-dark "$draft" <<<$'dark-paper yes\nloop-bars 5 6\nink-bars 1 5\npick-step 1'
