// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <iterator>
#include <utility>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>

#include "cavigram/repair/triangle_pair_detail.h"

namespace cavigram {

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;

Kernel::Point_3 exact(const Vec3& p) {
    return {p.x(), p.y(), p.z()};
}

// True only if a plane surely parts the two triangles: one of theirs, or one upright on theirs
// through an edge.
bool surely_apart(const std::array<Vec3, 3>& s, const std::array<Vec3, 3>& t) {
    const Vec3& at = s[0];
    std::array<Vec3, 3> p{Vec3::Zero(), s[1] - at, s[2] - at};
    std::array<Vec3, 3> q{t[0] - at, t[1] - at, t[2] - at};
    double size = 0.0;
    for (std::size_t i = 0; i < 3; ++i) {
        size = std::max({size, p[i].cwiseAbs().maxCoeff(), q[i].cwiseAbs().maxCoeff()});
    }
    // Products of three lengths carry at most some thirty roundings of 1.1e-16, with factors of up
    // to 6 size^3; of four, 24 size^4.
    const double cubic = 1e-13 * size * size * size;
    const double quartic = 1e-12 * size * size * size * size;
    for (int turn = 0; turn < 2; ++turn) {
        const Vec3 normal = (p[1] - p[0]).cross(p[2] - p[0]);
        const double d0 = normal.dot(q[0] - p[0]);
        const double d1 = normal.dot(q[1] - p[0]);
        const double d2 = normal.dot(q[2] - p[0]);
        if (std::min({d0, d1, d2}) > cubic || std::max({d0, d1, d2}) < -cubic) {
            return true;
        }
        for (std::size_t i = 0; i < 3; ++i) {
            const Vec3& a = p[i];
            const Vec3 outward =
                (p[(i + 1) % 3] - a)
                    .cross(normal);  // zero along the edge, negative toward the third corner
            if (std::min({outward.dot(q[0] - a), outward.dot(q[1] - a), outward.dot(q[2] - a)}) >
                quartic) {
                return true;
            }
        }
        std::swap(p, q);
    }
    return false;
}

// By how many corners two triangles share.
class Verdicts {
  public:
    explicit Verdicts(const TriMesh& mesh) : mesh_(mesh) {}

    [[nodiscard]] bool cross_apart(const Triangle& s, const Triangle& t) const {
        if (surely_apart({at(s[0]), at(s[1]), at(s[2])}, {at(t[0]), at(t[1]), at(t[2])})) {
            return false;
        }
        const Kernel::Triangle_3 first = exact_triangle(s);
        const Kernel::Triangle_3 second = exact_triangle(t);
        // CGAL asks for triangles with an area; one without is its longest side.
        if (first.is_degenerate()) {
            return meet(second, longest_side(first));
        }
        return second.is_degenerate() ? meet(first, longest_side(second))
                                      : CGAL::do_intersect(first, second);
    }

    // Of corners in line: from the first to the last along it.
    [[nodiscard]] static Kernel::Segment_3 longest_side(const Kernel::Triangle_3& t) {
        Kernel::Point_3 corners[] = {t[0], t[1], t[2]};
        std::sort(std::begin(corners), std::end(corners));  // lexicographically, exact
        return {corners[0], corners[2]};
    }

    [[nodiscard]] static bool meet(const Kernel::Triangle_3& t, const Kernel::Segment_3& side) {
        return t.is_degenerate() ? CGAL::do_intersect(longest_side(t), side)
                                 : CGAL::do_intersect(t, side);
    }

    // Two triangles with one corner in common cross just where the far edge of one meets the other.
    [[nodiscard]] bool cross_at_vertex(const Triangle& s, std::size_t i, const Triangle& t,
                                       std::size_t j) const {
        const Vec3& v = at(s[i]);
        const Vec3 a = at(s[(i + 1) % 3]) - v;
        const Vec3 b = at(s[(i + 2) % 3]) - v;
        const Vec3 c = at(t[(j + 1) % 3]) - v;
        const Vec3 d = at(t[(j + 2) % 3]) - v;
        const Vec3 parting = (a + b).normalized() - (c + d).normalized();
        const double size = std::max({a.cwiseAbs().maxCoeff(), b.cwiseAbs().maxCoeff(),
                                      c.cwiseAbs().maxCoeff(), d.cwiseAbs().maxCoeff()});
        const double margin = 1e-14 * size;
        if (parting.dot(a) > margin && parting.dot(b) > margin && parting.dot(c) < -margin &&
            parting.dot(d) < -margin) {
            return false;
        }
        const Kernel::Segment_3 far_s(exact(at(s[(i + 1) % 3])), exact(at(s[(i + 2) % 3])));
        const Kernel::Segment_3 far_t(exact(at(t[(j + 1) % 3])), exact(at(t[(j + 2) % 3])));
        return meet(exact_triangle(t), far_s) || meet(exact_triangle(s), far_t);
    }

    // Two triangles over one edge cross only if they lie in one plane on the same side of it.
    [[nodiscard]] bool cross_at_edge(const Triangle& s, std::size_t apex, std::int32_t a,
                                     std::int32_t b, std::int32_t other) const {
        const auto p = exact(at(a));
        const auto q = exact(at(b));
        const auto r = exact(at(s[apex]));
        const auto o = exact(at(other));
        return CGAL::orientation(p, q, r, o) == CGAL::COPLANAR && !CGAL::collinear(p, q, r) &&
               !CGAL::collinear(p, q, o) &&
               CGAL::coplanar_orientation(p, q, r, o) == CGAL::POSITIVE;
    }

  private:
    [[nodiscard]] const Vec3& at(std::int32_t v) const {
        return mesh_.vertices[static_cast<std::size_t>(v)];
    }

    [[nodiscard]] Kernel::Triangle_3 exact_triangle(const Triangle& t) const {
        return {exact(at(t[0])), exact(at(t[1])), exact(at(t[2]))};
    }

    const TriMesh& mesh_;
};

}  // namespace

bool TrianglePair::cross(std::int32_t first, std::int32_t second) const {
    const Verdicts verdict(mesh_);
    const Triangle& s = mesh_.triangles[static_cast<std::size_t>(first)];
    const Triangle& t = mesh_.triangles[static_cast<std::size_t>(second)];
    std::size_t in_s[3] = {0, 0, 0};
    std::size_t in_t[3] = {0, 0, 0};
    std::size_t shared = 0;
    for (std::size_t i = 0; i < 3; ++i) {
        for (std::size_t j = 0; j < 3; ++j) {
            if (s[i] == t[j] && shared < 3) {
                in_s[shared] = i;
                in_t[shared++] = j;
            }
        }
    }
    if (shared == 0) {
        return verdict.cross_apart(s, t);
    }
    if (shared == 1) {
        return verdict.cross_at_vertex(s, in_s[0], t, in_t[0]);
    }
    return shared == 3 || verdict.cross_at_edge(s, 3 - in_s[0] - in_s[1], s[in_s[0]], s[in_s[1]],
                                                t[3 - in_t[0] - in_t[1]]);
}

}  // namespace cavigram
