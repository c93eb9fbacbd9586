// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// How the ball that measures the thickness is held, by the angle between its two contacts seen
/// from its center.
enum class Contact {
    wall,     ///< 150 degrees or more: two walls that face each other, or a wedge of at most 30
              ///< degrees.
    oblique,  ///< 120 to 150 degrees: a blunt wedge.
    edge,  ///< Less: the ball sits in a convex edge or corner, where any body is thin and nothing
           ///< follows from it.
    rim,   ///< As edge, but straight across lies a wall that faces this one: the margin of a wall,
           ///< where its edge holds the ball.
};

/// The word for a contact: `wall`, `oblique`, `edge`, `rim`.
[[nodiscard]] const char* to_text(Contact contact);

/// How the thickness is sampled.
struct ThicknessOptions {
    /// Thicker is given as this, in mm. Saves most of the time when only thin places matter: 1.5
    /// times the limit is plenty. Empty: no cap.
    std::optional<double> cap_mm = {};
    /// Samples spread evenly over the area. Every triangle gets at least one unless there are more
    /// than twice as many triangles.
    std::size_t samples = 100'000;
    /// A ball may be cut into by this share of its radius: bumps and tilted normals would otherwise
    /// shrink it to nothing. 0.06 tolerates a tilt of 20 degrees and costs at most that share where
    /// a bump does cut in.
    double relaxation = 0.06;
    /// Standard deviation of the surface's roughness in mm, when it is known to matter; raises the
    /// relaxation on thin walls.
    double noise_mm = 0.0;
};

/// The thickness at one place of the surface.
struct ThicknessSample {
    std::int32_t triangle = 0;        ///< On which it lies.
    Contact contact = Contact::edge;  ///< How the ball is held.
    double thickness_mm = 0.0;        ///< Diameter of the ball.
    double chord_mm = 0.0;  ///< Straight across along the normal; the thickness of the wall at a
                            ///< rim. At most the cap.
    double area_mm2 = 0.0;  ///< Share of the surface that the sample stands for.
    Vec3 at_mm = Vec3::Zero();        ///< On the surface.
    Vec3 inward = Vec3::Zero();       ///< Unit normal into the part, smoothed over small neighbors.
    Vec3 opposite_mm = Vec3::Zero();  ///< Where the ball touches on the other side.
};

/// Local thickness all over a part.
struct ThicknessMap {
    std::vector<ThicknessSample> samples;  ///< In the order of the triangles.
    std::vector<double> per_triangle_mm;   ///< Median of the triangle's samples; from the nearest
                                           ///< sampled neighbor if it has none.
    std::vector<Contact> per_triangle_contact;  ///< Of most of the triangle's area.
    std::vector<double> per_vertex_mm;  ///< For coloring: mean of the triangles around, by area.
    double spacing_mm = 0.0;            ///< Typical distance of neighboring samples.
};

/// Diameter of the largest ball that lies in the part and touches the surface from inside at the
/// given place, all over the surface.
///
/// Shrinking ball: from half the chord along the inward normal, the ball shrinks to the sphere
/// through its touch point and the nearest surface point until nothing cuts into it by more than
/// the relaxation (Ma, Bae & Choi, Vis. Comput. 28 (2012) 7; noise handling after Peters & Ledoux,
/// Comput. Geosci. 90 (2016) 123). Exact on slabs, spheres, tubes, cylinders and wedges (2 x
/// tan(w/2) at x from the edge of a wedge of angle w). Does not depend on how the surface is cut
/// into triangles: large triangles get many samples. Cost: some five nearest-point queries a
/// sample.
///
/// \pre closed, outward oriented; `adjacency` and `surface` belong to `mesh`
///
/// \throw InvalidInput for options out of range.
///
/// \throw Cancelled
[[nodiscard]] ThicknessMap thickness_map(const TriMesh& mesh, const Adjacency& adjacency,
                                         const TriangleBvh& surface,
                                         const ThicknessOptions& options = {},
                                         const RunContext& context = {});

/// What a sample says about the wall that it lies on: the chord at a rim, the ball's diameter
/// elsewhere.
[[nodiscard]] inline double wall_thickness_mm(const ThicknessSample& sample) {
    return sample.contact == Contact::rim ? sample.chord_mm : sample.thickness_mm;
}

/// The thickness that a given share of the surface falls short of, by area; edges and rims left
/// out. 0 when nothing else is there.
///
/// \pre 0 <= share <= 1
[[nodiscard]] double thickness_quantile_mm(const ThicknessMap& map, double share);

}  // namespace cavigram
