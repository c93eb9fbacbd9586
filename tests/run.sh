#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what is missing, builds, and runs every test; closes with the runner's own summary.
#   tests/run.sh [more options for ctest, such as -L unit]
set -euo pipefail
cd "$(dirname "$0")/.."
tools/dev/install.sh test
tools/dev/fetch_models.sh build/reference_data
echo "Building (the first time takes some minutes) ..."
tools/dev/build.sh release -DCAVIGRAM_TESTS=ON
report="$PWD/build/claims/suite_run.xml"
mkdir -p build/claims
rm -f "$report"
status=0
ctest --test-dir build --output-on-failure -j "$(nproc)" --output-junit "$report" "$@" || status=$?
# A part of the tests tells nothing of the whole.
[ $# -gt 0 ] || tests/claims.py --record suite --junit "$report"
exit "$status"
