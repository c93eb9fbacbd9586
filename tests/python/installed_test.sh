#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs the Python module under prefixes of each kind; Python finds it there as it would on a machine.
#   installed_test.sh SOURCE BUILD
set -euo pipefail
source=$1 build=$2
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
fail() { echo "installed_test: $1" >&2; exit 1; }

for prefix in person/.local usr usr/local; do
  cmake --install "$build" --component python --prefix "$folder/$prefix" >/dev/null
  case $prefix in
    usr) place=lib/python3/dist-packages ;;
    usr/local) place=lib/python3.11/dist-packages ;;
    *) place=lib/python3.11/site-packages ;;
  esac
  found=$(cd "$folder/$prefix/$place/cavigram" && ls | tr '\n' ' ')
  [ "$found" = "__init__.py __init__.pyi _core.cpython-311-x86_64-linux-gnu.so py.typed " ] || [ "$(uname -m)" != x86_64 ] || fail "$prefix holds $found"
done
# A person's own is found by itself (PEP 370); the volume is that of the README's worked example.
cd "$folder"
volume=$(env -i PATH=/usr/bin HOME="$folder/person" /usr/bin/python3 -B -c "
import cavigram
assert cavigram.__file__.startswith('$folder/person/.local/'), cavigram.__file__
print(round(cavigram.mend('$source/sample_meshes/mooring_cleat.stl', units='mm').measures.volume_mm3 / 1000, 1))")
[ "$volume" = 233.8 ] || fail "answers $volume"
echo "Sound: imported from ~/.local."
