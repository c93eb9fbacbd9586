#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rubber and jacket around three meshes that no one here made, against distances from SciPy.

Meshes: libcgal-demo 5.5.1. VTK 9.1 (python3-vtk9) tells which points of a lattice lie within the part; SciPy (python3-scipy) gives those outside their
distance to the nearest of 200,000 random points on its surface (k-d tree), less what these lie beside the nearest point in the mean square. Counted
within a thickness that is the shell's volume; a ring, whose shells are known (Steiner), says how good the lattice is. Turns of the part are averaged.
SciPy's distance transform of filled voxels was tried first: on the elephant, with thin ears and tusks, it varied by 1 % with the voxels' size. Nothing of
this comes from cavigram.

Usage: mold_test.py PROGRAM DATA_FOLDER
"""
import json
import math
import pathlib
import sys
import tempfile

import numpy as np
import vtk
from scipy.spatial import cKDTree
from vtk.util.numpy_support import vtk_to_numpy

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from skin_test import filled_voxels, scaled, turned  # noqa: E402  (before tests/cli, which has a file of that name, is looked into)
from main_job_test import polydata_from_off  # noqa: E402
from runner import run  # noqa: E402

THICKNESSES_MM = (10.0, 25.0)  # rubber; rubber and jacket
PITCH_MM = 3.0
TURNS = 3
POINTS = 200_000
PROCEDURE_WITHIN = 0.0025  # what the ring shows of the lattice itself
WITHIN = 2.0 * PROCEDURE_WITHIN  # on meshes without a closed form
MESHES = ("elephant.off", "bear.off", "knot1.off")


def surface_points(data, random):
    """Random points on the surface, even by area."""
    corners = vtk_to_numpy(data.GetPoints().GetData()).astype(float)
    triangles = vtk_to_numpy(data.GetPolys().GetData()).reshape(-1, 4)[:, 1:]
    a, b, c = (corners[triangles[:, i]] for i in range(3))
    area = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
    chosen = np.searchsorted(np.cumsum(area), random.random(POINTS) * area.sum()).clip(0, len(area) - 1)
    u, v = random.random(POINTS), random.random(POINTS)
    over = u + v > 1.0
    u[over], v[over] = 1.0 - u[over], 1.0 - v[over]
    return a[chosen] + u[:, None] * (b - a)[chosen] + v[:, None] * (c - a)[chosen], area.sum()


def shells_mm3(data):
    """Volume within each thickness outside the part, mean of the turns."""
    random = np.random.default_rng(7)
    border = int(math.ceil(max(THICKNESSES_MM) / PITCH_MM)) + 1
    sums = np.zeros(len(THICKNESSES_MM))
    for turn in range(TURNS):
        part = turned(data, turn)
        inside = np.pad(filled_voxels(part, PITCH_MM, turn), border)
        # The lattice of filled_voxels: its origin lies two pitches and a share of one before the part.
        low = np.array(part.GetBounds()).reshape(3, 2)[:, 0]
        origin = low - PITCH_MM * (2.0 + np.modf(turn * np.array([0.618, 0.414, 0.732]) + 0.31)[0] + border)
        outside = np.argwhere(~inside)[:, ::-1] * PITCH_MM + origin  # arrays run z, y, x
        points, area = surface_points(part, random)
        distance, _ = cKDTree(points).query(outside, distance_upper_bound=max(THICKNESSES_MM) + 1.0)
        beside = area / (math.pi * POINTS)  # mean square, of the nearest of points strewn at random over a plane
        sums += [np.count_nonzero(distance**2 - beside < thickness**2) for thickness in THICKNESSES_MM]
    return sums / TURNS * PITCH_MM**3


def check_the_procedure():
    """docs/checks.md G-4's law on a ring of 60 and 18 mm: A t + M t^2, A = 4 pi^2 R r, M = 2 pi^2 R."""
    torus = vtk.vtkParametricTorus()
    torus.SetRingRadius(60.0)
    torus.SetCrossSectionRadius(18.0)
    source = vtk.vtkParametricFunctionSource()
    source.SetParametricFunction(torus)
    source.SetUResolution(300)
    source.SetVResolution(150)
    source.Update()
    for thickness, found in zip(THICKNESSES_MM, shells_mm3(source.GetOutput())):
        exact = 4.0 * math.pi**2 * 60.0 * 18.0 * thickness + 2.0 * math.pi**2 * 60.0 * thickness**2
        print(f"{'ring':14} {thickness:4.0f} mm: lattice off by {100 * (found / exact - 1.0):+.3f} %", flush=True)
        assert abs(found / exact - 1.0) < PROCEDURE_WITHIN


def main():
    program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    check_the_procedure()
    worst = 0.0
    for name in MESHES:
        path = next(folder.glob(f"libcgal-demo/**/{name}"))
        with tempfile.TemporaryDirectory() as scratch:
            out = pathlib.Path(scratch) / "mold.json"
            result = run(program, "mold", str(path), "--longest", "200mm", "--kind", "brushed", "--rubber", f"{THICKNESSES_MM[0]}mm", "--jacket",
                         f"{THICKNESSES_MM[1] - THICKNESSES_MM[0]}mm", "--up", "+z", "--pour-hole-after", "none", "--method", "open_half_and_turn",
                         "--most-vents", "0", "--json", str(out), "--quiet", timeout=300)
            assert result.returncode in (0, 1), result.stderr
            plan = json.loads(out.read_text())
        assert plan["repair"]["verdict"] == "sound", name
        assert not plan["mold"]["holes"], name
        rubber = plan["mold"]["rubber_mm3"]
        lattice = shells_mm3(scaled(polydata_from_off(path)))
        for what, ours, theirs in (("rubber", rubber, lattice[0]), ("with jacket", rubber + plan["mold"]["jacket_mm3"], lattice[1])):
            off = ours / theirs - 1.0
            worst = max(worst, abs(off))
            print(f"{name:14} {what:12} {ours / 1000.0:8.2f} cm3, lattice {theirs / 1000.0:8.2f} cm3: {100 * off:+.3f} %", flush=True)
    assert worst < WITHIN, f"off by {100 * worst:.2f} %"


if __name__ == "__main__":
    main()
