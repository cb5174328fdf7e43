#!/usr/bin/env bash
# Installs, builds, and runs Bentline's main job on the demo recording: from the sound to pencilled
# notes, a draft, inked notes, and all that is handed out: MIDI, MusicXML, the printed sheet, the table
# of measurements, text tablature, practice clips, the draft's sound, the lesson sheet. Opens the window
# where there is a screen.
set -euo pipefail
cd "$(dirname "$0")/.."

third_party/install.sh build demo
launcher=()
command -v ccache >/dev/null && launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache)
mkdir -p build
cmake -B build -G Ninja -DCMAKE_BUILD_TYPE=Release -DBENTLINE_TESTS=OFF "${launcher[@]}" >build/configure.log 2>&1 ||
    { cat build/configure.log; exit 1; }
cmake --build build

bentline=build/bentline
recording=$(ls demo_audio/*.flac)
tune=$(basename "$recording" .flac)
truth=demo_audio/$tune
made=build/demo
mkdir -p "$made"
step() { printf '\n-- %s\n' "$1"; }

step "What the recording is"
"$bentline" info "$recording"

step "Two bars at half speed, pitch kept: $made/two-bars-at-half-speed.wav"
read -r from to < <(python3 demo_audio/compare.py --bars "$truth.beats.json" 17 18)
"$bentline" slow "$recording" --speed 0.5 --from "$from" --to "$to" --out "$made/two-bars-at-half-speed.wav"

step "The pitch line and the pencilled notes: $made/$tune.csv, $made/$tune.notes.json"
"$bentline" curve "$recording" --out "$made/$tune.csv"
"$bentline" notes "$recording" --out "$made/$tune.notes.json"

step "A draft with every note pencilled, then all of them inked: $made/$tune.bentline"
"$bentline" draft "$recording" --beats "$truth.beats.json" --key Eb --form AABA \
    --chords "$truth.chords.txt" --title "Last Tram to Oddervik" --out "$made/$tune.bentline"
"$bentline" ink "$made/$tune.bentline"

step "MIDI, MusicXML, sheet, measurements, text tablature, practice clips: $made/$tune.*, $made/clips"
"$bentline" export "$made/$tune.bentline" --force --midi "$made/$tune.mid" --musicxml "$made/$tune.musicxml" \
    --sheet "$made/$tune.pdf" --csv "$made/$tune-measured.csv" --text-tab "$made/$tune.txt" --clips "$made/clips"
"$bentline" export "$made/$tune.bentline" --force --midi "$made/$tune-plain.mid" --plain

step "The draft on a plucked string beside the recording: $made/$tune-played.wav"
"$bentline" play "$made/$tune.bentline" --with-recording --apart --as-wav "$made/$tune-played.wav"

step "What the solo does: $made/$tune-lesson.html"
"$bentline" lesson "$made/$tune.bentline" --out "$made/$tune-lesson.html"

step "FluidSynth plays the MIDI file: $made/$tune-midi.wav"
soundfont=$(ls /usr/share/sounds/sf2/TimGM6mb.sf2 /usr/share/sounds/sf2/*.sf2 2>/dev/null | head -1)
fluidsynth -ni -q -g 0.6 -r 44100 -F "$made/$tune-midi.wav" "$soundfont" "$made/$tune.mid" >/dev/null
"$bentline" info --quiet "$made/$tune-midi.wav" | grep -E 'duration|peak'

step "How many of the true notes the pencilled draft found"
python3 demo_audio/compare.py "$truth.notes.json" "$made/$tune.notes.json"

if [ -n "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ]; then
    step "The window (close it to end)"
    "$bentline" window "$made/$tune.bentline"
else
    step "No screen here; the window's picture: $made/window.png"
    "$bentline" window "$made/$tune.bentline" --picture "$made/window.png"
fi
