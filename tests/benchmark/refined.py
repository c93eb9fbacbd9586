#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes one part at several sizes, and what its triangles sum up to.

Usage: refined.py BASE.off FOLDER MOST_TRIANGLES      FOLDER/part_N.stl, FOLDER/meshes.json
"""
import json
import pathlib
import sys

import meshes

folder, most = pathlib.Path(sys.argv[2]), int(sys.argv[3])
folder.mkdir(parents=True, exist_ok=True)
corners, truth = meshes.read_off(sys.argv[1]), {}
while len(corners) <= most:
    name = f"part_{len(corners)}"
    meshes.write_stl(folder / f"{name}.stl", corners)
    volume_mm3, area_mm2 = meshes.volume_and_area(corners)
    truth[name] = {"triangles": len(corners), "volume_mm3": volume_mm3, "area_mm2": area_mm2}
    corners = meshes.finer(corners)
(folder / "meshes.json").write_text(json.dumps(truth, indent=1))
print("\n".join(str(folder / f"{name}.stl") for name in truth))
