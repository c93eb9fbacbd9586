#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# The unit tests and the table of bad input under AddressSanitizer and UndefinedBehaviorSanitizer (they come
# with g++). Builds into build-asan/ only what these need; tests/run.sh has installed what that takes.
#   tests/run_sanitized.sh [--all | --rooms "ROOM ..."] [more options for ctest]
#     --all     the whole suite: the command line, `serve` and the two longest unit tests, too (hours; CAVIGRAM_TEST_WHOLE=1: long lists whole)
#     --rooms   the unit tests of these rooms alone, and nothing built that they don't need
#
# Left out: benchmarks (they measure nothing here) and what checks the sources rather than the program. The child that reads
# files has no limit on its address space here, as the sanitizers map terabytes that they never touch; see guarded_child.cpp.
set -euo pipefail
cd "$(dirname "$0")/.."
all=
rooms=
words=$#
case "${1:-}" in
  --all) all=yes words=$(($# - 1)); shift ;;
  --rooms) rooms=${2:?--rooms wants the names of rooms, as in --rooms "io repair".}; shift 2 ;;
esac
tools/dev/install.sh test
folder=build-asan
export CCACHE_BASEDIR="$PWD" CCACHE_NOHASHDIR=1
cmake -S . -B "$folder" -G Ninja -DCAVIGRAM_KIND=asan -DCAVIGRAM_TESTS=ON >"$folder.log" 2>&1 || { cat "$folder.log" >&2; exit 1; }
rm -f "$folder.log"
echo "Building with sanitizers ..."
targets=(cavigram_unit_tests cavigram)
if [ -n "$rooms" ]; then
  read -ra targets <<<"$rooms"
  targets=("${targets[@]/%/_test}")
fi
cmake --build "$folder" -j "$(nproc)" --target "${targets[@]}"
# What can't be allocated must come back as std::bad_alloc, as it does without sanitizers.
export ASAN_OPTIONS="allocator_may_return_null=1:detect_stack_use_after_return=1:${ASAN_OPTIONS:-}"
export UBSAN_OPTIONS="print_stacktrace=1:${UBSAN_OPTIONS:-}"
# These two take as long as forty others together, and what they run is run by those as well.
long='^(repair\.corruption|plan\.handle_stage)_test$'
[ -z "$all" ] || long='^$'
rm -f "$folder"/junit_*.xml
told() {
  # A part of the tests, by the caller's words, tells nothing of the whole.
  local reports=(--junit "$folder/junit_unit.xml" --junit "$folder/junit_bad.xml")
  if [ -n "$all" ]; then reports+=(--junit "$folder/junit_cli.xml"); else reports+=(--short); fi
  [ "$words" -gt 0 ] || tests/claims.py --record sanitized "${reports[@]}"
}
trap told EXIT
if [ -n "$rooms" ]; then
  ctest --test-dir "$folder" --output-on-failure -j "$(nproc)" -L unit -R "^(${rooms// /|})\\." -E "$long" "$@"
  exit
fi
ctest --test-dir "$folder" --output-on-failure --output-junit "$PWD/$folder/junit_unit.xml" -j "$(nproc)" -L unit -E "^(benchmark|layers)\.|$long" "$@"
ctest --test-dir "$folder" --output-on-failure --output-junit "$PWD/$folder/junit_bad.xml" -R '^cli\.bad_input$' "$@"
export CAVIGRAM_TEST_SLOWER=10
[ -z "$all" ] || ctest --test-dir "$folder" --output-on-failure --output-junit "$PWD/$folder/junit_cli.xml" -j 1 -L cli -E '^(cli\.bad_input|cli\.readme)$|package|consumer' "$@"
