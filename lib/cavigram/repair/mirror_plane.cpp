// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/mirror_plane.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <tuple>
#include <utility>

#include <Eigen/Eigenvalues>

#include "cavigram/core/parallel.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/repair/border_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kFewPlaces = 300;
constexpr std::size_t kManyPlaces = 2000;
constexpr std::size_t kSpreadPlanes = 60;
constexpr std::size_t kRefined = 16;
constexpr int kFewSteps = 12;
constexpr int kManySteps = 30;
constexpr double kTrusted = 0.85;  // of the pairs, the nearest ones
constexpr double kLeastShare = 0.95;
constexpr double kSameWay = 0.5;       // cosine between the normals of an image and of the surface
constexpr double kSameNormal = 0.999;  // cosine between two planes that are one

struct Place {
    Vec3 point;
    Vec3 normal;
};

// Places spread over the surface by area, the same ones every time.
std::vector<Place> places_on(const TriMesh& mesh, std::size_t count) {
    std::vector<double> area_to(mesh.triangles.size());
    double area = 0.0;
    for (std::size_t t = 0; t < area_to.size(); ++t) {
        area += double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2)).norm();
        area_to[t] = area;
    }
    std::vector<Place> places;
    for (std::size_t i = 0; i < count; ++i) {
        const double at = area * (static_cast<double>(i) + 0.5) / static_cast<double>(count);
        const auto t = static_cast<std::size_t>(
            std::upper_bound(area_to.begin(), area_to.end() - 1, at) - area_to.begin());
        // Weights of the corners by multiples of the golden ratio and of its like in the plane.
        double whole = 0.0;
        double u = std::modf(0.7548776662466927 * static_cast<double>(i + 1), &whole);
        double v = std::modf(0.5698402909980532 * static_cast<double>(i + 1), &whole);
        if (u + v > 1.0) {
            u = 1.0 - u;
            v = 1.0 - v;
        }
        const Vec3& a = mesh.corner(t, 0);
        const Vec3 normal = double_area_vector(a, mesh.corner(t, 1), mesh.corner(t, 2));
        places.push_back(
            {a + u * (mesh.corner(t, 1) - a) + v * (mesh.corner(t, 2) - a), normal.normalized()});
    }
    return places;
}

// A place, where its image lies nearest to the surface, and how it lies there.
struct Pair {
    double distance = 0.0;
    Vec3 place;
    Vec3 nearest;
    bool same_way = false;
};

// Without those whose image lies over a hole.
std::vector<Pair> pairs_of(const MirrorPlane& plane, const std::vector<Place>& places,
                           const TriMesh& mesh, const BorderSides& border,
                           const TriangleBvh& tree) {
    std::vector<Pair> pairs;
    for (const Place& place : places) {
        const NearestPoint near = tree.nearest(plane.image(place.point));
        if (border.holds(near)) {
            continue;
        }
        const Vec3 way = place.normal - 2.0 * plane.normal.dot(place.normal) * plane.normal;
        const auto t = static_cast<std::size_t>(near.triangle);
        const Vec3 normal =
            double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        pairs.push_back({near.distance_mm, place.point, near.point_mm,
                         way.dot(normal) >= kSameWay * normal.norm()});
    }
    return pairs;
}

// The plane through which the places come nearest, in squares, to the points beside them. With
// p and q about their means, and D the difference of the means, |image of p - q|^2 sums to a
// constant plus 4 n'S n - N (n.D)^2, S the symmetric part of sum p q'; the plane lies half way
// between the means.
void fit(MirrorPlane& plane, const std::vector<Pair>& pairs) {
    Vec3 place = Vec3::Zero();
    Vec3 nearest = Vec3::Zero();
    const auto n = static_cast<double>(pairs.size());
    for (const Pair& pair : pairs) {
        place += pair.place / n;
        nearest += pair.nearest / n;
    }
    Mat3 sum = Mat3::Zero();
    for (const Pair& pair : pairs) {
        sum += (pair.place - place) * (pair.nearest - nearest).transpose();
    }
    const Vec3 apart = place - nearest;
    const Mat3 form = 2.0 * (sum + sum.transpose()) - n * apart * apart.transpose();
    plane.normal = Eigen::SelfAdjointEigenSolver<Mat3>(form).eigenvectors().col(0);
    plane.offset_mm = 0.5 * plane.normal.dot(place + nearest);
}

