// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/cracks.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <tuple>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/union_find.h"
#include "cavigram/mesh/weld.h"

namespace cavigram {

namespace {

struct BorderVertex {
    std::int32_t vertex = 0;
    double shortest_mm = std::numeric_limits<double>::infinity();  // of its border edges
    double area_mm2 = 0.0;                                         // of its triangles at the border
};

std::vector<BorderVertex> border_vertices(const TriMesh& mesh) {
    const Adjacency adjacent = adjacency(mesh);
    std::map<std::int32_t, BorderVertex> found;
    for (std::size_t h = 0; h < adjacent.twin.size(); ++h) {
        if (adjacent.twin[h] >= 0) {
            continue;
        }
        const std::size_t t = h / 3;
        const Vec3& a = mesh.corner(t, static_cast<int>(h % 3));
        const Vec3& b = mesh.corner(t, static_cast<int>((h + 1) % 3));
        const double area =
            0.5 *
            double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2)).norm();
        for (const std::size_t i : {h % 3, (h + 1) % 3}) {
            BorderVertex& entry = found[mesh.triangles[t][i]];
            entry.vertex = mesh.triangles[t][i];
            entry.shortest_mm = std::min(entry.shortest_mm, (b - a).norm());
            entry.area_mm2 += area;
        }
    }
    std::vector<BorderVertex> list;
    list.reserve(found.size());
    for (const auto& [vertex, entry] : found) {
        list.push_back(entry);
    }
    return list;
}

// Vertices of the border by number, nearest pairs first.
struct NearPair {
    double distance_mm = 0.0;
    std::int32_t a = 0;
    std::int32_t b = 0;
};

class BorderJoiner {
  public:
    BorderJoiner(const TriMesh& mesh, double reach_mm)
        : mesh_(mesh), reach_mm_(reach_mm), border_(border_vertices(mesh)) {}

    // Groups grow nearest pairs first; a group's first vertex stays, and another group joins only
    // if its own first vertex is within the limit too, so that no chain of small steps can swallow
    // an edge.
    CrackClosing close() {
        UnionFind groups(border_.size());
        for (const NearPair& pair : near_pairs()) {
            const std::int32_t a = groups.find(pair.a);
            const std::int32_t b = groups.find(pair.b);
            if (a != b && distance_mm(a, b) <= limit_mm(a, b)) {
                groups.join(a, b);
            }
        }
        CrackClosing result;
        result.mesh = mesh_;
        for (std::int32_t i = 0; i < static_cast<std::int32_t>(border_.size()); ++i) {
            const std::int32_t first = groups.find(i);
            if (first == i) {
                continue;
            }
            const BorderVertex& moved = border_[static_cast<std::size_t>(i)];
            result.mesh.vertices[static_cast<std::size_t>(moved.vertex)] = position(first);
            result.volume_bound_mm3 += moved.area_mm2 * distance_mm(first, i);
            result.places_mm.push_back(position(first));
            ++result.joined;
        }
        if (result.joined > 0) {
            result.mesh = weld_exact(result.mesh).mesh;
        }
        return result;
    }

  private:
    [[nodiscard]] const Vec3& position(std::int32_t i) const {
        return mesh_
            .vertices[static_cast<std::size_t>(border_[static_cast<std::size_t>(i)].vertex)];
    }
    [[nodiscard]] double distance_mm(std::int32_t a, std::int32_t b) const {
        return (position(a) - position(b)).norm();
    }
    // A quarter of the local edge, as two ends of one edge must never fall together.
    [[nodiscard]] double limit_mm(std::int32_t a, std::int32_t b) const {
        return std::min(reach_mm_,
                        0.25 * std::min(border_[static_cast<std::size_t>(a)].shortest_mm,
                                        border_[static_cast<std::size_t>(b)].shortest_mm));
    }

    // Sorted by x, only a window has to be compared.
    [[nodiscard]] std::vector<NearPair> near_pairs() const {
        std::vector<std::int32_t> by_x(border_.size());
        std::iota(by_x.begin(), by_x.end(), 0);
        std::sort(by_x.begin(), by_x.end(), [&](std::int32_t i, std::int32_t j) {
            return std::pair(position(i).x(), i) < std::pair(position(j).x(), j);
        });
        std::vector<NearPair> pairs;
        for (std::size_t i = 0; i < by_x.size(); ++i) {
            for (std::size_t j = i + 1;
                 j < by_x.size() && position(by_x[j]).x() - position(by_x[i]).x() <= reach_mm_;
                 ++j) {
                const std::int32_t a = std::min(by_x[i], by_x[j]);
                const std::int32_t b = std::max(by_x[i], by_x[j]);
                if (distance_mm(a, b) <= limit_mm(a, b)) {
                    pairs.push_back({distance_mm(a, b), a, b});
                }
            }
        }
        std::sort(pairs.begin(), pairs.end(), [](const NearPair& p, const NearPair& q) {
            return std::tuple(p.distance_mm, p.a, p.b) < std::tuple(q.distance_mm, q.a, q.b);
        });
        return pairs;
    }

    const TriMesh& mesh_;
    double reach_mm_;
    std::vector<BorderVertex> border_;
};

}  // namespace

CrackClosing close_cracks(const TriMesh& mesh, double reach_mm) {
    return BorderJoiner(mesh, reach_mm).close();
}

}  // namespace cavigram
