#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Fetches the meshes that the tests labelled `reference` read, a validator for glTF and a library of unions, into the
# folder that is named. No root needed.
#
#   tools/dev/fetch_models.sh build/reference_data
#
# Two Debian packages by apt-get and four npm packages by npm, unpacked, nothing installed. What is there
# already is left alone, so a second run is quick and needs no network. docs/rooms/io.md says what they hold.
set -eu

if [ $# -ne 1 ]; then
    echo "usage: $0 FOLDER" >&2
    exit 2
fi
mkdir -p "$1"
dest=$(cd "$1" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
chmod 755 "$work" # apt-get fetches as another user where there is one

fail() {
    echo "fetch_models: $1" >&2
    exit 1
}

# present NAME: true, and says so, if NAME was unpacked before.
present() {
    [ -f "$dest/$1/.version" ] && cat "$dest/$1/.version"
}

# place NAME VERSION: moves $work/NAME to its place at once, so that it is there whole or not at all.
place() {
    echo "$1 $2" >"$work/$1/.version"
    rm -rf "${dest:?}/$1"
    mv "$work/$1" "$dest/$1"
    echo "$1 $2"
}

# fetch_deb NAME: unpacks the Debian package into $work/deb and sets $version.
fetch_deb() {
    rm -rf "$work/deb"
    mkdir "$work/deb"
    (cd "$work/deb" && apt-get download "$1") >"$work/log" 2>&1 ||
        fail "can't get the Debian package $1; check the network, and let root run apt-get update"
    set -- "$work"/deb/*.deb
    version=$(dpkg-deb --field "$1" Version)
    dpkg -x "$1" "$work/deb/files"
}

# fetch_npm NAME VERSION: unpacks the npm package into $work/npm/package.
fetch_npm() {
    rm -rf "$work/npm"
    mkdir "$work/npm"
    command -v npm >/dev/null || fail "npm is missing; install it (Debian: npm)"
    (cd "$work/npm" && npm pack --silent "$1@$2") >"$work/log" 2>&1 ||
        fail "can't get the npm package $1; check the network"
    tar -xzf "$work"/npm/*.tgz -C "$work/npm"
}

present libcgal-demo || {
    fetch_deb libcgal-demo
    mkdir "$work/libcgal-demo"
    tar -xzf "$work/deb/files/usr/share/doc/libcgal-dev/data.tar.gz" -C "$work/libcgal-demo"
    place libcgal-demo "$version"
}

present assimp-testmodels || {
    fetch_deb assimp-testmodels
    mv "$work/deb/files/usr/share/assimp/models" "$work/assimp-testmodels"
    place assimp-testmodels "$version"
}

present stl-models || {
    fetch_npm stl-models 0.12.0
    mv "$work/npm/package" "$work/stl-models"
    place stl-models 0.12.0
}

# The bunny comes as a JavaScript module of two arrays; it is written out as OFF.
present bunny || {
    fetch_npm bunny 1.0.1
    mkdir "$work/bunny"
    # shellcheck disable=SC2016 # the backquotes are for node
    node -e '
        const mesh = require(process.argv[1]);
        const lines = ["OFF", `${mesh.positions.length} ${mesh.cells.length} 0`];
        for (const p of mesh.positions) lines.push(p.join(" "));
        for (const c of mesh.cells) lines.push("3 " + c.join(" "));
        require("fs").writeFileSync(process.argv[2], lines.join("\n") + "\n");
    ' "$work/npm/package/index.js" "$work/bunny/bunny.off" || fail "can't unpack the bunny; install node"
    place bunny 1.0.1
}

present gltf-validator || {
    fetch_npm gltf-validator 2.0.0-dev.3.10
    mv "$work/npm/package" "$work/gltf-validator"
    place gltf-validator 2.0.0-dev.3.10
}

present manifold-3d || {
    fetch_npm manifold-3d 3.5.4
    mv "$work/npm/package" "$work/manifold-3d"
    place manifold-3d 3.5.4
}
