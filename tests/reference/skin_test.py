#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The skin's volume against SciPy's Euclidean distance transform on three meshes that no one here made.

Meshes: libcgal-demo 5.5.1. VTK 9.1 (python3-vtk9) fills a grid of voxels with the part, SciPy (python3-scipy) gives each filled voxel its
distance to the nearest empty one. The surface passes somewhere before that voxel: the distance is too long by some share of the pitch, which is
measured on balls, whose skin is known; a torus, whose skin is known as well, then says how good the voxels are. Turns of the part in the grid are
averaged. Rounded parts only: a flat wall meets the grid in one direction, and that direction's own share is off by up to 4 % of the skin. Volume
and skin both come from the voxels and neither from cavigram.

Usage: skin_test.py PROGRAM DATA_FOLDER
"""
import json
import pathlib
import sys
import tempfile

import numpy as np
import vtk
from scipy import ndimage
from vtk.util.numpy_support import vtk_to_numpy

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "cli"))
from main_job_test import polydata_from_off  # noqa: E402
from runner import run  # noqa: E402

LONGEST_MM = 200.0
SKIN_MM = 5.0
PITCH_MM = 0.8
TURNS = 6
PROCEDURE_WITHIN = 0.003  # what the torus shows of the voxels themselves
WITHIN = 2.0 * PROCEDURE_WITHIN  # on meshes without a closed form
MESHES = ("elephant.off", "bear.off", "knot1.off")


def first_center(data, pitch, turn):
    """Where the voxels of a surface begin: off the middle of the part by a share that has nothing to do with it, so that no flat wall meets a layer of centers."""
    return np.array(data.GetBounds()).reshape(3, 2)[:, 0] - pitch * (2.0 + np.modf(turn * np.array([0.618, 0.414, 0.732]) + 0.31)[0])


def filled_voxels(data, pitch, turn):
    """Which voxel centers lie within a closed surface; a border of two empty voxels all around."""
    low_high = np.array(data.GetBounds()).reshape(3, 2)
    origin = first_center(data, pitch, turn)
    shape = [int(n) for n in np.ceil((low_high[:, 1] - origin) / pitch) + 4]
    image = vtk.vtkImageData()
    image.SetDimensions(*shape)
    image.SetSpacing(pitch, pitch, pitch)
    image.SetOrigin(*origin)
    image.AllocateScalars(vtk.VTK_UNSIGNED_CHAR, 1)
    image.GetPointData().GetScalars().Fill(1)
    stencil = vtk.vtkPolyDataToImageStencil()
    stencil.SetInputData(data)
    stencil.SetOutputOrigin(*origin)
    stencil.SetOutputSpacing(pitch, pitch, pitch)
    stencil.SetOutputWholeExtent(image.GetExtent())
    stencil.SetTolerance(0.0)
    cut = vtk.vtkImageStencil()
    cut.SetInputData(image)
    cut.SetStencilConnection(stencil.GetOutputPort())
    cut.SetBackgroundValue(0)
    cut.Update()
    return vtk_to_numpy(cut.GetOutput().GetPointData().GetScalars()).reshape(shape[::-1]).astype(bool)


def turned(data, turn):
    transform = vtk.vtkTransform()
    transform.RotateWXYZ(37.0 + 101.0 * turn, 0.3 + turn, 0.5, 0.8 - 0.6 * turn)
    filter_ = vtk.vtkTransformPolyDataFilter()
    filter_.SetInputData(data)
    filter_.SetTransform(transform)
    filter_.Update()
    return filter_.GetOutput()


def voxel_depths(data):
    """The distances of all filled voxels to empty ones, for each turn."""
    depths = []
    for turn in range(TURNS):
        inside = filled_voxels(turned(data, turn), PITCH_MM, turn)
        depths.append(ndimage.distance_transform_edt(inside, sampling=PITCH_MM)[inside])
    return depths


def voxel_skin_mm3(depths, shift):
    """Volume within SKIN_MM of the surface, mean of the turns; distances are too long by `shift` pitches."""
    # Distances in a grid are roots of whole numbers of pitches: between one and the next the count is interpolated.
    counts = []
    for depth in depths:
        squares, number = np.unique(np.rint((depth / PITCH_MM)**2), return_counts=True)
        levels = PITCH_MM * np.sqrt(squares)
        between = np.append(0.5 * (levels[1:] + levels[:-1]), levels[-1])
        counts.append(np.interp(SKIN_MM + shift * PITCH_MM, between, np.cumsum(number)))
    return float(np.mean(counts)) * PITCH_MM**3


def measured_shift():
    """By how many pitches the distances are too long: the shift that gives balls of three radii their skin, in the mean."""
    shifts = []
    for radius in (25.0, 40.0, 60.0):
        ball = vtk.vtkSphereSource()
        ball.SetRadius(radius)
        ball.SetThetaResolution(300)
        ball.SetPhiResolution(150)
        ball.Update()
        depths = voxel_depths(ball.GetOutput())
        exact = 4.0 / 3.0 * np.pi * (radius**3 - (radius - SKIN_MM)**3)
        low, high = 0.0, 1.0
        for _ in range(30):
            middle = 0.5 * (low + high)
            if voxel_skin_mm3(depths, middle) < exact:
                low = middle
            else:
                high = middle
        shifts.append(low)
    print("distances too long by", ", ".join(f"{s:.3f}" for s in shifts), "pitches on three balls")
    return float(np.mean(shifts))


def scaled(data):
    low_high = np.array(data.GetBounds()).reshape(3, 2)
    scale = LONGEST_MM / np.max(low_high[:, 1] - low_high[:, 0])
    transform = vtk.vtkTransform()
    transform.Scale(scale, scale, scale)
    filter_ = vtk.vtkTransformPolyDataFilter()
    filter_.SetInputData(data)
    filter_.SetTransform(transform)
    filter_.Update()
    return filter_.GetOutput()


def check_the_procedure(shift):
    """The voxels themselves on a torus (docs/checks.md G-8), which holds walls in many directions as the meshes do."""
    torus = vtk.vtkParametricTorus()
    torus.SetRingRadius(60.0)
    torus.SetCrossSectionRadius(18.0)
    torus_source = vtk.vtkParametricFunctionSource()
    torus_source.SetParametricFunction(torus)
    torus_source.SetUResolution(300)
    torus_source.SetVResolution(150)
    torus_source.Update()
    # Pappus: ring times the section between two circles.
    exact = 2.0 * np.pi * 60.0 * np.pi * (18.0**2 - (18.0 - SKIN_MM)**2)
    off = voxel_skin_mm3(voxel_depths(torus_source.GetOutput()), shift) / exact - 1.0
    print(f"{'torus':14} voxels off by {100 * off:+.3f} %")
    assert abs(off) < PROCEDURE_WITHIN


def main():
    program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    shift = measured_shift()
    check_the_procedure(shift)
    worst = 0.0
    for name in MESHES:
        path = next(folder.glob(f"libcgal-demo/**/{name}"))
        data = scaled(polydata_from_off(path))
        voxels = voxel_skin_mm3(voxel_depths(data), shift)
        with tempfile.TemporaryDirectory() as scratch:
            out = pathlib.Path(scratch) / "weigh.json"
            result = run(program, "weigh", str(path), "--longest", f"{LONGEST_MM}mm", "--skin-thickness", f"{SKIN_MM}mm",
                         "--skin-density", "200kg/m3", "--json", str(out), "--quiet", timeout=300)
            assert result.returncode == 0, result.stderr
            plan = json.loads(out.read_text())
        assert plan["repair"]["verdict"] == "sound", name
        ours = plan["foam"]["skin_volume_mm3"]
        off = ours / voxels - 1.0
        worst = max(worst, abs(off))
        print(f"{name:14} skin {ours / 1000.0:8.2f} cm3, voxels {voxels / 1000.0:8.2f} cm3: {100 * off:+.3f} %; of the part "
              f"{100 * ours / plan['measures']['volume_mm3']:.0f} %")
    assert worst < WITHIN, f"off by {100 * worst:.2f} %"


if __name__ == "__main__":
    main()
