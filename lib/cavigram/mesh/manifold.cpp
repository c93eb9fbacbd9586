// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/manifold.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <utility>
#include <vector>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/union_find.h"

namespace cavigram {

namespace {

struct Spoke {
    std::int32_t halfedge = 0;
    bool upward = true;  // runs from the lower vertex index to the higher
    double angle = 0.0;  // of its triangle around the edge, counter-clockwise seen against the
                         // edge's direction
};

// Pairs the triangles around one edge across the solid. A triangle (a, b, c) that runs along the
// edge has the normal z x (c - a), which points to growing angles; the normal looks outward, so its
// solid lies at falling angles, up to the next triangle, which must run against the edge.
void pair_spokes(std::vector<Spoke>& spokes,
                 std::vector<std::pair<std::int32_t, std::int32_t>>& pairs) {
    std::sort(spokes.begin(), spokes.end(), [](const Spoke& s, const Spoke& t) {
        return std::pair(s.angle, s.halfedge) < std::pair(t.angle, t.halfedge);
    });
    // Like brackets: pairs next to each other first, then those around them, so that wedges may lie
    // within wedges.
    std::vector<bool> used(spokes.size(), false);
    for (bool progress = true; progress;) {
        progress = false;
        for (std::size_t i = 0; i < spokes.size(); ++i) {
            if (!spokes[i].upward || used[i]) {
                continue;
            }
            std::size_t j = i;
            do {
                j = (j + spokes.size() - 1) % spokes.size();
            } while (used[j] && j != i);
            if (!spokes[j].upward) {
                used[i] = used[j] = progress = true;
                pairs.emplace_back(spokes[i].halfedge, spokes[j].halfedge);
            }
        }
    }
}

// Cuts triangle `t` of the mesh at the given middles of its edges (-1: none): the cut-off pieces
// are appended.
void split_triangle(TriMesh& mesh, std::size_t t, const std::array<std::int32_t, 3>& middle) {
    std::vector<std::int32_t> ring;  // corners and middles in order
    for (std::size_t i = 0; i < 3; ++i) {
        ring.push_back(mesh.triangles[t][i]);
        if (middle[i] >= 0) {
            ring.push_back(middle[i]);
        }
    }
    // Clip corners whose both neighbors are middles first, then fan from a middle: no piece ever
    // has three points in line.
    bool replaced = false;
    const auto emit = [&](const Triangle& piece) {
        if (replaced) {
            mesh.triangles.push_back(piece);
        } else {
            mesh.triangles[t] = piece;
            replaced = true;
        }
    };
    const auto is_middle = [&](std::int32_t v) {
        return std::find(middle.begin(), middle.end(), v) != middle.end();
    };
    for (std::size_t i = 0; i < ring.size() && ring.size() > 4;) {
        const std::int32_t before = ring[(i + ring.size() - 1) % ring.size()];
        const std::int32_t after = ring[(i + 1) % ring.size()];
        if (!is_middle(ring[i]) && is_middle(before) && is_middle(after)) {
            emit({before, ring[i], after});
            ring.erase(ring.begin() + static_cast<std::ptrdiff_t>(i));
        } else {
            ++i;
        }
    }
    std::size_t hub = 0;
    while (!is_middle(ring[hub])) {
        ++hub;
    }
    for (std::size_t k = 1; k + 1 < ring.size(); ++k) {
        emit({ring[hub], ring[(hub + k) % ring.size()], ring[(hub + k + 1) % ring.size()]});
    }
}

// Two different edges may join the same two vertices when the fans at both ends are one (a ring
// that touches itself along an edge). Index pairs can't tell them apart, so each gets a middle of
// its own.
void split_double_edges(TriMesh& mesh,
                        const std::vector<std::pair<std::int32_t, std::int32_t>>& pairs) {
    const Adjacency adjacent = adjacency(mesh);
    std::map<std::int32_t, std::array<std::int32_t, 3>> middles;
    for (const auto& pair : pairs) {
        if (adjacent.twin[static_cast<std::size_t>(pair.first)] != Adjacency::kIrregular) {
            continue;
        }
        const auto t = static_cast<std::size_t>(pair.first / 3);
        const Vec3 middle =
            0.5 * (mesh.corner(t, pair.first % 3) + mesh.corner(t, (pair.first + 1) % 3));
        for (const std::int32_t h : {pair.first, pair.second}) {
            auto [entry, is_new] =
                middles.try_emplace(h / 3, std::array<std::int32_t, 3>{-1, -1, -1});
            entry->second[static_cast<std::size_t>(h % 3)] =
                static_cast<std::int32_t>(mesh.vertices.size());
        }
        mesh.vertices.push_back(middle);
    }
    for (const auto& [t, middle] : middles) {
        split_triangle(mesh, static_cast<std::size_t>(t), middle);
    }
}

double angle_around(const TriMesh& mesh, std::int32_t halfedge, const Vec3& x, const Vec3& y,
                    const Vec3& origin) {
    const auto t = static_cast<std::size_t>(halfedge / 3);
    const Vec3 arm = mesh.corner(t, (halfedge + 2) % 3) - origin;
    return std::atan2(arm.dot(y), arm.dot(x));
}

using Edge = std::pair<std::int32_t, std::int32_t>;  // the lower vertex first

// The spokes of each irregular edge with their angles around it.
std::map<Edge, std::vector<Spoke>> irregular_edges(const TriMesh& mesh, const Adjacency& adjacent) {
    std::map<Edge, std::vector<Spoke>> irregular;
    for (std::size_t h = 0; h < adjacent.twin.size(); ++h) {
        if (adjacent.twin[h] == Adjacency::kIrregular) {
            const std::int32_t a = mesh.triangles[h / 3][h % 3];
            const std::int32_t b = mesh.triangles[h / 3][(h + 1) % 3];
            irregular[{std::min(a, b), std::max(a, b)}].push_back(
                {static_cast<std::int32_t>(h), a < b, 0.0});
        }
    }
    for (auto& [edge, spokes] : irregular) {
        const Vec3& a = mesh.vertices[static_cast<std::size_t>(edge.first)];
        const Vec3& b = mesh.vertices[static_cast<std::size_t>(edge.second)];
        const Vec3 z = (b - a).normalized();
        const auto t = static_cast<std::size_t>(spokes.front().halfedge / 3);
        const Vec3 arm = mesh.corner(t, (spokes.front().halfedge + 2) % 3) - a;
        const Vec3 x = (arm - arm.dot(z) * z).normalized();
        const Vec3 y = z.cross(x);
        for (Spoke& spoke : spokes) {
            spoke.angle = angle_around(mesh, spoke.halfedge, x, y, a);
        }
    }
    return irregular;
}

// The first fan of a vertex keeps it, every further fan gets a copy; gives back how many.
std::size_t part_vertices(TriMesh& mesh, UnionFind& corners) {
    const std::size_t before = mesh.vertices.size();
    std::vector<std::int32_t> owner(before, -1);
    std::map<std::int32_t, std::int32_t> copy_of_set;
    for (std::size_t c = 0; c < 3 * mesh.triangles.size(); ++c) {
        std::int32_t& v = mesh.triangles[c / 3][c % 3];
        const std::int32_t set = corners.find(static_cast<std::int32_t>(c));
        std::int32_t& keeper = owner[static_cast<std::size_t>(v)];
        keeper = keeper < 0 ? set : keeper;
        if (keeper == set) {
            continue;
        }
        const auto [entry, is_new] =
            copy_of_set.try_emplace(set, static_cast<std::int32_t>(mesh.vertices.size()));
        if (is_new) {
            mesh.vertices.push_back(Vec3(mesh.vertices[static_cast<std::size_t>(v)]));
        }
        v = entry->second;
    }
    return mesh.vertices.size() - before;
}

}  // namespace

ManifoldCut cut_to_manifold(const TriMesh& mesh) {
    const Adjacency adjacent = adjacency(mesh);
    UnionFind corners(adjacent.twin.size());  // those that are one vertex
    const auto sew = [&](std::int32_t h, std::int32_t g) {
        corners.join(h, next_halfedge(g));
        corners.join(next_halfedge(h), g);
    };
    for (std::size_t h = 0; h < adjacent.twin.size(); ++h) {
        if (adjacent.twin[h] > static_cast<std::int32_t>(h)) {
            sew(static_cast<std::int32_t>(h), adjacent.twin[h]);
        }
    }
    auto irregular = irregular_edges(mesh, adjacent);
    std::vector<std::pair<std::int32_t, std::int32_t>> pairs;
    for (auto& [edge, spokes] : irregular) {
        pair_spokes(spokes, pairs);
    }
    for (const auto& [h, g] : pairs) {
        sew(h, g);
    }
    ManifoldCut result;
    result.edges_parted = irregular.size();
    result.mesh = mesh;
    result.vertices_parted = part_vertices(result.mesh, corners);
    if (!pairs.empty()) {
        split_double_edges(result.mesh, pairs);
    }
    return result;
}

}  // namespace cavigram
