#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""VTK's reader, merging points, and its mass properties on one STL file: the best of three, to stand beside repair_bench.

Usage: vtk_bench.py FILE.stl
"""
import resource
import sys
import time

import vtk


def once(path):
    start = time.perf_counter()
    reader = vtk.vtkSTLReader()
    reader.SetFileName(path)
    reader.MergingOn()
    reader.Update()
    mass = vtk.vtkMassProperties()
    mass.SetInputData(reader.GetOutput())
    mass.Update()
    return time.perf_counter() - start, mass.GetVolume(), mass.GetSurfaceArea()


best, volume, area = min(once(sys.argv[1]) for _ in range(3))
print(f"read, merge, volume, area with VTK {vtk.vtkVersion().GetVTKVersion()}: {best:.3f} s; volume {volume:.6g}, area {area:.6g}")
print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
