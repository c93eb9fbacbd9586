// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/pockets.h"

namespace cavigram {

/// What of the part is seen later, so that holes belong elsewhere. One of the two.
struct ShowSide {
    /// Seen is the surface that looks within 60 degrees of this (common practice, no source).
    std::optional<Vec3> toward = {};
    std::optional<Box3> box_mm = {};  ///< Seen is what lies in this box, in the part's coordinates.

    /// The same direction or the same box.
    friend bool operator==(const ShowSide& a, const ShowSide& b) {
        return a.toward == b.toward && a.box_mm.has_value() == b.box_mm.has_value() &&
               (!a.box_mm ||
                (a.box_mm->min() == b.box_mm->min() && a.box_mm->max() == b.box_mm->max()));
    }
};

/// Whether a surface with this normal, of any length but zero, looks toward a direction: within 60
/// degrees.
[[nodiscard]] bool looks_toward(const Vec3& normal, const Vec3& direction);

/// \throw InvalidInput unless just one of the two is given, with a length or an inside
void validate(const ShowSide& side);

/// What holes keep off, ready to be asked how near it is: the show side of one part, and other
/// holes.
class ShowSurface {
  public:
    /// Nothing is seen.
    ShowSurface() = default;
    /// Triangles count one by one, each by its own normal.
    ///
    /// O(n log n).
    ///
    /// \throw InvalidInput as validate
    ShowSurface(const TriMesh& mesh_mm, const ShowSide& side);

    /// Another hole, with its radius, that is kept off as well.
    void add_hole(const Vec3& at_mm, double radius_mm) { holes_.push_back({at_mm, radius_mm}); }

    /// Whether a round hole about a point keeps off the show side: whether that is as far away as
    /// the hole's radius, or farther.
    ///
    /// O(log n).
    ///
    /// \pre radius above 0
    [[nodiscard]] bool clear(const Vec3& point_mm, double radius_mm) const;

    /// Whether it keeps off the other holes: whether each is as far away as both radii, or farther.
    ///
    /// O(holes)
    [[nodiscard]] bool apart(const Vec3& point_mm, double radius_mm) const;

    /// Whether any of the part's surface is seen at all.
    [[nodiscard]] bool empty() const { return empty_; }

  private:
    struct Hole {
        Vec3 at_mm = Vec3::Zero();
        double radius_mm = 0.0;
    };

    ShowSide side_;
    std::vector<Hole> holes_;
    TriangleBvh seen_;
    bool empty_ = true;
};

/// A place where a hole may be.
struct HolePlace {
    bool there = false;            ///< False: there is none.
    Vec3 place_mm = Vec3::Zero();  ///< On the surface.
    double height_mm = 0.0;        ///< Of the place.
};

/// For each arc of the air tree its highest place that keeps off show side and other holes, if it
/// has one.
///
/// Looked for on the line from each triangle's top to its middle, so on a fine mesh the answer is
/// within a triangle of the highest place there is, and on a box it is the place just under the
/// seen face.
///
/// O(n log n) and a search for each triangle near the show side.
///
/// \pre radius above 0
[[nodiscard]] std::vector<HolePlace> places_off(const AirTreeBuilder& solid, const AirTree& tree,
                                                const ShowSurface& show, double radius_mm);

/// A place for a hole of this radius just beside another hole, as high as can be: on the surface
/// next to points around it, a little farther out where none is clear. For a pour hole that lets no
/// air out and leaves the highest place to the vent.
///
/// O(1) searches.
///
/// \pre radii above 0
[[nodiscard]] HolePlace place_beside(const AirTreeBuilder& solid, const AirTree& tree,
                                     const ShowSurface& show, const Vec3& other_mm,
                                     double other_radius_mm, double radius_mm);

/// The openings with a pour hole added on each solid that has none, unless there shall be none: on
/// the highest of `places`, one for each arc, as from places_off. A solid without any such place is
/// left as it is.
///
/// \throw InvalidInput as placed_openings
[[nodiscard]] Openings with_pour_holes(const AirTreeBuilder& solid, const AirTree& tree,
                                       std::span<const HolePlace> places, Openings openings,
                                       const PocketOptions& options = {});

}  // namespace cavigram
