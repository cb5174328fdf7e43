#!/usr/bin/env bash
# An evening with the demo in the real window, by keys and mouse on a screen of its own: open it, loop
# bar 7 at half speed and play, measure a bend, ink the bar, hand out, close, open again: all there.
#   xvfb_demo.sh PROGRAM DEMO_FOLDER [FOLDER]     the screen's pictures are kept in FOLDER if it is given
# Exit code 77: this machine lacks a tool for it, so the test is skipped.
set -uo pipefail
program=$1 demo=$2 keep=${3:-}
source "$(dirname "$0")/own_screen.sh"
needs Xvfb xdotool import compare convert
folder=${TMPDIR:-/tmp}/bentline-demo-$$  # lower case: it is typed into the window
mkdir "$folder" || exit 1
trap tidy EXIT
picture() {  # name
    import -window root "$folder/$1.png" || return 1
    [ -n "$keep" ] && cp "$folder/$1.png" "$keep/$1.png"
    return 0
}
changed() {  # two pictures, the part WxH+X+Y, at least so many pixels
    local differ
    differ=$(compare -metric AE "$folder/$1.png[$3]" "$folder/$2.png[$3]" null: 2>&1 | cut -d' ' -f1)
    [ "${differ%%.*}" -ge "$4" ]
}
seen() {  # what changed() takes; the second of the pictures is taken now
    picture "$2" && changed "$@"
}
# Nothing changes for three seconds on the strip where work and its progress are told of.
at_rest() {
    picture strip-0 || return 1
    sleep 3
    picture strip-1 && ! changed strip-0 strip-1 620x20+10+88 1
}

cp "$demo"/last_tram_to_oddervik.{flac,beats.json,chords.txt} "$folder/" || fail "there is no demo"
draft=$folder/last_tram_to_oddervik.bentline
# A sound output that takes everything and is silent.
printf '</usr/share/alsa/alsa.conf>\npcm.!default { type null }\n' >"$folder/asound.conf"
start_screen
export ALSA_CONFIG_PATH=$folder/asound.conf JACK_NO_START_SERVER=1

# The first screen, without a file; the demo is opened by its name in the chooser.
"$program" window 2>"$folder/stderr" &
window_pid=$!
within 300 xdotool search --name "^Bentline" || fail "the window did not appear"
window=$(xdotool search --name "^Bentline" | head -1)
xdotool windowfocus "$window"
sleep 0.5
picture 1-first || fail "no picture of the screen"
opened() {
    xdotool search --name "Bentline: last_tram" && return 0
    xdotool key Escape Escape ctrl+o
    sleep 1
    xdotool type --delay 60 "$folder/last_tram_to_oddervik.flac"
    sleep 1
    xdotool key Return
    # Typed twice, the second would be keys on the desk.
    within 200 xdotool search --name "Bentline: last_tram"
}
within 5 opened || fail "the demo was not opened by its name"
within 100 at_rest || fail "pencilling the demo did not end"
picture 2-opened

# Bars in the second line of the chart.
loop_bar() {  # how far from the left it lies
    xdotool mousemove --window "$window" "$1" 240 click 1
    sleep 0.5
    xdotool key l
    sleep 0.3
}
loop_bar_7() { loop_bar 250; }
# Loop bar 7, half speed, play.
loop_bar_7
xdotool key minus minus minus minus minus minus
sleep 0.7
within 100 seen 2-opened 3-loop 900x60+270+650 100 || fail "the speed did not change on the transport"
xdotool key space
within 100 seen 3-loop 4-playing 260x60+20+655 20 || fail "it did not play"
xdotool key space

# The bend on beat 1 of bar 6 is measured along the upper edge of the grid.
sleep 0.5
loop_bar 170
sleep 0.5
picture 4-bend
measured() {  # draws along it, slower each time: the press is seen where the pointer is when a frame begins
    xdotool mousemove --window "$window" 540 152 mousedown 1
    sleep "$pause"
    for x in 580 620 660 698; do
        xdotool mousemove --window "$window" "$x" 152
        sleep "$pause"
    done
    xdotool mouseup 1
    sleep 0.5
    pause=$(awk "BEGIN { print 2 * $pause }")
    seen 4-bend 5-measured 600x90+400+545 300
}
pause=0.2
within 5 measured || fail "nothing was measured"
xdotool key Escape Escape
loop_bar_7  # Escape lets go of one thing at a time, of the loop, too

# Ink the bar, save, hand out MIDI under the proposed name.
inked_in_bar_7() {  # notes with onsets in 12.4 to 14.2 s
    grep '"inked"' "$draft" | grep -oE '"onset_s":[0-9.]+' | cut -d: -f2 |
        awk '$1 >= 12.4 && $1 < 14.2 { n++ } END { exit !(n >= 5) }'
}
inked() {
    xdotool key shift+i
    sleep 0.3
    xdotool key ctrl+s
    within 20 inked_in_bar_7
}
within 20 inked || fail "bar 7 is not inked in the saved draft"
inked=$(grep -c '"inked"' "$draft")
handed_out() {
    [ -s "${draft%.bentline}.mid" ] && return 0
    xdotool key h
    sleep 0.5
    xdotool key m
    sleep 0.8
    xdotool key Return
    sleep 1
    xdotool key Escape
    [ -s "${draft%.bentline}.mid" ]
}
within 8 handed_out || fail "the MIDI file was not handed out"
[ "$(head -c 4 "${draft%.bentline}.mid")" = MThd ] || fail "what was handed out is no MIDI file"
loop_bar_7
xdotool key ctrl+s
sleep 0.5
picture 6-inked
left() {
    xdotool key ctrl+q
    sleep 0.7
    ! kill -0 "$window_pid" 2>/dev/null
}
within 10 left || fail "it did not leave although everything is saved"
wait "$window_pid" || fail "it ended with code $?"
window_pid=

# Another evening: the first screen offers where he was; the ink and the loop are there.
"$program" window "$draft" 2>"$folder/stderr" &
window_pid=$!
within 300 xdotool search --name "Bentline: last_tram_to_oddervik.bentline" || fail "it did not open again"
window=$(xdotool search --name "Bentline: last_tram" | head -1)
xdotool windowfocus "$window"
within 100 at_rest || fail "following the soloist did not end"
[ "$(grep -c '"inked"' "$draft")" = "$inked" ] || fail "ink was lost"
grep -qE '^ *12\.4' "$folder/config/bentline/window.json" ||
    fail "the loop was not remembered"
grep -qE '^ *0\.5$' "$folder/config/bentline/window.json" ||
    fail "half speed was not remembered"
# The mark of the inked share under bar 7 of the chart is ink, from end to end.
inked_mark() {
    picture 7-again || return 1
    convert "$folder/7-again.png[60x3+222+256]" -threshold 50% -format '%[fx:1-mean]' info: |
        awk '{ exit !($1 > 0.6) }'
}
within 100 inked_mark || fail "bar 7 is not shown as inked"
within 10 left || fail "it did not leave the second time"
window_pid=
echo "demo, loop, half speed, measure, ink, hand out, close, open: all there"
