// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "cavigram/core/parallel.h"
#include "cavigram/repair/patches_detail.h"
#include "cavigram/spatial/orient.h"
#include "cavigram/spatial/predicates.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

namespace {

constexpr std::size_t kFaceBlock = 16384;
// So many patches are worth a tree over all triangles.
constexpr std::size_t kTreeWorth = 12;

// Seen with `axis` as the third coordinate; turning the coordinates round keeps left left.
Vec3 turned(const Vec3& p, int axis) {
    return {p[(axis + 1) % 3], p[(axis + 2) % 3], p[axis]};
}

TriangleCorners turned(const TriMesh& mesh, std::int32_t t, int axis) {
    const auto i = static_cast<std::size_t>(t);
    return {turned(mesh.corner(i, 0), axis), turned(mesh.corner(i, 1), axis),
            turned(mesh.corner(i, 2), axis)};
}

}  // namespace

PatchWinding::PatchWinding(const ExactPoints& exact, const std::vector<ExactPoint>& points,
                           const std::vector<std::int32_t>& group, const TriMesh& real)
    : exact_(exact), points_(points), group_(group), real_(real) {}

// The middle of the rounded corners, seen along the axis that the face looks along most. Its room
// is the least margin by which it surely lies within the exact face.
PatchWinding::Start PatchWinding::start_in(const ArrangedFace& face, std::size_t number) const {
    const Vec3& a = points_[static_cast<std::size_t>(face.points[0])].near;
    const Vec3& b = points_[static_cast<std::size_t>(face.points[1])].near;
    const Vec3& c = points_[static_cast<std::size_t>(face.points[2])].near;
    const Vec3 normal = (b - a).cross(c - a);
    Start start;
    start.face = number;
    normal.cwiseAbs().maxCoeff(&start.axis);
    start.at = (a + b + c) / 3.0;
    const Vec3 p = turned(start.at, start.axis);
    const Vec3 corner[3] = {turned(a, start.axis), turned(b, start.axis), turned(c, start.axis)};
    const double way = normal[start.axis] > 0.0 ? 1.0 : -1.0;
    start.room = std::numeric_limits<double>::infinity();
    for (int i = 0; i < 3; ++i) {
        const Vec3 u = corner[(i + 1) % 3] - corner[i];
        const Vec3 v = p - corner[i];
        const double sides = u.cwiseAbs().head<2>().sum() + v.cwiseAbs().head<2>().sum();
        const double reach =
            corner[i].cwiseAbs().maxCoeff() + corner[(i + 1) % 3].cwiseAbs().maxCoeff();
        const double error = 0x1p-52 * reach * (sides + 0x1p-50 * reach) + 0x1p-50 * sides * sides;
        start.room = std::min(start.room, way * (u.x() * v.y() - u.y() * v.x()) - error);
    }
    return start;
}

// Up from the start, every triangle of the group is a step of the winding number: the last one is
// outside.
int PatchWinding::front(const ArrangedFace& face, const Start& start,
                        const std::vector<std::int32_t>& candidates) const {
    const TriMesh& mesh = exact_.mesh();
    const Vec3 p = turned(start.at, start.axis);
    const TriangleCorners own = turned(mesh, face.triangle, start.axis);
    int above = 0;
    for (const std::int32_t t : candidates) {
        if (group_[static_cast<std::size_t>(t)] !=
            group_[static_cast<std::size_t>(face.triangle)]) {
            continue;
        }
        const TriangleCorners other = turned(mesh, t, start.axis);
        const int facing =
            triangle_winding(other.a.head<2>(), other.b.head<2>(), other.c.head<2>(), p.head<2>());
        if (facing != 0 && compare_sheets(own, other, p) < 0) {
            above += facing;
        }
    }
    const Vec3& a = points_[static_cast<std::size_t>(face.points[0])].near;
    const Vec3& b = points_[static_cast<std::size_t>(face.points[1])].near;
    const Vec3& c = points_[static_cast<std::size_t>(face.points[2])].near;
    const bool looks_up = (b - a).cross(c - a)[start.axis] > 0.0;
    return looks_up ? above : above - face.multiplicity;
}

// The start with the most room in each patch.
std::vector<PatchWinding::Start> PatchWinding::best_starts(const std::vector<ArrangedFace>& faces,
                                                           std::size_t patches,
                                                           const RunContext& context) const {
    const auto starts =
        map_blocks<std::vector<Start>>(faces.size(), kFaceBlock, context, [&](const Block& block) {
            std::vector<Start> some;
            for (std::size_t f = block.begin; f < block.end; ++f) {
                Start start = start_in(faces[f], f);
                // Blocks may share a patch; each hands on its own best ones only.
                if (some.empty() || faces[some.back().face].patch != faces[f].patch) {
                    some.push_back(start);
                } else if (start.room > some.back().room) {
                    some.back() = start;
                }
            }
            return some;
        });
    std::vector<Start> best(patches);
    for (const auto& some : starts) {
        for (const Start& start : some) {
            Start& known = best[static_cast<std::size_t>(faces[start.face].patch)];
            if (start.room > known.room) {
                known = start;
            }
        }
    }
    return best;
}

// Millimeters to a step of the whole-number corners.
double PatchWinding::unit_mm() const {
    const TriMesh& mesh = exact_.mesh();
    for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
        for (int i = 0; i < 3; ++i) {
            if (mesh.vertices[v][i] != 0.0) {
                return real_.vertices[v][i] / mesh.vertices[v][i];
            }
        }
    }
    return 1.0;
}

std::vector<int> PatchWinding::in_front(const std::vector<ArrangedFace>& faces, std::size_t patches,
                                        const RunContext& context) const {
    const std::vector<Start> best = best_starts(faces, patches, context);
    const double unit = unit_mm();
    const bool worth_a_tree = patches > kTreeWorth;
    const TriangleBvh tree = worth_a_tree ? TriangleBvh(real_, context) : TriangleBvh();
    std::vector<std::int32_t> all(worth_a_tree ? 0 : real_.triangles.size());
    std::iota(all.begin(), all.end(), 0);
    const Box3 box = bounds(real_);
    const auto met_by = [&](const Start& start) {
        std::vector<std::int32_t> met;
        Vec3 from = unit * start.at;
        from[start.axis] = box.min()[start.axis] - box.diagonal().norm();
        Vec3 way = Vec3::Zero();
        way[start.axis] = 1.0;
        tree.along(from, way, [&](std::int32_t t) {
            met.push_back(t);
            return std::numeric_limits<double>::infinity();
        });
        return met;
    };
    std::vector<int> winding(patches, kTooSmall);
    for_blocks(patches, 8, context, [&](const Block& block) {
        for (std::size_t k = block.begin; k < block.end; ++k) {
            if (best[k].room > 0.0) {
                winding[k] =
                    front(faces[best[k].face], best[k], worth_a_tree ? met_by(best[k]) : all);
            }
        }
    });
    return winding;
}

}  // namespace cavigram
