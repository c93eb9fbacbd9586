#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Takes all times on this machine, prints the table, writes docs/performance.md. On a quiet machine: an hour on 2 cores.
#   tests/benchmark/run.sh [most triangles, default 6000000] [runs of each, default 5]
set -euo pipefail
cd "$(dirname "$0")/../.."
short=()
[ $# -eq 0 ] || short=(--short)
most=${1:-6000000} runs=${2:-5}
tools/dev/install.sh test
tools/dev/fetch_models.sh build/reference_data
tools/dev/build.sh release -DCAVIGRAM_TESTS=ON >&2
work=build/benchmark_run
mkdir -p "$work"
trap 'rm -rf "$work"/*.stl "$work"/plan' EXIT
/usr/bin/python3 tests/benchmark/refined.py build/reference_data/libcgal-demo/data/meshes/elephant.off "$work" "$most" >"$work/list"
mapfile -t files <"$work/list"
# Mesh by mesh in a process of its own, so that none finds memory that another left.
parts=()
for file in "${files[@]}"; do
  part="$work/$(basename "$file" .stl).json"
  # Long runs vary little: of a million triangles and more, two of each.
  each=$runs
  [ "$(stat -c %s "$file")" -lt 50000000 ] || each=$((runs < 2 ? runs : 2))
  build/tests/benchmark/stages_bench "$file" --benchmark_repetitions="$each" --benchmark_min_time=0.1 --benchmark_out="$part" --benchmark_out_format=json >/dev/null
  parts+=("$part")
  echo "stages on $(basename "$file" .stl) measured" >&2
done
/usr/bin/python3 - "$work/stages.json" "${parts[@]}" <<'JOIN'
import json, sys
all_of_them = [json.load(open(path)) for path in sys.argv[2:]]
json.dump({"context": all_of_them[0]["context"], "benchmarks": [run for part in all_of_them for run in part["benchmarks"]]}, open(sys.argv[1], "w"))
JOIN
# What its pitch of voxels costs does not depend on the triangles.
/usr/bin/python3 tests/benchmark/scipy_bench.py "${files[0]}" 1.5 0.5 >"$work/peers.json"
/usr/bin/python3 tests/benchmark/whole.py build/tools/cavigram/cavigram . "$work" "$work/whole.json" "$runs" "$most"
status=0
rm -f "$work/told.json"
/usr/bin/python3 tests/benchmark/performance.py "$work/stages.json" "$work/meshes.json" "$work/whole.json" "$work/peers.json" docs/performance.md "$work/told.json" || status=$?
tests/claims.py --record speed "${short[@]}" "=@$work/told.json"
exit "$status"
