#!/usr/bin/env bash
# The real window on a screen of its own: opens a recording, inks by key, saves, is looked at, leaves.
#   xvfb_session.sh PROGRAM TONES_PROGRAM [PICTURE.png]     the screen's picture is kept if a name is given
# Exit code 77: this machine lacks a tool for it, so the test is skipped.
set -uo pipefail
program=$1 tones=$2 picture=${3:-}
source "$(dirname "$0")/own_screen.sh"
needs Xvfb xdotool import identify
folder=$(mktemp -d)
trap tidy EXIT

"$tones" "$folder/tones.wav" || fail "no recording to open"
start_screen

open_window() {  # file, what failed when no window of its name appears
    "$program" window "$folder/$1" 2>"$folder/stderr" &
    window_pid=$!
    within 300 xdotool search --name "Bentline: $1" || fail "$2"
    window=$(xdotool search --name "Bentline: $1" | head -1)
    xdotool windowfocus "$window"
}
open_window tones.wav "the window did not appear with the recording's name"

# The notes are there some time after the window: take the next one and ink it until a saved draft has it.
inked() {
    xdotool key Right Return ctrl+s
    sleep 0.3
    grep -q '"inked"' "$folder/tones.bentline"
}
within 60 inked || fail "inking and saving by key did not write an inked note into tones.bentline"

xdotool key Right 1 f
sleep 0.5
xdotool key Escape
sleep 0.5
import -window root "$folder/screen.png" || fail "no picture of the screen"
colours=$(identify -format '%k' "$folder/screen.png")
[ "$colours" -gt 50 ] || fail "the screen shows only $colours colours"
# Everything larger, and back: the type is loaded anew.
xdotool key ctrl+equal
sleep 1
import -window root "$folder/larger.png" || fail "no picture of the larger screen"
colours=$(identify -format '%k' "$folder/larger.png")
[ "$colours" -gt 50 ] || fail "made larger, the screen shows only $colours colours"
xdotool key ctrl+minus
sleep 1
[ -n "$picture" ] && cp "$folder/screen.png" "$picture"

# The bar goes into a loop at half speed; a stretch of the line is measured with the mouse; its bar is
# inked; the measurements and a MIDI file are handed out under the names that are proposed.
xdotool key l
xdotool key minus minus minus minus minus minus
xdotool mousemove --window "$window" 700 180 mousedown 1 mousemove --window "$window" 800 180 \
    mousemove --window "$window" 860 180 mouseup 1
sleep 0.5
xdotool key Escape Escape Escape shift+i
sleep 0.3
handed_out() {
    [ -s "$folder/tones.mid" ] && return 0
    xdotool key h
    sleep 0.4
    xdotool key m
    sleep 0.8
    xdotool key Return
    sleep 1
    xdotool key Escape
    [ -s "$folder/tones.mid" ]
}
within 8 handed_out || fail "the MIDI file was not handed out"
[ "$(head -c 4 "$folder/tones.mid")" = MThd ] || fail "tones.mid is no MIDI file"

# Bar 1 was set since the save: leaving asks, and Enter saves and leaves.
xdotool key ctrl+q
sleep 1
kill -0 "$window_pid" 2>/dev/null || fail "it left with unsaved changes without asking"
left() {
    xdotool key Return
    sleep 0.5
    ! kill -0 "$window_pid"
}
within 40 left || fail "it did not leave"
wait "$window_pid"
code=$?
window_pid=
[ "$code" -eq 0 ] || fail "it ended with code $code"
grep -q '"bars"' "$folder/tones.bentline" || fail "leaving did not save the bars"

# Again: everything there, nothing found that was lost. A window that is killed loses no edit.
open_window tones.bentline "it did not open the draft again"
edited() {
    xdotool key Right Up
    sleep 0.3
    [ -s "$folder/.tones.bentline.journal" ]
}
within 60 edited || fail "no journal was written beside the draft"
kill -KILL "$window_pid"
wait "$window_pid" 2>/dev/null
window_pid=
grep -q '"words"' "$folder/.tones.bentline.journal" || fail "the journal holds no edit"

echo "window, ink, save, bars, guard: all there"
