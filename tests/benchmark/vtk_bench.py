#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""VTK's STL reader, merging points, and its mass properties on one file, once; prints JSON. Seconds leave out the start of Python and of VTK.

Usage: vtk_bench.py FILE.stl
"""
import json
import sys
import time

import vtk

start, start_cpu = time.perf_counter(), time.process_time()
reader = vtk.vtkSTLReader()
reader.SetFileName(sys.argv[1])
reader.MergingOn()
reader.Update()
mass = vtk.vtkMassProperties()
mass.SetInputData(reader.GetOutput())
mass.Update()
print(json.dumps({"clock_s": time.perf_counter() - start, "processor_s": time.process_time() - start_cpu, "volume_mm3": mass.GetVolume(),
                  "area_mm2": mass.GetSurfaceArea(), "version": vtk.vtkVersion().GetVTKVersion()}))
