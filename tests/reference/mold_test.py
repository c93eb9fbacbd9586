#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rubber and jacket around three meshes that no one here made, against SciPy's Euclidean distance transform.

As skin_test.py, outward: VTK 9.1 (python3-vtk9) fills a grid of voxels with the part, SciPy (python3-scipy) gives each empty voxel its distance to
the nearest filled one. How much too long these are is measured on balls, whose shells are known, and a ring (Steiner) says how good the voxels are.
The shells come from the voxels and in no part from cavigram.

Usage: mold_test.py PROGRAM DATA_FOLDER
"""
import json
import math
import pathlib
import sys
import tempfile

import numpy as np
import vtk
from scipy import ndimage

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from skin_test import filled_voxels, scaled, turned  # noqa: E402  (before tests/cli, which has a file of that name, is looked into)
from main_job_test import polydata_from_off  # noqa: E402
from runner import run  # noqa: E402

RUBBER_MM = 10.0
JACKET_MM = 15.0
THICKNESSES_MM = (RUBBER_MM, RUBBER_MM + JACKET_MM)
PITCH_MM = 1.2
TURNS = 4
PROCEDURE_WITHIN = 0.003  # what the ring shows of the voxels themselves
WITHIN = 2.0 * PROCEDURE_WITHIN  # on meshes without a closed form
MESHES = ("elephant.off", "bear.off", "knot1.off")


def outer_distances(data):
    """The distances of empty voxels around the part to filled ones, for each turn."""
    around = []
    border = int(math.ceil((RUBBER_MM + JACKET_MM) / PITCH_MM)) + 3
    for turn in range(TURNS):
        inside = np.pad(filled_voxels(turned(data, turn), PITCH_MM, turn), border)
        distance = ndimage.distance_transform_edt(~inside, sampling=PITCH_MM)
        around.append(distance[(distance > 0.0) & (distance < RUBBER_MM + JACKET_MM + 3.0 * PITCH_MM)])
    return around


def shell_mm3(distances, thickness, shift):
    """Volume within a thickness, mean of the turns; distances are too long by `shift` pitches. Between the grid's own distances it is interpolated."""
    counts = []
    for distance in distances:
        squares, number = np.unique(np.rint((distance / PITCH_MM)**2), return_counts=True)
        levels = PITCH_MM * np.sqrt(squares)
        between = np.append(0.5 * (levels[1:] + levels[:-1]), levels[-1])
        counts.append(np.interp(thickness + shift * PITCH_MM, between, np.cumsum(number)))
    return float(np.mean(counts)) * PITCH_MM**3


def measured_shifts():
    """For each thickness the shift that gives balls of three radii their shells, in the mean: the farther a voxel, the more filled ones vie for being
    the nearest, and the less its distance is too long."""
    shifts = {thickness: [] for thickness in THICKNESSES_MM}
    for radius in (25.0, 40.0, 60.0):
        ball = vtk.vtkSphereSource()
        ball.SetRadius(radius)
        ball.SetThetaResolution(300)
        ball.SetPhiResolution(150)
        ball.Update()
        distances = outer_distances(ball.GetOutput())
        for thickness in THICKNESSES_MM:
            exact = 4.0 / 3.0 * math.pi * ((radius + thickness)**3 - radius**3)
            low, high = -0.5, 1.0
            for _ in range(30):
                middle = 0.5 * (low + high)
                low, high = (middle, high) if shell_mm3(distances, thickness, middle) < exact else (low, middle)
            shifts[thickness].append(low)
    for thickness, some in shifts.items():
        print(f"{thickness:4.0f} mm: distances too long by", ", ".join(f"{s:.3f}" for s in some), "pitches on three balls")
    return {thickness: float(np.mean(some)) for thickness, some in shifts.items()}


def check_the_procedure(shifts):
    """docs/checks.md G-4's law on a ring of 60 and 18 mm: A t + M t^2, A = 4 pi^2 R r, M = 2 pi^2 R."""
    torus = vtk.vtkParametricTorus()
    torus.SetRingRadius(60.0)
    torus.SetCrossSectionRadius(18.0)
    source = vtk.vtkParametricFunctionSource()
    source.SetParametricFunction(torus)
    source.SetUResolution(300)
    source.SetVResolution(150)
    source.Update()
    distances = outer_distances(source.GetOutput())
    for thickness in THICKNESSES_MM:
        exact = 4.0 * math.pi**2 * 60.0 * 18.0 * thickness + 2.0 * math.pi**2 * 60.0 * thickness**2
        off = shell_mm3(distances, thickness, shifts[thickness]) / exact - 1.0
        print(f"{'ring':14} {thickness:4.0f} mm: voxels off by {100 * off:+.3f} %")
        assert abs(off) < PROCEDURE_WITHIN


def main():
    program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    shifts = measured_shifts()
    check_the_procedure(shifts)
    worst = 0.0
    for name in MESHES:
        path = next(folder.glob(f"libcgal-demo/**/{name}"))
        distances = outer_distances(scaled(polydata_from_off(path)))
        with tempfile.TemporaryDirectory() as scratch:
            out = pathlib.Path(scratch) / "mold.json"
            result = run(program, "mold", str(path), "--longest", "200mm", "--kind", "brushed", "--rubber", f"{RUBBER_MM}mm", "--jacket",
                         f"{JACKET_MM}mm", "--up", "+z", "--pour-hole-after", "none", "--method", "open_half_and_turn", "--most-vents", "0",
                         "--json", str(out), "--quiet", timeout=300)
            assert result.returncode in (0, 1), result.stderr
            plan = json.loads(out.read_text())
        assert plan["repair"]["verdict"] == "sound", name
        assert not plan["mold"]["holes"], name
        rubber = plan["mold"]["rubber_mm3"]
        for what, ours, thickness in (("rubber", rubber, THICKNESSES_MM[0]), ("with jacket", rubber + plan["mold"]["jacket_mm3"], THICKNESSES_MM[1])):
            voxels = shell_mm3(distances, thickness, shifts[thickness])
            off = ours / voxels - 1.0
            worst = max(worst, abs(off))
            print(f"{name:14} {what:12} {ours / 1000.0:8.2f} cm3, voxels {voxels / 1000.0:8.2f} cm3: {100 * off:+.3f} %")
    assert worst < WITHIN, f"off by {100 * worst:.2f} %"


if __name__ == "__main__":
    main()
