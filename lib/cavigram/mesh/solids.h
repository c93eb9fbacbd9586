// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// A closed, outward-oriented mesh together with what is exactly true of it: of the *mesh*, not of
/// the smooth body that it stands for.
struct Solid {
    TriMesh mesh;             ///< Closed, outward oriented.
    double volume_mm3 = 0.0;  ///< Exact for the mesh.
    double area_mm2 = 0.0;    ///< Exact for the mesh.
};

/// A box with one corner at the origin and edges of the given lengths, 12 triangles.
///
/// \pre all > 0
[[nodiscard]] Solid box_solid(double x_mm, double y_mm, double z_mm);

/// How a profile closes when it is revolved.
enum class ProfileEnds {
    caps,  ///< The profile runs from end to end; an end off the axis is closed by a flat disc.
    ring,  ///< The profile is itself a closed loop off the axis, as for a torus.
};

/// Revolves a profile of points (r, z) around the z axis into a ring of `segments` flat sides.
///
/// The points run so that the solid lies on their left when r points right and z up (from the
/// bottom to the top for a plain cylinder). With n sides, volume = (n/2) sin(2 pi/n) * integral of
/// r^2 dz, and each strip is n flat trapezoids.
///
/// \pre segments >= 3, r >= 0
[[nodiscard]] Solid revolved_solid(const std::vector<Vec2>& profile_rz_mm, int segments,
                                   ProfileEnds ends = ProfileEnds::caps);

/// Sphere about the origin as a revolved polygon: `segments` around, `segments`/2 from pole to
/// pole.
[[nodiscard]] Solid sphere_solid(double radius_mm, int segments);
/// Cylinder on the z axis from 0 to `height_mm`, its side cut into `rings` strips.
[[nodiscard]] Solid cylinder_solid(double radius_mm, double height_mm, int segments, int rings = 1);
/// Cone on the z axis, base at 0, apex at `height_mm`.
[[nodiscard]] Solid cone_solid(double radius_mm, double height_mm, int segments, int rings = 1);
/// Torus around the z axis: `segments` around, `segments`/2 around the tube.
[[nodiscard]] Solid torus_solid(double ring_radius_mm, double tube_radius_mm, int segments);

/// Unit cubes of the integer grid glued face to face where `filled[x + nx*(y + ny*z)]`; outward
/// oriented, four-triangle edges parted.
[[nodiscard]] Solid polycube_solid(const std::vector<bool>& filled, int nx, int ny, int nz);

/// Every triangle cut into four through its edge midpoints, `times` times over; same surface,
/// volume and area.
[[nodiscard]] TriMesh subdivided(TriMesh mesh, int times);

}  // namespace cavigram
