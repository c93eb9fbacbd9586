#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plots the skin of a scan: how thick its walls are, seen from the front, and where a cut through the middle is skin and core.

Usage: skin_of_a_scan.py SCAN UNIT PICTURE.png, such as sample_meshes/figurehead_scan.obj mm skin.png
"""
import sys

import matplotlib
import matplotlib.collections
import matplotlib.pyplot as plt
import numpy

import cavigram


def walls(axes, part, thickest_mm):
    """The part from its front, the nearest triangles drawn last, each in the color of its thickness, darker the more it turns away."""
    corners = part.vertices[part.triangles]
    normals = numpy.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    facing = -normals[:, 1] / numpy.maximum(numpy.linalg.norm(normals, axis=1), 1e-300)
    seen = numpy.flatnonzero(facing > 0)
    seen = seen[numpy.argsort(-corners[seen].mean(axis=1)[:, 1])]
    scale = matplotlib.cm.ScalarMappable(matplotlib.colors.Normalize(0, thickest_mm), "viridis")
    colors = scale.to_rgba(part.thickness_mm[part.triangles[seen]].mean(axis=1))
    colors[:, :3] *= 0.5 + 0.5 * facing[seen, None]
    axes.add_collection(matplotlib.collections.PolyCollection(
        corners[seen][:, :, [0, 2]], facecolors=colors, edgecolors="face", linewidths=0.2, rasterized=True))
    axes.autoscale_view()
    return scale


def cut(axes, part, y_mm, skin_mm):
    """How deep each place of a cut lies below the surface, and the line at which skin ends."""
    low, high = part.vertices.min(axis=0), part.vertices.max(axis=0)
    x, z = (numpy.linspace(low[i], high[i], 400) for i in (0, 2))
    grid_x, grid_z = numpy.meshgrid(x, z)
    places = numpy.stack([grid_x.ravel(), numpy.full(grid_x.size, y_mm), grid_z.ravel()], axis=1)
    depth_mm = part.skin_distance_mm(places).reshape(grid_x.shape)
    drawn = axes.pcolormesh(grid_x, grid_z, numpy.ma.masked_less(depth_mm, 0), cmap="viridis_r", shading="nearest", rasterized=True)
    axes.contour(grid_x, grid_z, depth_mm, levels=[0], colors="black", linewidths=1)
    axes.contour(grid_x, grid_z, depth_mm, levels=[skin_mm], colors="crimson", linewidths=1)
    return drawn


def main():
    scan, unit, picture = sys.argv[1:]
    mesh = cavigram.read(scan)
    thin = cavigram.measure(mesh, units=unit)
    weighed = cavigram.weigh(mesh, units=unit)
    skin_mm = weighed.foam.skin_thickness_mm
    figure, (left, right) = plt.subplots(1, 2, figsize=(11, 6), layout="constrained")
    drawn = walls(left, thin.part, 3 * thin.thin.limit_mm)
    figure.colorbar(drawn, ax=left, label="thickness of the wall, mm", extend="max")
    left.set_title(f"From the front; thin is what is below {thin.thin.limit_mm:.1f} mm")
    y_mm = weighed.measures.centroid_mm[1]
    drawn = cut(right, weighed.part, y_mm, skin_mm)
    figure.colorbar(drawn, ax=right, label="depth below the surface, mm")
    right.set_title(f"Cut at y = {round(y_mm):d} mm; red: end of skin, {skin_mm:.2f} mm")
    for axes in (left, right):
        axes.set_aspect("equal")
        axes.set_xlabel("x, mm")
        axes.set_ylabel("z, mm")
    figure.suptitle(f"{weighed.input.file}: {weighed.foam.part_mass_g:.1f} g, of which {weighed.foam.skin_mass_g:.1f} g skin")
    figure.savefig(picture, dpi=110)


if __name__ == "__main__":
    matplotlib.use("Agg")
    main()
