# SPDX-License-Identifier: GPL-3.0-or-later
"""A part whose answers are known in closed form: a box with a corner at the origin."""
import numpy

SIDES_MM = (80.0, 50.0, 30.0)

# Two triangles for each of the six faces, counter-clockwise seen from outside; corner i has x for bit 0, y for bit 1, z for bit 2.
TRIANGLES = numpy.array([[0, 2, 1], [1, 2, 3], [4, 5, 6], [5, 7, 6], [0, 1, 4], [1, 5, 4], [2, 6, 3], [3, 6, 7], [0, 4, 2], [2, 4, 6], [1, 3, 5],
                         [3, 7, 5]])


def vertices(sides=SIDES_MM):
    return numpy.array([[sides[axis] * (corner >> axis & 1) for axis in range(3)] for corner in range(8)])


def write_ply(path, sides=SIDES_MM):
    """As text with all digits (the PLY format of 1998), so that a reader sees the very numbers of the arrays."""
    rows = [" ".join(map(repr, row)) for row in vertices(sides).tolist()] + [f"3 {a} {b} {c}" for a, b, c in TRIANGLES]
    head = ["ply", "format ascii 1.0", "element vertex 8", "property double x", "property double y", "property double z", "element face 12",
            "property list uchar int vertex_indices", "end_header"]
    path.write_text("\n".join(head + rows) + "\n", encoding="ascii")
