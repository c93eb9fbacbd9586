#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# How much of lib the unit tests run: lines and branches by room. By hand, not in CI. Builds into build-coverage/.
#   tests/coverage.sh [more options for ctest]
set -euo pipefail
cd "$(dirname "$0")/.."
tools/dev/install.sh test
folder=build-coverage
export CCACHE_BASEDIR="$PWD" CCACHE_NOHASHDIR=1
cmake -S . -B "$folder" -G Ninja -DCAVIGRAM_KIND=coverage -DCAVIGRAM_TESTS=ON >"$folder.log" 2>&1 || { cat "$folder.log" >&2; exit 1; }
rm -f "$folder.log"
echo "Building with coverage ..."
cmake --build "$folder" -j "$(nproc)" --target cavigram_unit_tests
find "$folder" -name '*.gcda' -delete
ctest --test-dir "$folder" -j "$(nproc)" -L unit -E '^(benchmark|layers)\.' "$@" >"$folder/ctest.log" || { tail -40 "$folder/ctest.log" >&2; exit 1; }
/usr/bin/python3 tests/coverage.py "$folder" --json "$folder/told.json"
# A part of the tests tells nothing of the whole.
[ $# -gt 0 ] || tests/claims.py --record coverage "=@$folder/told.json"
