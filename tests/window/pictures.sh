#!/usr/bin/env bash
# Draws named states of the window into a folder, to be looked at.
#   pictures.sh PROGRAM RECORDING FOLDER [MORE OPTIONS FOR THE PICTURES, such as --scale 2]
# Beats and chords that lie beside the recording are taken along (NAME.beats.json, NAME.chords.txt).
set -euo pipefail
program=$1 recording=$(realpath "$2") folder=$3
shift 3
mkdir -p "$folder"
made=$(mktemp -d)
trap 'rm -rf "$made"' EXIT
draft=$made/$(basename "${recording%.*}").bentline
stem=${recording%.*}
bars=(--tempo 140 --bar-one 1.7)
[ -f "$stem.beats.json" ] && bars=(--beats "$stem.beats.json")
[ -f "$stem.chords.txt" ] && bars+=(--chords "$stem.chords.txt")
"$program" draft "$recording" "${bars[@]}" --key Eb --form AABA --out "$draft" --quiet

# picture NAME FILE, with the session's lines on standard input
picture() {
    cat >"$made/session"
    "$program" window ${2:+"$2"} --session "$made/session" --picture "$folder/$1.png" "${more[@]}"
    echo "$folder/$1.png"
}
more=("$@")
picture 1-empty "" <<<""
picture 2-recording "$recording" <<<""
picture 3-loop "$draft" <<<$'loop-bars 7 8\nspeed 0.5\nink-bars 1 6\npick-step 2'
picture 4-measure "$draft" <<<$'loop-bars 6 6\nmeasure 10.76 11.05'
picture 5-chorus "$draft" <<<$'look-at 0 58\nink-bars 1 16'
picture 6-keys "$draft" <<<$'show keys'
picture 7-confident "$draft" <<<$'loop-bars 9 10\nthreshold 0.7\nshow confident'
picture 8-dark "$draft" <<<$'dark-paper yes\nloop-bars 5 6\nink-bars 1 5\npick-step 1'
picture 9-strings "$draft" <<<$'spectrum yes\nloop-bars 13 14\nink-bars 13 13\npick-step 4\nstep-string 1'
picture 10-hand-out "$draft" <<<$'ink-bars 1 8\nshow hand-out'
picture 11-practice "$draft" <<<$'loop-bars 7 8\ntrainer 0.5 0.05 1 2\napart yes\nbalance 0.5\nshow practice'
picture 12-chooser "$draft" <<<"choose open"$'\n'"look-in \"$(dirname "$recording")\""$'\n'"wait"$'\n'"preview \"$recording\""
picture 13-readings "$draft" <<<$'loop-bars 6 6\npick-step 2\ndiscard\npick-none\ngo 12.1\nmark-here\ngo 10.9\npick-step 1'
picture 14-choruses "$draft" <<<$'form "AABA x3"\nsection 13 "C"\nloop-bars 17 18'
picture 15-keys-of-sections "$draft" <<<$'key "Eb, B in G"\nloop-bars 16 17\nink-bars 16 16\npick-step 2'
# What is long: names, chords, a form, and a bar that is full.
long=$made/"Öresund, spät (zweiter Satz, Probe vom 3. März, Mischpult, linker Kanal lauter), take 07, ganz.${recording##*.}"
cp "$recording" "$long"
"$program" draft "$long" --tempo 141 --bar-one 2.1 --key Gb --form AABAAABAAABAAABA --quiet \
    --title "Über den Dächern von Århus, Łódź und Čakovec" --out "$made/long.bentline"
{
    for bar in $(seq 1 2 127); do
        printf 'chord %d 1 "F#m7b5 Bbmaj7#11"\nchord %d 1 "Gm7 C7 Fm7 Bb13sus4"\n' "$bar" $((bar + 1))
    done
    echo "loop-bars 17 20"
} >"$made/chords"
picture 16-long "$made/long.bentline" <"$made/chords"
{
    echo "loop-bars 17 17"
    for note in $(seq 0 15); do # sixteenths at 141 beats a minute from bar 17 on
        from=$(awk "BEGIN { print 2.1 + 16 * 4 * 60 / 141 + $note * 15 / 141 }")
        to=$(awk "BEGIN { print $from + 0.09 }")
        printf 'add %s %s %d\n' "$from" "$to" $((62 + (note * 5) % 13))
        printf '%s\n' "bend $((50 * (note % 4))) yes no" "vibrato $((note % 3 * 3)) 30" "accent yes" "staccato yes" "slide-in -2"
    done
} >"$made/full"
picture 17-full-bar "$made/long.bentline" <"$made/full"
