#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Configures and builds one kind into build/ (release) or build-KIND/.
#   tools/dev/build.sh [release|dev|asan|tsan|coverage|fuzz] [more CMake settings...]
set -euo pipefail
cd "$(dirname "$0")/../.."
kind=${1:-release}
[ $# -gt 0 ] && shift
folder=build
[ "$kind" = release ] || folder=build-$kind
# libFuzzer is clang's.
[ "$kind" = fuzz ] && export CXX=clang++-14
# Clones in different folders share what ccache has.
export CCACHE_BASEDIR="$PWD" CCACHE_NOHASHDIR=1
# Each compiler process may take 1.5 GiB on the units that hold CGAL.
jobs=$(nproc)
cmake -S . -B "$folder" -G Ninja -DCAVIGRAM_KIND="$kind" "$@" >"${TMPDIR:-/tmp}/cavigram_configure.$$" 2>&1 ||
  { cat "${TMPDIR:-/tmp}/cavigram_configure.$$" >&2; exit 1; }
rm -f "${TMPDIR:-/tmp}/cavigram_configure.$$"
cmake --build "$folder" -j "$jobs"
