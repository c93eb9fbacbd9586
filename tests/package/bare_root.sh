#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# The Debian package on a bare Debian 12: installs it with what it depends on, plans a sample, removes it, and looks for what is left. By hand, as root:
# it makes a new root by mmdebstrap from this machine's package sources, which takes a minute or two and is removed at the end.
#   bare_root.sh PACKAGE.deb
set -euo pipefail
package=$(readlink -f "${1:?usage: bare_root.sh PACKAGE.deb}")
source=$(cd "$(dirname "$0")/../.." && pwd)
[ "$(id -u)" -eq 0 ] || { echo "bare_root.sh: needs root" >&2; exit 2; }
command -v mmdebstrap >/dev/null || { echo "bare_root.sh: needs mmdebstrap (apt install mmdebstrap)" >&2; exit 2; }
folder=$(mktemp -d)
root=$folder/root
mounts=()
leave() {
  for ((i = ${#mounts[@]} - 1; i >= 0; i--)); do umount "${mounts[$i]}" || umount -l "${mounts[$i]}"; done
  rm -rf --one-file-system "$folder"
}
trap leave EXIT
fail() { echo "bare_root.sh: $1" >&2; exit 1; }

# One of both places may not be there.
{ find /etc/apt/sources.list /etc/apt/sources.list.d \( -name '*.list' -o -name '*.sources' \) -exec cat {} + 2>/dev/null || true; } |
  mmdebstrap --quiet --variant=minbase --mode=root bookworm "$root" -
mount --bind /proc "$root/proc" && mounts+=("$root/proc")
mount --bind /dev "$root/dev" && mounts+=("$root/dev")
# How this machine reaches its sources; only looked at.
for part in apt.conf.d auth.conf.d keyrings trusted.gpg.d; do
  [ -d "/etc/apt/$part" ] || continue
  mkdir -p "$root/etc/apt/$part"
  mount --bind -o ro "/etc/apt/$part" "$root/etc/apt/$part" && mounts+=("$root/etc/apt/$part")
done
cp /etc/resolv.conf /etc/hosts "$root/etc/"
inside() { chroot "$root" env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 DEBIAN_FRONTEND=noninteractive "$@"; }
listed() { (cd "$root" && find . -xdev \( -path ./proc -o -path ./dev -o -path ./var/cache -o -path ./var/log -o -path ./var/lib/apt -o -path ./tmp -o -path ./run \) -prune -o -print | sort); }

inside apt-get update -qq
# Caches that any package makes anew (the loader's, and debconf's) are made before, so that they are no difference.
inside ldconfig
listed >"$folder/before"
inside dpkg-query -W -f '${Package}\n' | sort >"$folder/packages"
cp "$package" "$root/tmp/cavigram.deb"
cp "$source/sample_meshes/mooring_cleat.stl" "$root/tmp/"
inside apt-get install -qq -y --no-install-recommends /tmp/cavigram.deb >"$folder/log" 2>&1 || { tail -n 20 "$folder/log" >&2; fail "it can't be installed"; }
with=$(comm -13 "$folder/packages" <(inside dpkg-query -W -f '${Package}\n' | sort) | wc -l)
echo "Installed, with $with packages."
inside sh -c 'ldd /usr/bin/cavigram | grep "not found"' && fail "a library is missing"
inside cavigram --version
inside cavigram plan /tmp/mooring_cleat.stl --units mm --out /tmp/plan --quiet || fail "a plan fails"
[ -s "$root/tmp/plan/pour_sheet.html" ] || fail "no pour sheet"
inside timeout -s INT 3 cavigram serve --no-browser --no-recent | head -n 1 | sed 's/?key=.*/?key=.../' || true
# minbase leaves manual pages and docs out of nothing; they must be there and readable.
inside sh -c 'gzip -dc /usr/share/man/man1/cavigram.1.gz | head -n 1 | grep -q "^.TH"' || fail "no manual page"
inside test -s /usr/share/doc/cavigram/cavigram.spdx.json || fail "no bill of materials"
inside apt-get purge -qq -y --autoremove cavigram >"$folder/log" 2>&1 || { tail -n 20 "$folder/log" >&2; fail "it can't be purged"; }
inside dpkg-query -W cavigram >/dev/null 2>&1 && fail "dpkg still knows it"
inside ldconfig
listed >"$folder/after"
comm -13 "$folder/before" "$folder/after" >"$folder/left"
"$source/tests/claims.py" --record package "packages=$with" "left=$(wc -l <"$folder/left")"
if [ -s "$folder/left" ]; then
  cat "$folder/left" >&2
  fail "left behind"
fi
echo "Sound: installed, ran, purged; nothing is left."
