#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs by name what is missing of Debian's packages. Asks for root only if something is.
#   tools/dev/install.sh build     what building the program needs
#   tools/dev/install.sh test      that, and what the tests need
#   tools/dev/install.sh lint      what building needs, and the tools that read the code
set -euo pipefail

build=(g++ cmake ninja-build ccache pkg-config libcgal-dev libassimp-dev libeigen3-dev libtbb-dev libfmt-dev libtomlplusplus-dev
       nlohmann-json3-dev libcli11-dev zlib1g-dev libzip-dev libexpat1-dev libdraco-dev libmeshoptimizer-dev
       libsqlite3-dev libboost-dev nettle-dev nodejs npm)
tests=(doctest-dev python3-minimal python3-numpy python3-scipy python3-vtk9 python3-gudhi libgudhi-dev libbenchmark-dev calculix-ccx freefem++ lib3mf-dev libtinygltf-dev ca-certificates
       chromium fonts-dejavu-core zsh fish groff-base lintian dpkg-dev file faketime procps slurm-wlm munge)
# The Python module, and what its tests need.
build+=(python3-dev pybind11-dev python3-numpy)
tests+=(python3-matplotlib mypy)
lint=(clang-format clang-tidy doxygen)

case "${1:-}" in
  build) wanted=("${build[@]}") ;;
  test) wanted=("${build[@]}" "${tests[@]}") ;;
  lint) wanted=("${build[@]}" "${lint[@]}") ;;
  *) echo "usage: tools/dev/install.sh build|test|lint" >&2; exit 2 ;;
esac

missing=()
for package in "${wanted[@]}"; do
  # A tool that is there already counts, wherever it came from.
  case "$package" in
    g++ | cmake | ccache | pkg-config | npm) command -v "$package" >/dev/null && continue ;;
    ninja-build) command -v ninja >/dev/null && continue ;;
    nodejs) command -v node >/dev/null && continue ;;
  esac
  [ "$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null)" = installed ] || missing+=("$package")
done
[ ${#missing[@]} -eq 0 ] && exit 0

as_root=()
if [ "$(id -u)" -ne 0 ]; then
  command -v sudo >/dev/null || { echo "install.sh: these packages are missing, and there is no sudo: ${missing[*]}" >&2; exit 1; }
  as_root=(sudo)
fi
echo "Installing: ${missing[*]}"
"${as_root[@]}" apt-get update -qq
"${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
