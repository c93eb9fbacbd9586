// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <set>
#include <vector>

#include "cavigram/mesh/compressed_rows.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Of the diameter: scans end in a jagged rim where they met the table.
inline constexpr double kFlatShare = 0.025;

/// Everything about one rim that the patch and its range need. The rim runs as the border halfedges
/// do, so the patch runs against it.
struct Rim {
    std::vector<std::int32_t> vertices;
    Vec3 center = Vec3::Zero();
    Vec3 outward = Vec3::Zero();  // unit, out of the part through the hole
    double length_mm = 0.0;
    double flat_area_mm2 = 0.0;
    double unevenness_mm = 0.0;  // mean distance from the rim's plane
    double turn = 0.0;    // angle from `outward` at which the surface's normals lean away from the
                          // hole's middle; > 0 bulges
    double growth = 0.0;  // of its radius for each step away from the hole along the surface
    double roundness = 0.0;  // 4 pi area / length^2 of the smoothed rim; 1 for a circle
    double bend = 0.0;  // how fast that angle falls toward the hole, times the rim's radius: the
                        // sine of `turn` on a ball, 0 on a cylinder
};

[[nodiscard]] inline const Vec3& position(const TriMesh& mesh, std::int32_t v) {
    return mesh.vertices[static_cast<std::size_t>(v)];
}

/// Triangles within so many rings of a loop.
[[nodiscard]] std::set<std::int32_t> triangles_near(const TriMesh& mesh, const CompressedRows& at,
                                                    const std::vector<std::int32_t>& loop,
                                                    int rings);

[[nodiscard]] Rim measure_rim(const TriMesh& mesh, std::vector<std::int32_t> loop,
                              const CompressedRows& at);

/// Whether `inner` bounds, in the plane of `outer`, a hole in the area that `outer` bounds:
/// together they are the rims of a ring-shaped foot.
[[nodiscard]] bool ring_of(const TriMesh& mesh, const Rim& outer, const Rim& inner);

/// One loop of both rims, joined there and back between their nearest vertices; the least area
/// between it is the ring.
[[nodiscard]] Rim bridged(const TriMesh& mesh, const Rim& outer, const Rim& inner);

/// Volume of the spherical cap that runs on from the rim at the angle of its surface, signed:
/// outward is positive.
[[nodiscard]] double cap_volume_mm3(double diameter_mm, double turn);

}  // namespace cavigram
