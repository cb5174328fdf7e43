#!/usr/bin/env bash
# Installs what the tests need, builds, and runs every check. Ends with CTest's summary.
#   tests/run.sh            everything
#   tests/run.sh quick      Release build and its tests only
set -euo pipefail
cd "$(dirname "$0")/.."
mode=${1:-all}
jobs=$(nproc)
# What was compiled in another clone is not compiled again.
export CCACHE_BASEDIR=$PWD CCACHE_NOHASHDIR=1 CCACHE_SLOPPINESS=pch_defines,time_macros

say() { printf '\n== %s (%s s)\n' "$1" "$SECONDS"; }

configure() {  # folder, then CMake arguments
    local folder=$1
    shift
    local launcher=()
    command -v ccache >/dev/null && launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache)
    cmake -B "$folder" -G Ninja "${launcher[@]}" "$@" >"$folder.configure.log" 2>&1 ||
        { cat "$folder.configure.log"; exit 1; }
}

say "Packages"
third_party/install.sh build test

say "Release build"
configure build -DCMAKE_BUILD_TYPE=Release -DBENTLINE_TESTS=ON
cmake --build build -j "$jobs"

if [ "$mode" = all ]; then
    say "Format"
    git ls-files '*.h' '*.cpp' | xargs clang-format --dry-run --Werror

    say "Mistakes that a linter finds"
    python3 tests/lint.py build

    say "Address and undefined-behaviour sanitizers"
    configure build-address -DCMAKE_BUILD_TYPE=Debug -DBENTLINE_SANITIZE=address,undefined
    cmake --build build-address -j "$jobs"
    LSAN_OPTIONS=suppressions=$PWD/tests/leaks.supp:print_suppressions=0 \
        ctest --test-dir build-address -j "$jobs" --output-on-failure -LE 'long|screen'

    say "Thread sanitizer over the player"
    configure build-thread -DCMAKE_BUILD_TYPE=Debug -DBENTLINE_SANITIZE=thread
    cmake --build build-thread -j "$jobs" --target test_player test_callback
    ctest --test-dir build-thread --output-on-failure -R '^(player|callback)$'
fi

say "Every test"
ctest --test-dir build -j "$jobs" --output-on-failure
