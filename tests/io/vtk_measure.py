# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads meshes with VTK and sums up area and volume with numpy: what tests/io holds its own readers against.

Prints a line for each file: triangles, volume, area, the volume and area by vtkMassProperties, and a word: `ok`,
`polygons` where there are any with more than three corners, else why there is nothing. VTK has no OFF reader, and
narrows ASCII STL to float32, so these two texts are taken apart here in a few lines of their own.
"""

import re
import sys

import numpy
import vtk
from vtk.util.numpy_support import vtk_to_numpy


def triangles_by_vtk(path, reader):
    reader.SetFileName(path)
    cut = vtk.vtkTriangleFilter()
    cut.SetInputConnection(reader.GetOutputPort())
    cut.PassVertsOff()
    cut.PassLinesOff()
    cut.Update()
    mesh = cut.GetOutput()
    if mesh.GetNumberOfPolys() == 0:
        return None
    points = vtk_to_numpy(mesh.GetPoints().GetData()).astype(float)
    corners = vtk_to_numpy(mesh.GetPolys().GetConnectivityArray()).reshape(-1, 3)
    mass = vtk.vtkMassProperties()
    mass.SetInputData(mesh)
    polygons = reader.GetOutput().GetPolys().GetMaxCellSize() > 3
    return points[corners], polygons, mass.GetVolume(), mass.GetSurfaceArea()


def triangles_of_off(path):
    """OFF as text. Polygons become fans."""
    with open(path, encoding="latin-1") as file:
        text = re.sub(r"#[^\n]*", "", file.read())
    head, rest = re.match(r"\s*([A-Z0-9]*OFF)?\s(.*)", text, re.S).groups()
    lines = [line.split() for line in rest.split("\n") if line.strip()]
    vertices, faces = int(lines[0][0]), int(lines[0][1])
    points = numpy.array([line[:3] for line in lines[1 : 1 + vertices]], float)
    corners, polygons = [], False
    for line in lines[1 + vertices : 1 + vertices + faces]:
        polygon = [int(word) for word in line[1 : 1 + int(line[0])]]
        polygons = polygons or len(polygon) > 3
        corners += [[polygon[0], polygon[i], polygon[i + 1]] for i in range(1, len(polygon) - 1)]
    return points[numpy.array(corners)], polygons, float("nan"), float("nan")


def triangles_of_stl_text(path):
    with open(path, encoding="latin-1") as file:
        numbers = re.findall(r"vertex\s+(\S+)\s+(\S+)\s+(\S+)", file.read())
    return numpy.array(numbers, float).reshape(-1, 3, 3), False, float("nan"), float("nan")


def read(path):
    ending = path.lower().rsplit(".", 1)[-1]
    if ending == "stl":
        with open(path, "rb") as file:
            if file.read(5).lower() == b"solid" and b"facet" in file.read(1000):
                return triangles_of_stl_text(path)
        reader = vtk.vtkSTLReader()
        reader.MergingOff()
        return triangles_by_vtk(path, reader)
    if ending == "off":
        return triangles_of_off(path)
    return triangles_by_vtk(path, {"obj": vtk.vtkOBJReader, "ply": vtk.vtkPLYReader}[ending]())


def measure(path):
    try:
        found = read(path)
    except (ValueError, IndexError, AttributeError) as error:
        return f"0 0 0 0 0 {type(error).__name__}"
    if found is None:
        return "0 0 0 0 0 none"
    triangles, polygons, mass_volume, mass_area = found
    a, b, c = (triangles[:, i] - triangles[0, 0] for i in range(3))
    volume = numpy.einsum("ij,ij->i", a, numpy.cross(b, c)).sum() / 6.0
    area = numpy.linalg.norm(numpy.cross(b - a, c - a), axis=1).sum() / 2.0
    word = "polygons" if polygons else "ok"
    return f"{len(triangles)} {volume:.17g} {area:.17g} {mass_volume:.17g} {mass_area:.17g} {word}"


vtk.vtkObject.GlobalWarningDisplayOff()
for name in sys.argv[1:]:
    print(measure(name), flush=True)
