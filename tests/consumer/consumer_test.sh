#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# consumer_test.sh installed|subfolder SOURCE BUILD
set -euo pipefail
# The installed package gives all rooms at once; from the source folder one room and those above it, which also shows that a room stands alone.
way=$1 source=$2 build=$3
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
launcher=()
command -v ccache >/dev/null && launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache)
if [ "$way" = installed ]; then
  cmake --install "$build" --prefix "$work/prefix" >/dev/null
  cmake -S "$here/program" -B "$work/build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DCMAKE_PREFIX_PATH="$work/prefix" "${launcher[@]}" >/dev/null
else
  # Not optimized: it is built once and runs once.
  cmake -S "$here/program" -B "$work/build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DCAVIGRAM_KIND=dev -DCAVIGRAM_SOURCE="$source" \
    -DCAVIGRAM_TARGET=cavigram::measure "${launcher[@]}" >/dev/null
fi
cmake --build "$work/build" >/dev/null
"$work/build/consumer"