void settle(MirrorPlane& plane, const std::vector<Place>& places, int steps, const TriMesh& mesh,
            const BorderSides& border, const TriangleBvh& tree, double tolerance_mm) {
    for (int step = 0; step <= steps; ++step) {
        std::vector<Pair> pairs = pairs_of(plane, places, mesh, border, tree);
        if (2 * pairs.size() < places.size()) {  // most of it lies over holes
            plane.agreeing_share = 0.0;
            return;
        }
        plane.over_holes_share =
            1.0 - static_cast<double>(pairs.size()) / static_cast<double>(places.size());
        double squares = 0.0;
        std::size_t agreeing = 0;
        for (const Pair& pair : pairs) {
            if (pair.distance <= tolerance_mm && pair.same_way) {
                squares += pair.distance * pair.distance;
                ++agreeing;
            }
        }
        plane.agreeing_share = static_cast<double>(agreeing) / static_cast<double>(pairs.size());
        plane.residual_mm =
            agreeing > 0 ? std::sqrt(squares / static_cast<double>(agreeing)) : tolerance_mm;
        if (step == steps) {
            return;
        }
        const auto trusted = static_cast<std::size_t>(kTrusted * static_cast<double>(pairs.size()));
        std::stable_sort(pairs.begin(), pairs.end(),
                         [](const Pair& a, const Pair& b) { return a.distance < b.distance; });
        pairs.resize(std::max<std::size_t>(trusted, 3));
        fit(plane, pairs);
    }
}

std::vector<MirrorPlane> first_planes(const std::vector<Place>& places) {
    Vec3 center = Vec3::Zero();
    for (const Place& place : places) {
        center += place.point / static_cast<double>(places.size());
    }
    Mat3 spread = Mat3::Zero();
    for (const Place& place : places) {
        spread += (place.point - center) * (place.point - center).transpose();
    }
    const Mat3 axes = Eigen::SelfAdjointEigenSolver<Mat3>(spread).eigenvectors();
    std::vector<MirrorPlane> planes;
    planes.reserve(3 + kSpreadPlanes);
    for (int i = 0; i < 3; ++i) {
        planes.push_back({.normal = axes.col(i)});
    }
    // A Fibonacci spiral over half a sphere.
    for (std::size_t i = 0; i < kSpreadPlanes; ++i) {
        const double z = (static_cast<double>(i) + 0.5) / static_cast<double>(kSpreadPlanes);
        const double angle = 2.0 * std::numbers::pi / std::numbers::phi * static_cast<double>(i);
        const double r = std::sqrt(1.0 - z * z);
        planes.push_back({.normal = Vec3(r * std::cos(angle), r * std::sin(angle), z)});
    }
    for (MirrorPlane& plane : planes) {
        plane.offset_mm = plane.normal.dot(center);
    }
    return planes;
}

void best_first(std::vector<MirrorPlane>& planes) {
    std::stable_sort(planes.begin(), planes.end(), [](const MirrorPlane& a, const MirrorPlane& b) {
        return std::pair(-a.agreeing_share, a.residual_mm) <
               std::pair(-b.agreeing_share, b.residual_mm);
    });
}

}  // namespace

std::vector<MirrorPlane> mirror_planes(const TriMesh& mesh, const Adjacency& adjacent,
                                       const TriangleBvh& tree, double tolerance_mm,
                                       const RunContext& context) {
    const BorderSides border(mesh, adjacent);
    const std::vector<Place> few = places_on(mesh, kFewPlaces);
    const std::vector<Place> many = places_on(mesh, kManyPlaces);
    std::vector<MirrorPlane> planes = first_planes(few);
    for_blocks(planes.size(), 1, context, [&](const Block& block) {
        settle(planes[block.begin], few, kFewSteps, mesh, border, tree, tolerance_mm);
    });
    // Of those that agree, the ones that tell most of holes; in steps, so that chance decides
    // nothing.
    std::stable_sort(planes.begin(), planes.end(), [](const MirrorPlane& a, const MirrorPlane& b) {
        const auto rank = [](const MirrorPlane& plane) {
            const bool agrees = plane.agreeing_share >= kLeastShare;
            return std::tuple(!agrees, agrees ? -std::round(20.0 * plane.over_holes_share) : 0.0,
                              -plane.agreeing_share, plane.residual_mm);
        };
        return rank(a) < rank(b);
    });
    planes.resize(kRefined);
    for_blocks(planes.size(), 1, context, [&](const Block& block) {
        settle(planes[block.begin], many, kManySteps, mesh, border, tree, tolerance_mm);
    });
    best_first(planes);
    const Vec3 middle = bounds(mesh).center();
    std::vector<MirrorPlane> found;
    for (const MirrorPlane& plane : planes) {
        // Through one plane the middle has one image.
        const bool known = std::any_of(found.begin(), found.end(), [&](const MirrorPlane& other) {
            return std::abs(other.normal.dot(plane.normal)) > kSameNormal &&
                   (other.image(middle) - plane.image(middle)).norm() < 2.0 * tolerance_mm;
        });
        if (plane.agreeing_share >= kLeastShare && !known) {
            found.push_back(plane);
        }
    }
    return found;
}

}  // namespace cavigram
