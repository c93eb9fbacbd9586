// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/weld.h"
#include "cavigram/repair/duplicates.h"
#include "cavigram/repair/rounding_detail.h"
#include "cavigram/repair/workpiece_detail.h"
#include "cavigram/spatial/orient.h"

namespace cavigram {

namespace {

constexpr int kMostRounds = 8;
constexpr int kFirstBits = 36;
constexpr int kBitsARound = 3;
constexpr int kLeastBits = 20;

bool in_line(const Vec3& a, const Vec3& b, const Vec3& c) {
    const Vec3 n = (b - a).cross(c - a);
    const double size = std::max((b - a).cwiseAbs().maxCoeff(), (c - a).cwiseAbs().maxCoeff());
    if (n.cwiseAbs().maxCoeff() > 1e-13 * size * size) {
        return false;
    }
    return orient(a.head<2>(), b.head<2>(), c.head<2>()) == 0 &&
           orient(a.tail<2>(), b.tail<2>(), c.tail<2>()) == 0 &&
           orient(Vec2(a.z(), a.x()), Vec2(b.z(), b.x()), Vec2(c.z(), c.x())) == 0;
}

// Corners that fell together are one; what folded onto itself goes.
void join(TriMesh& mesh) {
    mesh = std::move(weld_exact(mesh).mesh);
    DuplicateRemoval removal = remove_duplicates(mesh);
    if (!removal.repeated.empty() || !removal.folded.empty()) {
        mesh = std::move(removal.mesh);
    }
}

// A triangle whose corners lie in a line encloses nothing with its neighbor across the longest
// side: the two are cut the other way, which moves nothing. Gives back the ones that remain.
std::vector<std::int32_t> turn_flat_triangles(TriMesh& mesh) {
    std::vector<std::int32_t> flat;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        if (in_line(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2))) {
            flat.push_back(static_cast<std::int32_t>(t));
        }
    }
    std::vector<std::int32_t> left;
    for (int round = 0; round < 4 && !flat.empty(); ++round) {
        left.clear();
        const Adjacency adjacent = adjacency(mesh);
        std::vector<bool> changed(mesh.triangles.size(), false);
        for (const std::int32_t f : flat) {
            const auto t = static_cast<std::size_t>(f);
            int longest = 0;
            const auto length = [&](int i) {
                return (mesh.corner(t, (i + 1) % 3) - mesh.corner(t, i)).squaredNorm();
            };
            for (int i = 1; i < 3; ++i) {
                longest = length(i) > length(longest) ? i : longest;
            }
            const std::int32_t twin = adjacent.twin[3 * t + static_cast<std::size_t>(longest)];
            const auto s = static_cast<std::size_t>(twin / 3);
            if (changed[t] || twin < 0 || changed[s]) {
                left.push_back(f);
                continue;
            }
            const auto i = static_cast<std::size_t>(longest);
            const auto k = static_cast<std::size_t>(twin % 3);
            const Triangle own = mesh.triangles[t];
            const std::int32_t far = mesh.triangles[s][(k + 2) % 3];
            const std::int32_t middle = own[(i + 2) % 3];
            if (far == middle) {
                left.push_back(f);
                continue;
            }
            mesh.triangles[t] = {own[i], far, middle};
            mesh.triangles[s] = {far, own[(i + 1) % 3], middle};
            changed[t] = changed[s] = true;
            for (const std::size_t n : {t, s}) {
                if (in_line(mesh.corner(n, 0), mesh.corner(n, 1), mesh.corner(n, 2))) {
                    left.push_back(static_cast<std::int32_t>(n));
                }
            }
        }
        flat = left;
    }
    return flat;
}

}  // namespace

Rounding settle_rounding(TriMesh& mesh, const RunContext& context) {
    Rounding result;
    const Box3 box = bounds(mesh);
    int exponent = 0;
    std::frexp(std::max(box.min().cwiseAbs().maxCoeff(), box.max().cwiseAbs().maxCoeff()),
               &exponent);
    result.moved_mm = std::ldexp(1.0, exponent - 53);
    for (int round = 0;; ++round) {
        join(mesh);
        const std::vector<std::int32_t> flat = turn_flat_triangles(mesh);
        result.left = crossing_pairs(mesh, adjacency(mesh), context);
        if ((result.left.empty() && flat.empty()) || round == kMostRounds) {
            break;
        }
        std::vector<bool> touched(mesh.vertices.size(), false);
        const auto touch = [&](std::int32_t t) {
            for (const std::int32_t v : mesh.triangles[static_cast<std::size_t>(t)]) {
                touched[static_cast<std::size_t>(v)] = true;
            }
        };
        for (const CrossingPair& pair : result.left) {
            touch(pair[0]);
            touch(pair[1]);
        }
        for (const std::int32_t t : flat) {
            touch(t);
        }
        const double cell =
            std::ldexp(1.0, exponent - std::max(kLeastBits, kFirstBits - kBitsARound * round));
        for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
            if (touched[v]) {
                const Vec3 before = mesh.vertices[v];
                for (int i = 0; i < 3; ++i) {
                    mesh.vertices[v][i] = std::nearbyint(before[i] / cell) * cell;
                }
                result.moved_mm = std::max(result.moved_mm, (mesh.vertices[v] - before).norm());
            }
        }
    }
    double area = 0.0;
    for (const CrossingPair& pair : result.left) {
        area += area_of(mesh, static_cast<std::size_t>(pair[0])) +
                area_of(mesh, static_cast<std::size_t>(pair[1]));
    }
    result.left_mm3 = area * result.moved_mm;
    return result;
}

}  // namespace cavigram
