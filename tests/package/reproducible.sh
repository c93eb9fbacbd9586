#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds the committed source twice, in two folders of different names, with the flags that anyone's build has, and compares program and packages byte by
# byte. By hand: two whole builds.
#   reproducible.sh             compiles everything twice
#   reproducible.sh --cached    takes objects from the compiler's cache, so that only what is generated, linked and packed is made twice
# Leaves nothing; exit status 1 if something differs.
set -euo pipefail
cd "$(git -C "$(dirname "$0")" rev-parse --show-toplevel)"
source=$PWD
cached=0
if [ "${1:-}" = --cached ]; then
  cached=1
else
  export CCACHE_DISABLE=1
fi
# What the package says of its date must do by itself.
unset SOURCE_DATE_EPOCH
top=$(mktemp -d)
trap 'rm -rf "$top"' EXIT
one=$top/one other=$top/another_and_longer
for folder in "$one" "$other"; do
  mkdir "$folder"
  git archive HEAD | tar -x -C "$folder"
  (cd "$folder" && export CCACHE_BASEDIR="$folder" CCACHE_NOHASHDIR=1 &&
    cmake -S . -B build -G Ninja -DCAVIGRAM_TESTS=OFF >configure.log 2>&1 &&
    nice cmake --build build -j "${JOBS:-1}" >build.log 2>&1 && cpack --config build/CPackConfig.cmake -G DEB -B packed >pack.log 2>&1) ||
    { tail -n 20 "$folder"/*.log >&2; exit 2; }
done
compared=0 same=0
compare() {
  compared=$((compared + 1))
  if cmp -s "$one/$1" "$other/$1"; then
    same=$((same + 1))
    echo "same: $1, $(stat -c %s "$one/$1") bytes, SHA-256 $(sha256sum "$one/$1" | cut -c1-16)..."
  else
    echo "differs: $1" >&2
  fi
}
compare build/tools/cavigram/cavigram
# Each package beside its like: there is one of the program and, where it is built, one of the Python module.
for package in "$one"/packed/*.deb; do
  name=packed/$(basename "$package")
  compare "$name"
  for folder in "$one" "$other"; do
    mkdir -p "$folder/unpacked/$name" && dpkg-deb -R "$folder/$name" "$folder/unpacked/$name"
  done
done
# Where it begins: objects and generated sources that are not the same, and files of the packages.
while read -r file; do
  cmp -s "$one/build/$file" "$other/build/$file" || echo "differs: build/$file" >&2
done < <(cd "$one/build" && find . \( -name '*.o' -o -name '*_page.cpp' \) -print | sort)
diff -rq "$one/unpacked" "$other/unpacked" || true
# The folder's name must be nowhere in what is made.
compared=$((compared + 1))
if named=$(grep -rlaF "$top" "$one/unpacked" "$other/unpacked" "$one/build/tools/cavigram/cavigram" "$other/build/tools/cavigram/cavigram"); then
  printf 'holds the name of its folder: %s\n' "$named" >&2
else
  same=$((same + 1))
fi
short=()
[ "$cached" = 0 ] || short=(--short)
"$source/tests/claims.py" --record reproducible "${short[@]}" "compared=$compared" "same=$same" "cached=$cached"
[ "$compared" = "$same" ]
