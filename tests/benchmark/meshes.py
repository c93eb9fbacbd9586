#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Meshes of any size for the benchmarks: refined ones, rings with waves; STL in and out."""
import pathlib

import numpy as np

RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
LONGEST_MM = 200.0


def read_stl(path):
    """Corners of a binary STL, triangles * 3 * 3."""
    with open(path, "rb") as file:
        file.seek(84)
        return np.frombuffer(file.read(), RECORD)["corners"].astype(np.float64)


def write_stl(path, corners):
    records = np.zeros(len(corners), RECORD)
    records["corners"] = corners
    with open(path, "wb") as file:
        file.write(b"\0" * 80 + np.uint32(len(corners)).tobytes())
        records.tofile(file)


def read_off(path):
    """Corners of an OFF file of triangles, made 200 mm long."""
    words = " ".join(line.split("#")[0] for line in pathlib.Path(path).read_text().splitlines()[1:]).split()
    vertices, faces = int(words[0]), int(words[1])
    points = np.array(words[3:3 + 3 * vertices], float).reshape(-1, 3)
    corners = points[np.array(words[3 + 3 * vertices:3 + 3 * vertices + 4 * faces], int).reshape(-1, 4)[:, 1:]]
    return corners * (LONGEST_MM / np.ptp(points, axis=0).max())


def finer(corners):
    """Four triangles for each, the new corners off the flat by up to a thousandth of their side, so that no plane is left to gain by. A middle is moved
    by what both triangles beside it agree on: a function of the place."""
    def middle(a, b):
        m = 0.5 * (a + b)
        side = np.linalg.norm(b - a, axis=1, keepdims=True)
        return m + 1e-3 * side * np.sin(m[:, [1, 2, 0]] * 12.9898 + m * 78.233)
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, bc, ca = middle(a, b), middle(b, c), middle(c, a)
    return np.concatenate([np.stack(t, 1) for t in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]).astype(np.float32).astype(np.float64)


def ring(segments):
    """A ring with waves, segments * segments triangles: 228 gives 51,984, 912 gives 831,744, 1,824 gives 3,326,976."""
    u, v = np.meshgrid(np.arange(segments) * 2 * np.pi / segments, np.arange(segments // 2) * 4 * np.pi / segments, indexing="ij")
    tube = 30.0 * (1.0 + 0.08 * np.sin(7 * u) * np.cos(3 * v))
    points = np.stack([(90.0 + tube * np.cos(v)) * np.cos(u), (90.0 + tube * np.cos(v)) * np.sin(u), tube * np.sin(v)], -1)
    a = points
    b, d = np.roll(points, -1, 0), np.roll(points, -1, 1)
    c = np.roll(b, -1, 1)
    return np.concatenate([np.stack([a, b, c], 2).reshape(-1, 3, 3), np.stack([a, c, d], 2).reshape(-1, 3, 3)])


def volume_and_area(corners):
    """By sums over triangles, in double precision: what other ways are held against."""
    corners = corners.astype(np.float32).astype(np.float64)
    corners = corners - corners.reshape(-1, 3).mean(0)
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0), float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2.0)
