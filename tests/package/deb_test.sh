#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Makes the Debian package of the built program, has it judged by lintian (Debian's own checker), and runs what is in it from
# an empty folder.
#   deb_test.sh SOURCE BUILD
set -euo pipefail
source=$1 build=$2
unset SOURCE_DATE_EPOCH
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
fail() { echo "deb_test: $1" >&2; exit 1; }

cpack --config "$build/CPackConfig.cmake" -G DEB -B "$folder" >"$folder/log" 2>&1 || { cat "$folder/log" >&2; fail "cpack failed"; }
package=$(ls "$folder"/cavigram_*.deb)
# maintainers' names and manuals of a package outside Debian: no bug number, no upload.
lintian --no-cfg --fail-on error --suppress-tags bad-distribution-in-changes-file,embedded-library "$package" || fail "lintian found errors"

dpkg-deb -f "$package" Depends | tee "$folder/depends"
for library in libassimp5 libfmt9 libtbb12 libsqlite3-0 libzip4 libexpat1 zlib1g libc6; do
  grep -qw "$library" "$folder/depends" || fail "does not depend on $library"
done
dpkg-deb -x "$package" "$folder/unpacked"
for file in bin/cavigram share/man/man1/cavigram.1.gz share/bash-completion/completions/cavigram share/zsh/vendor-completions/_cavigram \
  share/fish/vendor_completions.d/cavigram.fish share/doc/cavigram/copyright share/doc/cavigram/cavigram.spdx.json share/applications/cavigram.desktop; do
  [ -s "$folder/unpacked/usr/$file" ] || fail "lacks /usr/$file"
done
[ -e "$folder/unpacked/usr/include" ] && fail "holds headers"
# The clock of the machine that made it is nowhere in it: all bears the day of the changelog, so that two makings are the same bytes.
day=$(date -u -d "$(gzip -dc "$folder/unpacked/usr/share/doc/cavigram/changelog.gz" | sed -n 's/^ -- .*>  //p')" +%F)
days=$(TZ=UTC dpkg-deb -c "$package" | awk '{ print $4 }' | sort -u)
[ "$days" = "$day" ] || fail "holds files of $days, not of $day"
grep -q "\"created\": \"${day}T00:00:00Z\"" "$folder/unpacked/usr/share/doc/cavigram/cavigram.spdx.json" || fail "the bill of materials is of another day than $day"
"$(dirname "$0")/sbom_test.py" "$folder/unpacked/usr/share/doc/cavigram/cavigram.spdx.json" "$folder/unpacked/usr/bin/cavigram" "$(cat "$folder/depends")" ||
  fail "the bill of materials is not sound"

cd "$folder"
env -i PATH=/usr/bin:/bin HOME="$folder" "$folder/unpacked/usr/bin/cavigram" weigh "$source/sample_meshes/mooring_cleat.stl" --units mm --density 9lb/ft3 --json packed.json --quiet
env -i PATH=/usr/bin:/bin HOME="$folder" "$build/tools/cavigram/cavigram" weigh "$source/sample_meshes/mooring_cleat.stl" --units mm --density 9lb/ft3 --json built.json --quiet
cmp packed.json built.json || fail "the packed program answers otherwise"
echo "Sound: $(basename "$package"), $(stat -c %s "$package") bytes."
