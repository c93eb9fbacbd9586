#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Makes the Debian package of the Python module, has it judged by lintian, installs, imports and purges it on a copy of this machine's folders that is
# gone afterwards (an overlay in a mount namespace of its own; without the right to one, the package is only unpacked).
#   python_deb_test.sh SOURCE BUILD
set -euo pipefail
source=$1 build=$2
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
fail() { echo "python_deb_test: $1" >&2; exit 1; }

cpack --config "$build/CPackConfig.cmake" -G DEB -B "$folder" >"$folder/log" 2>&1 || { cat "$folder/log" >&2; fail "cpack failed"; }
package=$(ls "$folder"/python3-cavigram_*.deb)
lintian --no-cfg --fail-on error --suppress-tags embedded-library "$package" || fail "lintian found errors"
dpkg-deb -f "$package" Depends >"$folder/depends"
for needed in python3 python3-numpy libassimp5 libtbb12 libc6; do
  grep -qw "$needed" "$folder/depends" || fail "does not depend on $needed"
done

# What a person does with it, from an empty folder.
cat >"$folder/use.py" <<PYTHON
import cavigram
plan = cavigram.weigh("$source/sample_meshes/mooring_cleat.stl", units="mm", density="9lb/ft3")
assert plan.batch.part_a_g > 0 and cavigram.__file__.startswith("/usr/lib/python3/dist-packages/cavigram/") or "$folder" in cavigram.__file__
print(plan.to_json(), end="")
PYTHON
cat >"$folder/inside.sh" <<INSIDE
set -euo pipefail
for part in usr var; do
  mkdir "$folder/\$part" && mount -t tmpfs none "$folder/\$part" && mkdir "$folder/\$part/upper" "$folder/\$part/work"
  mount -t overlay overlay -o "lowerdir=/\$part,upperdir=$folder/\$part/upper,workdir=$folder/\$part/work" "/\$part"
done
touch "$folder/inside"
dpkg -i "$package" >/dev/null
ls /usr/lib/python3/dist-packages/cavigram/__pycache__/*.pyc >/dev/null
cd "$folder" && env -i PATH=/usr/bin:/bin HOME="$folder" /usr/bin/python3 "$folder/use.py" >"$folder/packed.json"
dpkg -P python3-cavigram >/dev/null
[ ! -e /usr/lib/python3/dist-packages/cavigram ]
[ ! -e /usr/share/doc/python3-cavigram ]
INSIDE
if ! unshare --mount bash "$folder/inside.sh"; then
  [ ! -e "$folder/inside" ] || fail "did not install, import or purge"
  echo "No overlay here: unpacked, not installed."
  dpkg-deb -x "$package" "$folder/unpacked"
  PYTHONPATH="$folder/unpacked/usr/lib/python3/dist-packages" /usr/bin/python3 -B "$folder/use.py" >"$folder/packed.json"
fi
"$build/tools/cavigram/cavigram" weigh "$source/sample_meshes/mooring_cleat.stl" --units mm --density 9lb/ft3 --json - | cmp - "$folder/packed.json" ||
  fail "the packed module answers otherwise"
echo "Sound: $(basename "$package"), $(stat -c %s "$package") bytes."
