#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds the committed source twice, in two folders of different names, and compares the program and the .deb byte by byte. By hand: two whole builds.
#   reproducible.sh             compiles everything twice
#   reproducible.sh --cached    takes objects from the compiler's cache, so that only what is generated, linked and packed is made twice
# Leaves nothing; exit status 1 if something differs.
set -euo pipefail
cd "$(git -C "$(dirname "$0")" rev-parse --show-toplevel)"
map=(-DCMAKE_CXX_FLAGS=-ffile-prefix-map=FOLDER=.)
if [ "${1:-}" = --cached ]; then
  map=()  # other flags would find nothing in the cache
else
  export CCACHE_DISABLE=1
fi
SOURCE_DATE_EPOCH=$(git log -1 --format=%ct)
export SOURCE_DATE_EPOCH
top=$(mktemp -d)
trap 'rm -rf "$top"' EXIT
differ=0 compared=0 same=0
for folder in "$top/one" "$top/another_and_longer"; do
  mkdir "$folder"
  git archive HEAD | tar -x -C "$folder"
  # Elsewhere, by another clock; the folder's name must be nowhere in what is made.
  (cd "$folder" && export CCACHE_BASEDIR="$folder" CCACHE_NOHASHDIR=1 &&
    cmake -S . -B build -G Ninja -DCAVIGRAM_TESTS=OFF "${map[@]/FOLDER/$folder}" >configure.log 2>&1 &&
    nice cmake --build build -j "${JOBS:-1}" >build.log 2>&1 && cpack --config build/CPackConfig.cmake -G DEB -B packed >pack.log 2>&1) ||
    { tail -n 20 "$folder"/*.log >&2; exit 2; }
done
compare() {
  compared=$((compared + 1))
  if cmp -s "$1" "$2"; then
    echo "same: $3, $(stat -c %s "$1") bytes, SHA-256 $(sha256sum "$1" | cut -c1-16)..."
    same=$((same + 1))
  else
    echo "differs: $3" >&2
    differ=1
  fi
}
compare "$top"/*/build/tools/cavigram/cavigram "the program"
packages=("$top"/*/packed/*.deb)
compare "${packages[@]}" "the .deb"
for package in "${packages[@]}"; do
  mkdir "$package.d" && dpkg-deb -R "$package" "$package.d"
done
# Where it begins: objects and generated sources that are not the same.
(cd "$top/one/build" && find . \( -name '*.o' -o -name '*_page.cpp' \) -print | sort) | while read -r file; do
  cmp -s "$top/one/build/$file" "$top/another_and_longer/build/$file" || echo "differs: $file" >&2
done
diff -rq "${packages[0]}.d" "${packages[1]}.d" || differ=1
grep -lF "$top" "$top"/*/build/tools/cavigram/cavigram && { echo "the folder's name is in the program" >&2; differ=1; }
exit $differ
