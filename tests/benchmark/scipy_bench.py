#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The skin by voxels: VTK fills a grid with the part, SciPy's Euclidean distance transform measures depths. Prints JSON; seconds are those of the transform alone.

Usage: scipy_bench.py FILE.stl SKIN_MM PITCH_MM
"""
import json
import pathlib
import sys
import time

import numpy as np
import scipy
import vtk
from scipy import ndimage

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "reference"))
from skin_test import filled_voxels  # noqa: E402

path, skin_mm, pitch_mm = sys.argv[1], float(sys.argv[2]), float(sys.argv[3])
reader = vtk.vtkSTLReader()
reader.SetFileName(path)
reader.MergingOn()
reader.Update()
inside = filled_voxels(reader.GetOutput(), pitch_mm, 0)
start = time.perf_counter()
depth_mm = ndimage.distance_transform_edt(inside, sampling=pitch_mm)
clock_s = time.perf_counter() - start
# The surface passes about half a pitch before the nearest empty middle (0.45 on balls of many pitches; tests/reference/skin_test.py measures it).
skin_mm3 = np.count_nonzero(inside & (depth_mm - 0.45 * pitch_mm < skin_mm)) * pitch_mm ** 3
print(json.dumps({"clock_s": clock_s, "skin_mm3": skin_mm3, "voxels": int(inside.size), "pitch_mm": pitch_mm, "version": scipy.__version__}))
