// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/tangles.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/manifold.h"
#include "cavigram/repair/holes.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/submesh_detail.h"

namespace cavigram {

namespace {

constexpr int kMostRounds = 6;
constexpr double kMostRemoved = 0.1;  // of the area
constexpr double kMostVolume = 0.02;  // of the volume
constexpr double kIslandShare =
    1e-3;  // of the area: a piece cut loose that is smaller goes with the rest

double area_of(const TriMesh& mesh, std::size_t t) {
    return 0.5 * double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2)).norm();
}

// The triangles of all pairs, and those that share a vertex with them, `rings` times over.
std::vector<bool> around(const TriMesh& mesh, const std::vector<CrossingPair>& pairs, int rings) {
    std::vector<bool> taken(mesh.triangles.size(), false);
    for (const CrossingPair& pair : pairs) {
        taken[static_cast<std::size_t>(pair[0])] = taken[static_cast<std::size_t>(pair[1])] = true;
    }
    std::vector<bool> at(mesh.vertices.size());
    for (int ring = 0; ring < rings; ++ring) {
        std::fill(at.begin(), at.end(), false);
        for (std::size_t t = 0; t < taken.size(); ++t) {
            for (const std::int32_t v : mesh.triangles[t]) {
                at[static_cast<std::size_t>(v)] = at[static_cast<std::size_t>(v)] || taken[t];
            }
        }
        for (std::size_t t = 0; t < taken.size(); ++t) {
            for (const std::int32_t v : mesh.triangles[t]) {
                taken[t] = taken[t] || at[static_cast<std::size_t>(v)];
            }
        }
    }
    return taken;
}

// Pieces that the cut left as islands go too: small, where the whole surface had no such piece
// before.
std::vector<std::int32_t> without_islands(const TriMesh& mesh,
                                          const std::vector<std::int32_t>& remaining,
                                          double whole_area) {
    const TriMesh rest = submesh(mesh, remaining);
    const Adjacency adjacent = adjacency(rest);
    const Shells pieces = shells(rest, adjacent);
    std::vector<double> area(static_cast<std::size_t>(pieces.count), 0.0);
    std::vector<bool> open(area.size(), false);
    for (std::size_t t = 0; t < remaining.size(); ++t) {
        const auto piece = static_cast<std::size_t>(pieces.of_triangle[t]);
        area[piece] += area_of(rest, t);
        for (std::size_t i = 0; i < 3; ++i) {
            open[piece] = open[piece] || adjacent.twin[3 * t + i] < 0;
        }
    }
    std::vector<std::int32_t> result;
    for (std::size_t t = 0; t < remaining.size(); ++t) {
        const auto piece = static_cast<std::size_t>(pieces.of_triangle[t]);
        if (!open[piece] || area[piece] >= kIslandShare * whole_area) {
            result.push_back(remaining[t]);
        }
    }
    return result;
}

// Pairs of which both triangles lie in one patch of the surface, made of the crossing triangles and
// two rings around: a fold or a kink. What crosses from elsewhere is another part of the body.
std::vector<CrossingPair> local_pairs(const TriMesh& mesh, const std::vector<CrossingPair>& pairs) {
    const std::vector<bool> taken = around(mesh, pairs, 2);
    std::vector<std::int32_t> region;
    std::vector<std::int32_t> number(taken.size(), -1);
    for (std::size_t t = 0; t < taken.size(); ++t) {
        if (taken[t]) {
            number[t] = static_cast<std::int32_t>(region.size());
            region.push_back(static_cast<std::int32_t>(t));
        }
    }
    const TriMesh patches = submesh(mesh, region);
    const Shells pieces = shells(patches, adjacency(patches));
    std::vector<CrossingPair> local;
    for (const CrossingPair& pair : pairs) {
        const auto piece = [&](std::size_t k) {
            return pieces
                .of_triangle[static_cast<std::size_t>(number[static_cast<std::size_t>(pair[k])])];
        };
        if (piece(0) == piece(1)) {
            local.push_back(pair);
        }
    }
    return local;
}

std::optional<Untangling> attempt(const TriMesh& mesh, const std::vector<CrossingPair>& pairs,
                                  int rings, bool faired, const RunContext& context) {
    const std::vector<bool> taken = around(mesh, local_pairs(mesh, pairs), rings);
    double whole = 0.0;
    double removed = 0.0;
    std::vector<std::int32_t> remaining;
    for (std::size_t t = 0; t < taken.size(); ++t) {
        const double area = area_of(mesh, t);
        whole += area;
        if (taken[t]) {
            removed += area;
        } else {
            remaining.push_back(static_cast<std::int32_t>(t));
        }
    }
    if (removed > kMostRemoved * whole) {
        return std::nullopt;
    }
    remaining = without_islands(mesh, remaining, whole);
    HoleFilling filling = fill_holes(cut_to_manifold(submesh(mesh, remaining)).mesh,
                                     {.faired = faired, .large = false}, context);
    Untangling trial;
    trial.mesh = cut_to_manifold(filling.mesh).mesh;
    const Adjacency adjacent = adjacency(trial.mesh);
    if (!filling.left_open.empty() || !adjacent.closed()) {
        return std::nullopt;
    }
    trial.left = crossing_pairs_by_place(trial.mesh, context);
    const double before = signed_volume_mm3(mesh);
    trial.volume_change_mm3 = signed_volume_mm3(trial.mesh) - before;
    if (trial.left.size() >= pairs.size() ||
        std::abs(trial.volume_change_mm3) > kMostVolume * std::abs(before)) {
        return std::nullopt;
    }
    trial.triangles_removed = taken.size() - remaining.size();
    for (const Patch& patch : filling.patches) {
        trial.volume_below_mm3 += patch.volume_below_mm3;
        trial.volume_above_mm3 += patch.volume_above_mm3;
        trial.places_mm.push_back(patch.center_mm);
    }
    return trial;
}

}  // namespace

Untangling undo_tangles(const TriMesh& mesh, const std::vector<CrossingPair>& pairs,
                        const RunContext& context) {
    Untangling result;
    result.mesh = mesh;
    result.left = pairs;
    for (int round = 0; round < 2 * kMostRounds && !local_pairs(result.mesh, result.left).empty();
         ++round) {
        const int rings = round / 2;
        context.report("undoing tangles", 0.5 * round / kMostRounds);
        std::optional<Untangling> trial =
            attempt(result.mesh, result.left, rings, round % 2 == 0, context);
        if (!trial) {
            continue;
        }
        result.mesh = std::move(trial->mesh);
        result.left = std::move(trial->left);
        result.triangles_removed += trial->triangles_removed;
        result.volume_change_mm3 += trial->volume_change_mm3;
        result.volume_below_mm3 += trial->volume_below_mm3;
        result.volume_above_mm3 += trial->volume_above_mm3;
        result.places_mm.insert(result.places_mm.end(), trial->places_mm.begin(),
                                trial->places_mm.end());
    }
    return result;
}

}  // namespace cavigram
