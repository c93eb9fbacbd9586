// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <optional>
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

bool is_flat(const TriMesh& mesh, std::size_t t) {
    return in_line(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
}

std::size_t longest_side(const TriMesh& mesh, std::size_t t) {
    const auto length = [&](int i) {
        return (mesh.corner(t, (i + 1) % 3) - mesh.corner(t, i)).squaredNorm();
    };
    int longest = 0;
    for (int i = 1; i < 3; ++i) {
        longest = length(i) > length(longest) ? i : longest;
    }
    return static_cast<std::size_t>(longest);
}

// Cuts the flat triangle and its neighbor across the longest side the other way. Gives back the
// neighbor; none if one of the two changed already or both have the same corners.
std::optional<std::size_t> turn_with_neighbor(TriMesh& mesh, const Adjacency& adjacent,
                                              std::size_t t, const std::vector<bool>& changed) {
    const std::size_t i = longest_side(mesh, t);
    const std::int32_t twin = adjacent.twin[3 * t + i];
    if (twin < 0 || changed[t] || changed[static_cast<std::size_t>(twin / 3)]) {
        return std::nullopt;
    }
    const auto s = static_cast<std::size_t>(twin / 3);
    const auto k = static_cast<std::size_t>(twin % 3);
    const Triangle own = mesh.triangles[t];
    const std::int32_t far = mesh.triangles[s][(k + 2) % 3];
    const std::int32_t middle = own[(i + 2) % 3];
    if (far == middle) {
        return std::nullopt;
    }
    mesh.triangles[t] = {own[i], far, middle};
    mesh.triangles[s] = {far, own[(i + 1) % 3], middle};
    return s;
}

// A triangle whose corners lie in a line encloses nothing with its neighbor across the longest
// side: the two are cut the other way, which moves nothing. Gives back the ones that remain.
std::vector<std::int32_t> turn_flat_triangles(TriMesh& mesh) {
    std::vector<std::int32_t> flat;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        if (is_flat(mesh, t)) {
            flat.push_back(static_cast<std::int32_t>(t));
        }
    }
    for (int round = 0; round < 4 && !flat.empty(); ++round) {
        std::vector<std::int32_t> left;
        const Adjacency adjacent = adjacency(mesh);
        std::vector<bool> changed(mesh.triangles.size(), false);
        for (const std::int32_t f : flat) {
            const auto t = static_cast<std::size_t>(f);
            const auto neighbor = turn_with_neighbor(mesh, adjacent, t, changed);
            if (!neighbor) {
                left.push_back(f);
                continue;
            }
            changed[t] = changed[*neighbor] = true;
            for (const std::size_t n : {t, *neighbor}) {
                if (is_flat(mesh, n)) {
                    left.push_back(static_cast<std::int32_t>(n));
                }
            }
        }
        flat = std::move(left);
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
