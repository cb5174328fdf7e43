# A screen of its own for a test of the real window; to be sourced. The test sets `folder`, where it works, and
# may set `keep`, a folder for a picture of what failed.
#   needs TOOL…            skips the test (exit code 77) where one is not installed
#   fail WORDS…            says why, with what the window said, and ends
#   within TENTHS CMD…     repeats a command until it succeeds, for at most so many tenths of a second
#   tidy                   for the end: closes window and screen, takes the folder away
#   start_screen           and points the programs that follow to it
screen_pid= window_pid=
needs() {
    local tool
    for tool in "$@"; do
        command -v "$tool" >/dev/null || { echo "skipped: $tool is not installed"; exit 77; }
    done
}
tidy() {
    [ -n "$window_pid" ] && kill "$window_pid" 2>/dev/null
    [ -n "$screen_pid" ] && kill "$screen_pid" 2>/dev/null
    rm -rf "$folder"
}
fail() {
    echo "FAILED: $*"
    cat "$folder/stderr" 2>/dev/null
    [ -n "${keep:-}" ] && import -window root "$keep/failed.png" 2>/dev/null
    exit 1
}
within() {
    local tenths=$1 i
    shift
    for ((i = 0; i < tenths; i++)); do
        "$@" >/dev/null 2>&1 && return 0
        sleep 0.1
    done
    return 1
}
start_screen() {
    Xvfb -displayfd 3 -screen 0 1280x720x24 3>"$folder/display" 2>/dev/null &
    screen_pid=$!
    within 100 test -s "$folder/display" || fail "the screen did not come up"
    export DISPLAY=:$(cat "$folder/display") LIBGL_ALWAYS_SOFTWARE=1 XDG_CONFIG_HOME=$folder/config
}
