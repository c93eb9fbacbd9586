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
    start, start_cpu = time.perf_counter(), time.process_time()
    reader = vtk.vtkSTLReader()
    reader.SetFileName(path)
    reader.MergingOn()
    reader.Update()
    mass = vtk.vtkMassProperties()
    mass.SetInputData(reader.GetOutput())
    mass.Update()
    return time.perf_counter() - start, time.process_time() - start_cpu, mass.GetVolume(), mass.GetSurfaceArea()


best, cpu, volume, area = min(once(sys.argv[1]) for _ in range(5))
print(f"read, merge, volume, area with VTK {vtk.vtkVersion().GetVTKVersion()}: {best:.3f} s, {cpu:.3f} s of processor time; volume {volume:.6g}, area {area:.6g}")
print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
