#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what is missing, builds the program, plans the sample cleat, and says where the files lie.
set -euo pipefail
cd "$(dirname "$0")/.."
tools/dev/install.sh build
echo "Building (the first time takes some minutes) ..."
tools/dev/build.sh release -DCAVIGRAM_TESTS=OFF | tail -1
build/tools/cavigram/cavigram plan sample_meshes/mooring_cleat.stl --units mm --out out/mooring_cleat
echo "In your browser, by drag and drop: build/tools/cavigram/cavigram serve"
