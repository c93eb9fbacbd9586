#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The skin by others: VTK fills a grid with the part, and SciPy's Euclidean distance transform measures depths, for its time; VTK's distance from seeded points
to the triangles, for the answer. Prints JSON; seconds are those of the transform alone.

Usage: scipy_bench.py FILE.stl SKIN_MM PITCH_MM
"""
import json
import math
import pathlib
import sys
import time

import numpy as np
import scipy
import vtk
from scipy import ndimage

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "reference"))
from skin_test import filled_voxels, first_center  # noqa: E402

POINTS = 1_000_000

path, skin_mm, pitch_mm = sys.argv[1], float(sys.argv[2]), float(sys.argv[3])
reader = vtk.vtkSTLReader()
reader.SetFileName(path)
reader.MergingOn()
reader.Update()
inside = filled_voxels(reader.GetOutput(), pitch_mm, 0)
start = time.perf_counter()
depth_mm = ndimage.distance_transform_edt(inside, sampling=pitch_mm)
clock_s = time.perf_counter() - start
# The way to an empty middle passes the surface, so it is never shorter than the depth. A ball of half a voxel's diagonal holds a middle wherever it lies, so there is an
# empty one within a diagonal of the nearest place of the surface: the way is longer by that at most. What is skin for sure, and what may be.
each_mm3 = pitch_mm ** 3
least_mm3, most_mm3 = (each_mm3 * int(np.count_nonzero(inside & (depth_mm < skin_mm + more))) for more in (0.0, math.sqrt(3.0) * pitch_mm))

# The skin again, to a fraction of a percent: how many of seeded points within the part lie less deep than the skin, by VTK's distance to the triangles.
surface = vtk.vtkImplicitPolyDataDistance()
surface.SetInput(reader.GetOutput())
near = ndimage.binary_dilation(inside, np.ones((3, 3, 3)))  # holds the part
cells = np.argwhere(near)
draw = np.random.default_rng(20261127)
chosen = cells[draw.integers(len(cells), size=POINTS)][:, ::-1] + draw.uniform(-0.5, 0.5, (POINTS, 3))
depths_mm = np.array([-surface.EvaluateFunction(point) for point in first_center(reader.GetOutput(), pitch_mm, 0) + pitch_mm * chosen])
share = np.count_nonzero((depths_mm > 0.0) & (depths_mm < skin_mm)) / POINTS
near_mm3 = len(cells) * each_mm3
print(json.dumps({"clock_s": clock_s, "least_mm3": least_mm3, "most_mm3": most_mm3, "sampled_mm3": share * near_mm3,
                  "sampled_error_mm3": math.sqrt(share * (1.0 - share) / POINTS) * near_mm3, "points": POINTS,
                  "voxels": int(inside.size), "pitch_mm": pitch_mm, "version": scipy.__version__}))
