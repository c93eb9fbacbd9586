#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# The tests in which threads work together under ThreadSanitizer, and the program with them. By hand, not in CI: it takes an hour.
#   tests/run_threads.sh [more options for ctest]
# In this kind of build the library's parallel loop runs on threads of the standard library (core/parallel.cpp), so that nothing needs
# to be suppressed.
set -euo pipefail
cd "$(dirname "$0")/.."
tools/dev/install.sh test
folder=build-tsan
export CCACHE_BASEDIR="$PWD" CCACHE_NOHASHDIR=1
cmake -S . -B "$folder" -G Ninja -DCAVIGRAM_KIND=tsan -DCAVIGRAM_TESTS=ON >"$folder.log" 2>&1 || { cat "$folder.log" >&2; exit 1; }
rm -f "$folder.log"
echo "Building with ThreadSanitizer ..."
cmake --build "$folder" -j "$(nproc)" --target core_test pour_test cavity_test plan_test cavigram
export CAVIGRAM_TEST_SLOWER=10
export TSAN_OPTIONS="halt_on_error=1:exitcode=66:${TSAN_OPTIONS:-}"
words=$#
rm -f "$folder"/junit_*.xml
told() {
  [ "$words" -gt 0 ] || tests/claims.py --record threads --junit "$folder/junit_unit.xml" --junit "$folder/junit_cli.xml"
}
trap told EXIT
ctest --test-dir "$folder" --output-on-failure --output-junit "$PWD/$folder/junit_unit.xml" -j 1 -L unit -R '^(core|pour|cavity|plan)\.' "$@"
ctest --test-dir "$folder" --output-on-failure --output-junit "$PWD/$folder/junit_cli.xml" -j 1 -R '^(cli\.bad_input|serve\.(server|shop|air))$' "$@"
