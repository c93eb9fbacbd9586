// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "cavigram/geom/triangle.h"
#include "cavigram/repair/rims_detail.h"

namespace cavigram {

namespace {

constexpr double kOnAxis = 1e-9;  // of the rim's length

// The lean of a strip of surface around a hole, weighted by area: single triangles at a scanned rim
// point anywhere. Its place is its distance from the hole's axis and its height along it.
struct Lean {
    double turn = 0.0;
    Vec2 place = Vec2::Zero();
};

Lean lean_of(const TriMesh& mesh, const std::set<std::int32_t>& strip, const Rim& rim) {
    double sine = 0.0;
    double cosine = 0.0;
    double area = 0.0;
    Lean lean;
    for (const std::int32_t k : strip) {
        const auto t = static_cast<std::size_t>(k);
        const Vec3 normal =
            double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        Vec3 away = (mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0 - rim.center;
        const double height = away.dot(rim.outward);
        away -= height * rim.outward;
        // What lies on the axis itself, as a lone triangle within its own rim does, leans no way;
        // the direction in which rounding puts it beside the axis is none.
        const double from_axis = away.norm();
        if (from_axis > kOnAxis * rim.length_mm) {
            sine += normal.dot(away) / from_axis;
        }
        cosine += normal.dot(rim.outward);
        area += normal.norm();
        lean.place += normal.norm() * Vec2(from_axis, height);
    }
    lean.turn = std::atan2(sine, cosine);
    lean.place /= area > 0.0 ? area : 1.0;
    return lean;
}

// A scan's rim runs in zigzags: each corner counts as the mean of itself and two neighbors each
// way.
double roundness_of(const TriMesh& mesh, const Rim& rim) {
    const std::size_t n = rim.vertices.size();
    std::vector<Vec3> smooth(n, Vec3::Zero());
    for (std::size_t i = 0; i < n; ++i) {
        for (std::size_t k = 0; k < 5; ++k) {
            smooth[i] += position(mesh, rim.vertices[(i + n + k - 2) % n]) / 5.0;
        }
    }
    Vec3 area = Vec3::Zero();
    double length = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
        area += 0.5 * (smooth[i] - rim.center).cross(smooth[(i + 1) % n] - rim.center);
        length += (smooth[(i + 1) % n] - smooth[i]).norm();
    }
    return length > 0.0 ? 4.0 * std::numbers::pi * area.norm() / (length * length) : 0.0;
}

}  // namespace

std::set<std::int32_t> triangles_near(const TriMesh& mesh, const CompressedRows& at,
                                      const std::vector<std::int32_t>& loop, int rings) {
    std::set<std::int32_t> near;
    std::set<std::int32_t> front(loop.begin(), loop.end());
    for (int ring = 0; ring < rings; ++ring) {
        std::set<std::int32_t> next;
        for (const std::int32_t v : front) {
            for (const std::int32_t t : at[static_cast<std::size_t>(v)]) {
                if (near.insert(t).second) {
                    const Triangle& corners = mesh.triangles[static_cast<std::size_t>(t)];
                    next.insert(corners.begin(), corners.end());
                }
            }
        }
        front = std::move(next);
    }
    return near;
}

Rim measure_rim(const TriMesh& mesh, std::vector<std::int32_t> loop, const CompressedRows& at) {
    Rim rim;
    rim.vertices = std::move(loop);
    const std::size_t n = rim.vertices.size();
    for (const std::int32_t v : rim.vertices) {
        rim.center += position(mesh, v) / static_cast<double>(n);
    }
    Vec3 area = Vec3::Zero();
    for (std::size_t i = 0; i < n; ++i) {
        const Vec3 a = position(mesh, rim.vertices[i]);
        const Vec3 b = position(mesh, rim.vertices[(i + 1) % n]);
        rim.length_mm += (b - a).norm();
        // The patch runs b -> a, so its normal is (b - c) x (a - c).
        const Vec3 fan = (b - rim.center).cross(a - rim.center);
        area += 0.5 * fan;
    }
    rim.flat_area_mm2 = area.norm();  // of the rim's outline; a jagged rim's own fan has more
    rim.outward = area.norm() > 0.0 ? Vec3(area.normalized()) : Vec3::UnitZ();
    for (const std::int32_t v : rim.vertices) {
        rim.unevenness_mm +=
            std::abs((position(mesh, v) - rim.center).dot(rim.outward)) / static_cast<double>(n);
    }
    rim.roundness = roundness_of(mesh, rim);
    const std::set<std::int32_t> close = triangles_near(mesh, at, rim.vertices, 2);
    std::set<std::int32_t> beyond = triangles_near(mesh, at, rim.vertices, 6);
    for (const std::int32_t t : close) {
        beyond.erase(t);
    }
    const Lean near = lean_of(mesh, close, rim);
    const Lean far = lean_of(mesh, beyond, rim);
    rim.turn = near.turn;
    const double way = (far.place - near.place).norm();
    if (!beyond.empty() && way > 0.0) {
        rim.growth = (far.place.x() - near.place.x()) / way;
        rim.bend = (far.turn - near.turn) / way * std::sqrt(rim.flat_area_mm2 / std::numbers::pi);
    }
    return rim;
}

// Whether `inner` bounds, in the plane of `outer`, a hole in the area that `outer` bounds: together
// they are the rims of a ring-shaped foot.
bool ring_of(const TriMesh& mesh, const Rim& outer, const Rim& inner) {
    const double scale = std::sqrt(outer.flat_area_mm2);
    const bool flat =
        std::max(outer.unevenness_mm, inner.unevenness_mm) <= kFlatShare * scale &&
        std::abs((inner.center - outer.center).dot(outer.outward)) <= kFlatShare * scale;
    if (!flat || inner.flat_area_mm2 >= outer.flat_area_mm2 ||
        outer.outward.dot(inner.outward) > -0.98) {
        return false;
    }
    // The angle under which the outer rim goes around a vertex of the inner one, in the plane.
    const Vec3 p = position(mesh, inner.vertices.front());
    double angle = 0.0;
    for (std::size_t i = 0; i < outer.vertices.size(); ++i) {
        const Vec3 a = position(mesh, outer.vertices[i]) - p;
        const Vec3 b = position(mesh, outer.vertices[(i + 1) % outer.vertices.size()]) - p;
        angle += std::atan2(a.cross(b).dot(outer.outward), a.dot(b));
    }
    return std::abs(angle) > std::numbers::pi;
}

// One loop of both rims, joined there and back between their nearest vertices; the least area
// between it is the ring.
Rim bridged(const TriMesh& mesh, const Rim& outer, const Rim& inner) {
    std::size_t from = 0;
    std::size_t to = 0;
    double nearest = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < outer.vertices.size(); ++i) {
        for (std::size_t j = 0; j < inner.vertices.size(); ++j) {
            const double distance =
                (position(mesh, outer.vertices[i]) - position(mesh, inner.vertices[j]))
                    .squaredNorm();
            if (distance < nearest) {
                nearest = distance;
                from = i;
                to = j;
            }
        }
    }
    Rim both = outer;
    both.vertices.clear();
    for (std::size_t i = 0; i <= outer.vertices.size(); ++i) {
        both.vertices.push_back(outer.vertices[(from + i) % outer.vertices.size()]);
    }
    for (std::size_t j = 0; j <= inner.vertices.size(); ++j) {
        both.vertices.push_back(inner.vertices[(to + j) % inner.vertices.size()]);
    }
    both.length_mm += inner.length_mm;
    both.flat_area_mm2 -= inner.flat_area_mm2;
    return both;
}

// Volume of the spherical cap that runs on from the rim at the angle of its surface, signed:
// outward is positive.
double cap_volume_mm3(double diameter_mm, double turn) {
    const double limited = std::clamp(turn, -std::numbers::pi / 2, std::numbers::pi / 2);
    const double r = 0.5 * diameter_mm;
    const double h = r * std::tan(0.5 * limited);
    return std::numbers::pi * h * (3.0 * r * r + h * h) / 6.0;
}

}  // namespace cavigram
