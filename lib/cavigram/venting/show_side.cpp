// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/show_side.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "cavigram/core/error.h"
#include "cavigram/geom/directions.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/venting/air_tree_detail.h"

namespace cavigram {

using detail::at;
using detail::dot;

namespace {

Vec3 normal_of(const TriMesh& mesh, std::size_t t) {
    return double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
}

// The highest clear point on the way from a triangle's top to its middle.
HolePlace clear_place(const TriMesh& mesh, std::size_t t, const Vec3& top, const Vec3& up,
                      const ShowSurface& show, double radius_mm) {
    HolePlace found;
    const Vec3 middle = (mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0;
    const auto off = [&](const Vec3& p) {
        return show.clear(p, radius_mm) && show.apart(p, radius_mm);
    };
    double clear = 0.0;  // share of the way
    if (!off(top)) {
        if (!off(middle)) {
            return found;
        }
        constexpr int kHalvings = 12;  // to 1/4000 of the way
        double near = 0.0;
        clear = 1.0;
        for (int i = 0; i < kHalvings; ++i) {
            const double half = 0.5 * (near + clear);
            (off(top + half * (middle - top)) ? clear : near) = half;
        }
    }
    found.there = true;
    found.place_mm = top + clear * (middle - top);
    found.height_mm = dot(up, found.place_mm);
    return found;
}

}  // namespace

bool looks_toward(const Vec3& normal, const Vec3& direction) {
    constexpr double kCosine = 0.5;
    return normal.dot(direction) > kCosine * normal.norm() * direction.norm();
}

void validate(const ShowSide& side) {
    const bool direction = side.toward && side.toward->allFinite() && !side.toward->isZero(0.0);
    const bool box = side.box_mm && side.box_mm->min().allFinite() &&
                     side.box_mm->max().allFinite() && (side.box_mm->sizes().array() >= 0.0).all();
    if ((side.toward && !direction) || (side.box_mm && !box) ||
        side.toward.has_value() == side.box_mm.has_value()) {
        throw InvalidInput(
            "The show side has no length or is an empty box; give a direction such as +y, or the "
            "six numbers of a box, the lower corner first.");
    }
}

ShowSurface::ShowSurface(const TriMesh& mesh_mm, const ShowSide& side) : side_(side) {
    validate(side);
    if (side_.box_mm) {
        const Box3 all = bounds(mesh_mm);
        empty_ = (side_.box_mm->min().array() > all.max().array()).any() ||
                 (side_.box_mm->max().array() < all.min().array()).any();
        return;
    }
    TriMesh seen;
    seen.vertices = mesh_mm.vertices;
    for (std::size_t t = 0; t < mesh_mm.triangles.size(); ++t) {
        if (looks_toward(normal_of(mesh_mm, t), *side_.toward)) {
            seen.triangles.push_back(mesh_mm.triangles[t]);
        }
    }
    empty_ = seen.triangles.empty();
    seen_ = TriangleBvh(seen);
}

bool ShowSurface::clear(const Vec3& point_mm, double radius_mm) const {
    if (side_.box_mm) {
        return side_.box_mm->squaredExteriorDistance(point_mm) >= radius_mm * radius_mm;
    }
    if (empty_) {
        return true;
    }
    const NearestPoint nearest = seen_.nearest(point_mm, radius_mm);
    return nearest.triangle < 0 || nearest.distance_mm >= radius_mm;
}

bool ShowSurface::apart(const Vec3& point_mm, double radius_mm) const {
    return std::none_of(holes_.begin(), holes_.end(), [&](const Hole& hole) {
        return (hole.at_mm - point_mm).norm() < hole.radius_mm + radius_mm;
    });
}

std::vector<HolePlace> places_off(const AirTreeBuilder& solid, const AirTree& tree,
                                  const ShowSurface& show, double radius_mm) {
    CAVIGRAM_ASSERT(radius_mm > 0.0);
    struct Top {
        double height = 0.0;
        std::int32_t triangle = 0;
        std::int32_t vertex = 0;
    };
    const TriMesh& mesh = solid.mesh();
    std::vector<Top> tops;
    tops.reserve(mesh.triangles.size());
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        Top top{-std::numeric_limits<double>::infinity(), static_cast<std::int32_t>(t), -1};
        for (const std::int32_t v : mesh.triangles[t]) {
            const double height = dot(tree.up, at(mesh.vertices, v));
            if (height > top.height) {
                top.height = height;
                top.vertex = v;
            }
        }
        tops.push_back(top);
    }
    std::sort(tops.begin(), tops.end(), [](const Top& a, const Top& b) {
        return a.height != b.height ? a.height > b.height : a.triangle < b.triangle;
    });
    std::vector<HolePlace> places(tree.arcs.size());
    for (const Top& top : tops) {
        const std::int32_t arc = at(tree.arc_of_vertex, top.vertex);
        if (at(places, arc).there && at(places, arc).height_mm >= top.height) {
            continue;  // nothing on this triangle is higher
        }
        const HolePlace found =
            clear_place(mesh, static_cast<std::size_t>(top.triangle), at(mesh.vertices, top.vertex),
                        tree.up, show, radius_mm);
        if (!found.there) {
            continue;
        }
        // It may lie below the saddle, in an arc further down.
        HolePlace& best = at(places, solid.arc_at(tree, top.triangle, found.height_mm));
        if (!best.there || found.height_mm > best.height_mm) {
            best = found;
        }
    }
    return places;
}

HolePlace place_beside(const AirTreeBuilder& solid, const AirTree& tree, const ShowSurface& show,
                       const Vec3& other_mm, double other_radius_mm, double radius_mm) {
    // Setting a point on the surface may bring it nearer, so points farther out follow.
    constexpr std::array kFarther = {1.001, 1.1, 1.4, 2.0, 3.0, 5.0};
    constexpr int kAround = 16;
    const Frame frame = frame_along(tree.up);
    HolePlace best;
    for (const double farther : kFarther) {
        for (int k = 0; k < kAround; ++k) {
            const double angle = 2.0 * std::numbers::pi * k / kAround;
            const Vec3 way = std::cos(angle) * frame.x + std::sin(angle) * frame.y;
            const Vec3 place =
                solid.bvh()
                    .nearest(other_mm + farther * (other_radius_mm + radius_mm) * way)
                    .point_mm;
            const double height = dot(tree.up, place);
            const bool off = (place - other_mm).norm() >= other_radius_mm + radius_mm &&
                             show.clear(place, radius_mm) && show.apart(place, radius_mm);
            if (off && (!best.there || height > best.height_mm)) {
                best = {true, place, height};
            }
        }
        if (best.there) {
            break;
        }
    }
    return best;
}

Openings with_pour_holes(const AirTreeBuilder& solid, const AirTree& tree,
                         std::span<const HolePlace> places, Openings openings,
                         const PocketOptions& options) {
    if (openings.pour_hole_after == PourHoleAfter::none) {
        return openings;
    }
    std::vector<std::int32_t> root(tree.arcs.size());  // parents come last
    for (std::size_t a = tree.arcs.size(); a-- > 0;) {
        const std::int32_t parent = tree.arcs[a].parent;
        root[a] = parent < 0 ? static_cast<std::int32_t>(a) : at(root, parent);
    }
    std::vector<char> has(tree.arcs.size(), 0);
    for (const Opening& opening :
         placed_openings(solid, tree, {openings.pour_holes_mm, {}}, options)) {
        if (opening.given) {
            at(has, opening.root) = 1;
        }
    }
    for (const std::int32_t r : tree.roots) {
        const HolePlace* best = nullptr;
        for (std::size_t a = 0; a < tree.arcs.size(); ++a) {
            if (root[a] == r && places[a].there &&
                (best == nullptr || places[a].height_mm > best->height_mm)) {
                best = &places[a];
            }
        }
        if (at(has, r) == 0 && best != nullptr) {
            openings.pour_holes_mm.push_back(best->place_mm);
        }
    }
    return openings;
}

}  // namespace cavigram
