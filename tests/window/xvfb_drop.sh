#!/usr/bin/env bash
# A file dropped onto the real window, as a file manager drops it: the recording is opened.
#   xvfb_drop.sh PROGRAM TONES_PROGRAM DROP_PROGRAM
# Exit code 77: this machine lacks a tool for it, so the test is skipped.
set -uo pipefail
program=$1 tones=$2 drop=$3
source "$(dirname "$0")/own_screen.sh"
needs Xvfb xdotool
folder=$(mktemp -d)
trap tidy EXIT

"$tones" "$folder/dropped.wav" || fail "no recording to drop"
echo "no recording" >"$folder/notes.txt"
start_screen
"$program" window 2>"$folder/stderr" &
window_pid=$!
within 300 xdotool search --name '^Bentline$' || fail "the window did not appear"
window=$(xdotool search --name '^Bentline$' | head -1)
sleep 1
# What is no recording is refused in words, and the window stays as it was.
"$drop" "$window" "$folder/notes.txt" || fail "the window did not take the drop of a text file"
sleep 1
xdotool search --name '^Bentline$' >/dev/null || fail "a text file was opened"
"$drop" "$window" "$folder/dropped.wav" || fail "the window did not take the drop"
within 300 xdotool search --name 'Bentline: dropped.wav' || fail "the dropped recording was not opened"
xdotool windowfocus "$window"
closed() {
    xdotool key ctrl+q
    ! kill -0 "$window_pid" 2>/dev/null
}
within 100 closed || {
    xdotool key l  # unsaved notes may be lost here
    within 50 closed || fail "the window did not close"
}
window_pid=
echo "a file was dropped, and opened"
