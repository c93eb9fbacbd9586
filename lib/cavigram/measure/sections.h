// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/directions.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// A straight piece of a section's outline, from where to where in the plane's own coordinates; the
/// solid lies on its left.
struct SectionPiece {
    Vec2 from_mm;           ///< In the plane, from its origin.
    Vec2 to_mm;             ///< As from_mm.
    std::int32_t loop = 0;  ///< Pieces of the same closed line have the same number.
};

/// Area, first and second moments of a flat region.
struct AreaMoments {
    double area_mm2 = 0.0;            ///< Cavities subtracted.
    Vec2 centroid_mm = Vec2::Zero();  ///< From the plane's origin; zero without area.
    Eigen::Matrix2d second_mm4 =
        Eigen::Matrix2d::Zero();  ///< Integral of x x^T about the centroid.
};

/// Where a plane cuts a closed mesh.
struct Section {
    Vec3 origin_mm = Vec3::Zero();     ///< Of the plane's coordinates.
    Frame frame;                       ///< Its x and y span the plane, z is the normal.
    std::vector<SectionPiece> pieces;  ///< The whole outline, in the order of the triangles.
    AreaMoments moments;               ///< Of all that is within it.

    /// A point of the plane in the part's coordinates.
    [[nodiscard]] Vec3 place_mm(const Vec2& p) const {
        return origin_mm + p.x() * frame.x + p.y() * frame.y;
    }
};

/// Area and moments within an outline, as sums over its pieces: by Green's theorem each piece
/// counts the triangle that it makes with a point near by, so that neither order nor loops matter
/// and cavities subtract themselves. A gap costs its length times its distance from that point.
[[nodiscard]] AreaMoments area_moments(std::span<const SectionPiece> pieces);

/// Two regions apart from each other taken as one (Steiner's theorem).
[[nodiscard]] AreaMoments joined(const AreaMoments& one, const AreaMoments& other);

/// Cuts a closed mesh by the planes normal . (x - at) = height, one section for each height, all in
/// one pass over the triangles.
///
/// A vertex exactly on a plane counts as above it (simulation of simplicity: Edelsbrunner & Muecke,
/// ACM Trans. Graph. 9 (1990) 66), so that the outline of a closed mesh is closed whatever touches
/// the plane. Exact for the mesh. O(triangles + crossings), heights by binary search.
///
/// \pre heights rise; the normal is not zero.
///
/// \throw Cancelled
[[nodiscard]] std::vector<Section> sections(const TriMesh& mesh, const Vec3& at_mm,
                                            const Vec3& normal, std::span<const double> heights_mm,
                                            const RunContext& context = {});

/// The parts of a section that hang together in its plane: each outer loop with the holes in it, in
/// the order of their first pieces.
///
/// O(pieces * loops)
[[nodiscard]] std::vector<std::vector<SectionPiece>> regions(const Section& section);

/// Whether a point of the plane lies within an outline: the winding of its pieces around it.
[[nodiscard]] bool within(std::span<const SectionPiece> pieces, const Vec2& p_mm);

}  // namespace cavigram
