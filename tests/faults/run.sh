#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Tries every fault on the built program and writes docs/reliability.md; half an hour or so. As root, or where user namespaces are allowed, disks too.
#   tests/faults/run.sh [BUILD]
set -euo pipefail
cd "$(dirname "$0")/../.."
status=0
mkdir -p build/claims
rm -f build/claims/faults_run.json
nice /usr/bin/python3 tests/faults/faults.py "${1:-build}/tools/cavigram/cavigram" --docs docs/reliability.md --json build/claims/faults_run.json || status=$?
[ -f build/claims/faults_run.json ] || exit "$status" # it did not come to its end
tests/claims.py --record faults =@build/claims/faults_run.json
exit "$status"
