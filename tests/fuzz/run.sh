#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Searches for inputs that break a promise: builds the targets with clang's libFuzzer, AddressSanitizer and UndefinedBehaviorSanitizer
# into build-fuzz/, runs each for a while, one at a time, and prints a table. By hand, not in CI.
#   tests/fuzz/run.sh [SECONDS EACH] [TARGET ...]        60 seconds, all targets
# What was found interesting stays in build-fuzz/corpus/ and is where the next run goes on; what breaks lies in build-fuzz/found/TARGET.
# To see why: build-fuzz/tests/fuzz/fuzz_TARGET FILE; to make it smaller: the same with -minimize_crash=1 -max_total_time=60.
set -euo pipefail
cd "$(dirname "$0")/../.."
seconds=${1:-60}
[ $# -gt 0 ] && shift
command -v clang++-14 >/dev/null || { echo "run.sh: install clang-14 and libclang-rt-14-dev first." >&2; exit 1; }
tools/dev/install.sh test
folder=build-fuzz
export CCACHE_BASEDIR="$PWD" CCACHE_NOHASHDIR=1
CXX=clang++-14 cmake -S . -B "$folder" -G Ninja -DCAVIGRAM_KIND=fuzz -DCAVIGRAM_TESTS=ON >"$folder.log" 2>&1 || { cat "$folder.log" >&2; exit 1; }
rm -f "$folder.log"
echo "Building with clang ..."
cmake --build "$folder" -j "$(nproc)" --target cavigram_fuzzers fuzz_seeds >/dev/null

mapfile -t meshes < <(find sample_meshes build/reference_data -type f \( -name '*.stl' -o -name '*.obj' -o -name '*.ply' -o -name '*.off' -o -name '*.glb' -o -name '*.3mf' \) 2>/dev/null | sort)
mapfile -t all < <("$folder/tests/fuzz/fuzz_seeds" "$folder/seeds" "${meshes[@]}")
some="$*"
[ $# -gt 0 ] && all=("$@")
# Files that targets write lie in memory.
export TMPDIR=/dev/shm
faults=0 executions=0 found_all=0
printf '%-12s %12s %8s %10s %7s %9s\n' target executions edges features found seconds
began=$SECONDS
for target in "${all[@]}"; do
  corpus="$folder/corpus/$target" found="$folder/found/$target"
  mkdir -p "$corpus" "$found"
  words=()
  [ -s "$folder/seeds/$target.dict" ] && words=("-dict=$folder/seeds/$target.dict")
  longest=20000 patience=20
  [ "$target" = mend ] && longest=600 patience=100
  [ "$target" = arrange ] && longest=120
  started=$SECONDS
  nice -n 19 "$folder/tests/fuzz/fuzz_$target" -max_total_time="$seconds" -rss_limit_mb=2500 -timeout="$patience" -max_len="$longest" \
    "${words[@]}" -artifact_prefix="$found/" -print_final_stats=1 "$corpus" "$folder/seeds/$target" >"$folder/$target.log" 2>&1 || faults=1
  # What only took long, on a busy machine mostly, is kept and breaks nothing.
  breaks() { find "$found" -type f ! -name 'slow-unit-*'; }
  last() { grep -oE "$1[0-9]+" "$folder/$target.log" | tail -1 | grep -oE '[0-9]+$' || echo 0; }
  printf '%-12s %12s %8s %10s %7s %9s\n' "$target" "$(last 'number_of_executed_units: +')" "$(last 'cov: ')" "$(last 'ft: ')" \
    "$(breaks | wc -l)" "$((SECONDS - started))"
  executions=$((executions + $(last 'number_of_executed_units: +'))) found_all=$((found_all + $(breaks | wc -l)))
done
# Some of the targets tell nothing of the whole. As the corpus, the hours go on where the last run ended; what is found counts as it lies there now.
if [ -z "$some" ]; then
  echo "$((SECONDS - began)) $executions" >>"$folder/runs"
  read -r runs total_s executed < <(awk '{ seconds += $1; executions += $2 } END { printf "%d %d %.0f\n", NR, seconds, executions }' "$folder/runs")
  tests/claims.py --record fuzz "seconds=$total_s" "runs=$runs" "targets=${#all[@]}" "executions=$executed" "found=$found_all"
fi
exit "$faults"
