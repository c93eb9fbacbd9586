#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The main job on meshes that no one here made.

Runs `cavigram plan` on the surface meshes of the Debian packages libcgal-demo 5.5.1 and assimp-testmodels 5.2.5 and of the npm packages
stl-models 0.12.0 and bunny 1.0.1. Every run must end in grams, or in one plain sentence; of those that are sound as read, volume and area are
held against VTK 9.1 (python3-vtk9): its reader and its triangles, summed by numpy.

Usage: main_job_test.py PROGRAM DATA_FOLDER [SHARD SHARDS]
"""
import json
import os
import pathlib
import sys
import tempfile

import numpy as np
import vtk
from vtk.util.numpy_support import vtk_to_numpy

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "cli"))
from runner import check_refusal, run  # noqa: E402

READERS = {".stl": vtk.vtkSTLReader, ".ply": vtk.vtkPLYReader, ".obj": vtk.vtkOBJReader}
BLOCKS = {"input", "repair", "measures", "thin", "foam", "batch", "air"}


# Surfaces with holes and open sides that a person would call a part: they must get grams, and a range.
MENDED = ("elephant-with-holes.off", "mech-holes-shark.off", "cube-ouvert.off", "open_cube.off")
# Less than half of a part: refused with a place to look.
OPEN_SHEET = "mesh_with_border.off"
# Steps that make up surface or leave doubt; the grams must then have a range.
DOUBTFUL = {"close_holes", "close_cracks", "wrap", "keep_crossings", "fill_broken_hollow", "drop_within",
            "allow_for_noise"}


def polydata_from_off(path):
    """An OFF file as VTK polygons; VTK 9.1 has no reader for it."""
    words = []
    for line in path.read_text(errors="replace").splitlines():
        words += line.split("#")[0].split()
    if not words or words[0] not in ("OFF", "COFF", "NOFF"):
        return None
    width = {"OFF": 3, "COFF": 7, "NOFF": 6}[words[0]]
    count, faces = int(words[1]), int(words[2])
    at = 4
    points = vtk.vtkPoints()
    points.SetDataTypeToDouble()
    for _ in range(count):
        points.InsertNextPoint(*map(float, words[at:at + 3]))
        at += width
    cells = vtk.vtkCellArray()
    for _ in range(faces):
        n = int(words[at])
        if n != 3:
            return None
        cells.InsertNextCell(n)
        for k in range(n):
            cells.InsertCellPoint(int(words[at + 1 + k]))
        at += 1 + n
    if at != len(words):
        return None  # colors behind faces: not needed here
    data = vtk.vtkPolyData()
    data.SetPoints(points)
    data.SetPolys(cells)
    return data


def reference(path):
    """Volume and area of what VTK reads, or None where it can't read the file."""
    if path.suffix == ".off":
        try:
            data = polydata_from_off(path)
        except (ValueError, IndexError):
            return None
        if data is None:
            return None
    else:
        reader = READERS[path.suffix]()
        reader.SetFileName(str(path))
        reader.Update()
        data = reader.GetOutput()
    triangles = vtk.vtkTriangleFilter()
    triangles.SetInputData(data)
    triangles.Update()
    data = triangles.GetOutput()
    if data.GetNumberOfPolys() == 0:
        return None
    points = vtk_to_numpy(data.GetPoints().GetData()).astype(np.float64)
    corners = points[vtk_to_numpy(data.GetPolys().GetConnectivityArray()).reshape(-1, 3)]
    corners = corners - 0.5 * (corners.reshape(-1, 3).min(axis=0) + corners.reshape(-1, 3).max(axis=0))
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    volume = np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2
    return volume, area


def meshes(data):
    for package in ("libcgal-demo", "stl-models", "bunny", "assimp-testmodels"):
        for path in sorted((data / package).rglob("*")):
            if path.suffix in (".off", *READERS) and path.is_file() and path.stat().st_size < 40e6:
                yield path


def main():
    program = os.path.abspath(sys.argv[1])
    data = pathlib.Path(sys.argv[2])
    shard, shards = (int(sys.argv[3]), int(sys.argv[4])) if len(sys.argv) > 4 else (0, 1)
    if not data.is_dir():
        print("The packages' meshes are not there; run tools/dev/fetch_models.sh")
        return 1
    outcome = {"sound": 0, "repaired": 0, "wrapped": 0, "refused": 0}
    compared = 0
    faults = []
    paths = [p for i, p in enumerate(meshes(data)) if i % shards == shard]
    for path in paths:
        name = path.relative_to(data)
        with tempfile.TemporaryDirectory() as folder:
            # The rise on few cells: reference.rise_air holds it on many.
            result = run(program, "plan", str(path), "--units", "mm", "--cells", "2000", "--json", "-", "--out", folder + "/out", timeout=300)
        if result.returncode == 3:
            outcome["refused"] += 1
            if path.name in MENDED or (path.name == OPEN_SHEET and "near x " not in result.stderr):
                faults.append(f"{name}: {result.stderr.strip()}")
            faults += [f"{name}: {fault}" for fault in check_refusal(result, 3)]
            print(f"refused   {name}: {result.stderr.strip()}")
            continue
        if result.returncode not in (0, 1):
            faults.append(f"{name}: exit status {result.returncode}: {result.stderr[:300]}")
            continue
        plan = json.loads(result.stdout)
        if not BLOCKS <= set(plan):
            faults.append(f"{name}: blocks missing: {BLOCKS - set(plan)}")
        verdict = plan["repair"]["verdict"]
        outcome[verdict] += 1
        measures = plan["measures"]
        if not measures["volume_low_mm3"] <= measures["volume_mm3"] <= measures["volume_high_mm3"] or measures["volume_mm3"] <= 0:
            faults.append(f"{name}: volume {measures}")
        unsure = DOUBTFUL & {step["action"] for step in plan["repair"]["steps"]}
        grams = plan["foam"]["part_mass_low_g"], plan["foam"]["part_mass_high_g"]
        if unsure and not (measures["volume_low_mm3"] < measures["volume_high_mm3"] and 0 <= grams[0] < grams[1]):
            faults.append(f"{name}: {sorted(unsure)} without a range: {measures}, {grams} g")
        if verdict == "sound":
            truth = reference(path)
            if truth is not None:
                compared += 1
                for what, mine, theirs in (("volume", measures["volume_mm3"], truth[0]), ("area", measures["area_mm2"], truth[1])):
                    # In text OBJ and PLY the importer's digits can be a float32 step off (docs/rooms/io.md); of ASCII STL this program
                    # keeps double precision, where VTK rounds each coordinate to float32, 6e-8 of it.
                    text = plan["input"]["format"] == "stl-ascii" or (
                        path.suffix in (".obj", ".ply") and b"binary" not in path.read_bytes()[:200])
                    if abs(mine - theirs) > (3e-8 if text else 1e-9) * abs(theirs):
                        faults.append(f"{name}: {what} {mine!r}, VTK {theirs!r}")
    missing = {*MENDED, OPEN_SHEET} - {p.name for p in meshes(data)}
    if missing:
        faults.append(f"the packages hold no {sorted(missing)}")
    for fault in faults:
        print("FAULT", fault)
    print(f"{len(paths)} files: {outcome}, {compared} held against VTK, {len(faults)} faults")
    return 1 if faults or not paths else 0


if __name__ == "__main__":
    sys.exit(main())
