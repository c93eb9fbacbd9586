#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Two commits beside each other: builds both, runs the same calls of one and the other in turn, prints how long the second takes against the first.
#   tools/dev/compare_speed.sh A B [rounds, default 7] [mesh ...]     A and B: anything git names a commit by
# Without meshes: three of sample_meshes and a ring of 51,984 triangles.
set -euo pipefail
cd "$(dirname "$0")/../.."
[ $# -ge 2 ] || { sed -n 3,5p "$0" >&2; exit 2; }
first=$(git rev-parse --verify "$1^{commit}") second=$(git rev-parse --verify "$2^{commit}")
shift 2
rounds=7
if [[ ${1:-} =~ ^[0-9]+$ ]]; then rounds=$1; shift; fi
work=build/compare_speed
mkdir -p "$work"
programs=()
for commit in "$first" "$second"; do
  folder=$work/$commit
  if [ ! -d "$folder" ]; then
    mkdir "$folder"
    git archive "$commit" | tar -x -C "$folder"
  fi
  echo "Building ${commit:0:10} ..." >&2
  "$folder/tools/dev/build.sh" release -DCAVIGRAM_TESTS=OFF >&2
  programs+=("$folder/build/tools/cavigram/cavigram")
done
/usr/bin/python3 tests/benchmark/compare.py "$work" "$rounds" "${programs[@]}" "$@"
