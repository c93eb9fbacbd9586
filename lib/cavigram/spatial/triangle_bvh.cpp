// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/triangle_bvh.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

#include "cavigram/geom/triangle.h"
#include "cavigram/spatial/float4_detail.h"
#include "cavigram/spatial/orient.h"

namespace cavigram {

namespace {

using detail::all4;
using detail::Float4;
using detail::load4;
using detail::Mask4;
using detail::max4;
using detail::min4;

// Every level of the tree leaves at most three siblings waiting, and the build stops at 64 + 31
// levels.
constexpr std::size_t kStack = 320;

// Single-precision results are off by a few roundings of 2^-24; a box this much too near is looked
// into all the same.
constexpr double kSlack = 1.0 + 0x1p-20;

struct Waiting {
    float distance;
    std::int32_t first;
    std::int32_t count;
};

// Puts the children that pass in order of distance, nearest first. Four at most: insertion.
struct Passing {
    std::array<Waiting, 4> child;
    int size = 0;

    void add(const Waiting& next) {
        int i = size++;
        for (; i > 0 && next.distance < child[static_cast<std::size_t>(i) - 1].distance; --i) {
            child[static_cast<std::size_t>(i)] = child[static_cast<std::size_t>(i) - 1];
        }
        child[static_cast<std::size_t>(i)] = next;
    }
};

}  // namespace

NearestPoint TriangleBvh::nearest(const Vec3& p, double within_mm) const {
    return nearest(p, within_mm, -1);
}

NearestPoint TriangleBvh::nearest(const Vec3& p, double within_mm, std::int32_t hint) const {
    NearestPoint best;
    if (nodes_.empty() || !(within_mm >= 0.0)) {
        return best;
    }
    double best2 = within_mm * within_mm;
    const auto try_slot = [&](std::size_t slot) {
        const Corners& t = corners_[slot];
        const Vec3 q = closest_point_on_triangle(p, t.a, t.b, t.c);
        const double d2 = (q - p).squaredNorm();
        if (d2 < best2 || (d2 == best2 && (best.triangle < 0 || ids_[slot] < best.triangle))) {
            best2 = d2;
            best.triangle = ids_[slot];
            best.point_mm = q;
        }
    };
    if (hint >= 0 && static_cast<std::size_t>(hint) < slot_.size()) {
        try_slot(static_cast<std::size_t>(slot_[static_cast<std::size_t>(hint)]));
    }
    const detail::FloatBox box(p);
    const auto limit = [&] {
        return static_cast<float>(
            std::min(best2 * kSlack, static_cast<double>(std::numeric_limits<float>::max())));
    };
    float reach = limit();
    std::array<Waiting, kStack> stack;
    std::size_t waiting = 0;
    std::int32_t at = 0;
    while (true) {
        const Node& node = nodes_[static_cast<std::size_t>(at)];
        Float4 d2 = all4(0.0F);
        for (int k = 0; k < 3; ++k) {
            const Float4 below = load4(node.low[k]) - all4(box.high[k]);
            const Float4 above = all4(box.low[k]) - load4(node.high[k]);
            const Float4 gap = max4(max4(below, above), all4(0.0F));
            d2 += gap * gap;
        }
        Passing passing;
        for (int i = 0; i < 4; ++i) {
            if (d2[i] <= reach && node.first[i] >= 0) {
                passing.add({d2[i], node.first[i], node.count[i]});
            }
        }
        for (int i = passing.size; i-- > 0;) {
            stack[waiting++] = passing.child[static_cast<std::size_t>(i)];
        }
        // Triangles are tried as they come up; the next node that is still near enough is gone
        // into.
        at = -1;
        while (waiting > 0) {
            const Waiting next = stack[--waiting];
            if (next.distance > reach) {
                continue;
            }
            if (next.count == 0) {
                at = next.first;
                break;
            }
            for (std::int32_t i = 0; i < next.count; ++i) {
                try_slot(static_cast<std::size_t>(next.first + i));
            }
            reach = limit();
        }
        if (at < 0) {
            break;
        }
    }
    if (best.triangle >= 0) {
        best.distance_mm = std::sqrt(best2);
    }
    return best;
}

namespace {

// A ray sheared so that it runs along an axis: the three edge tests are then signs of 2D cross
// products of the same rounded numbers on both sides of a shared edge, so that no gap opens between
// them.
class ShearedRay {
  public:
    ShearedRay(const Vec3& origin, const Vec3& direction) : origin_(origin) {
        direction.cwiseAbs().maxCoeff(&z_);
        x_ = (z_ + 1) % 3;
        y_ = (z_ + 2) % 3;
        if (direction[z_] < 0.0) {
            std::swap(x_, y_);  // keeps the sense of rotation
        }
        shear_ =
            Vec3(direction[x_] / direction[z_], direction[y_] / direction[z_], 1.0 / direction[z_]);
    }

    // t and sign of the hit, sign 0 for none.
    [[nodiscard]] RayHit hit(const Vec3& a, const Vec3& b, const Vec3& c) const {
        const Vec3 p = sheared(a);
        const Vec3 q = sheared(b);
        const Vec3 r = sheared(c);
        const double u = r.x() * q.y() - r.y() * q.x();
        const double v = p.x() * r.y() - p.y() * r.x();
        const double w = q.x() * p.y() - q.y() * p.x();
        RayHit hit;
        if ((u < 0.0 || v < 0.0 || w < 0.0) && (u > 0.0 || v > 0.0 || w > 0.0)) {
            return hit;
        }
        const double det = u + v + w;
        if (det == 0.0) {
            return hit;
        }
        hit.t = (u * p.z() + v * q.z() + w * r.z()) * shear_.z() / det;
        // u, v, w are the clockwise cross products, so a face that turns its back to the ray's
        // origin has them negative.
        hit.sign = det < 0.0 ? 1 : -1;
        return hit;
    }

  private:
    [[nodiscard]] Vec3 sheared(const Vec3& corner) const {
        const Vec3 d = corner - origin_;
        return {d[x_] - shear_.x() * d[z_], d[y_] - shear_.y() * d[z_], d[z_]};
    }

    Vec3 origin_;
    Vec3 shear_ = Vec3::Zero();
    int x_ = 0;
    int y_ = 1;
    int z_ = 2;
};

}  // namespace

RayHit TriangleBvh::first_hit(const Vec3& origin, const Vec3& direction,
                              const RayLimits& limits) const {
    RayHit best;
    if (nodes_.empty()) {
        return best;
    }
    best.t = limits.t_max;
    const ShearedRay ray(origin, direction);
    const auto try_slot = [&](std::size_t slot) {
        const Triangle& v = triangles_[slot];
        if (ids_[slot] == limits.skip_triangle ||
            (limits.skip_vertex >= 0 && (v[0] == limits.skip_vertex || v[1] == limits.skip_vertex ||
                                         v[2] == limits.skip_vertex))) {
            return;
        }
        const Corners& corner = corners_[slot];
        const RayHit hit = ray.hit(corner.a, corner.b, corner.c);
        if (hit.sign != 0 && hit.t >= limits.t_min &&
            (hit.t < best.t ||
             (hit.t == best.t && (best.triangle < 0 || ids_[slot] < best.triangle)))) {
            best = hit;
            best.triangle = ids_[slot];
        }
    };
    // For the boxes the direction is made a unit, so that single precision can't overflow; t in
    // boxes is then a length.
    const double length = direction.stableNorm();
    const detail::FloatBox box(origin);
    std::array<float, 3> inverse{};
    for (int k = 0; k < 3; ++k) {
        const double d = direction[k] / length;
        // A ray along a wall of boxes strays from it by less than their margin.
        inverse[static_cast<std::size_t>(k)] =
            static_cast<float>(1.0 / (std::abs(d) > 1e-25 ? d : 1e-25));
    }
    const auto limit = [&] {
        return static_cast<float>(std::min(best.t * length * kSlack,
                                           static_cast<double>(std::numeric_limits<float>::max())));
    };
    float reach = limit();
    std::array<Waiting, kStack> stack;
    std::size_t waiting = 0;
    std::int32_t at = 0;
    while (true) {
        const Node& node = nodes_[static_cast<std::size_t>(at)];
        Float4 enter = all4(0.0F);
        Float4 leave = all4(reach);
        for (int k = 0; k < 3; ++k) {
            const float inv = inverse[static_cast<std::size_t>(k)];
            const bool up = inv > 0.0F;
            const Float4 near =
                (load4(up ? node.low[k] : node.high[k]) - all4(up ? box.high[k] : box.low[k])) *
                all4(inv);
            const Float4 far =
                (load4(up ? node.high[k] : node.low[k]) - all4(up ? box.low[k] : box.high[k])) *
                all4(inv);
            enter = max4(near, enter);
            leave = min4(far, leave);
        }
        leave *= all4(static_cast<float>(kSlack));
        Passing passing;
        for (int i = 0; i < 4; ++i) {
            if (enter[i] <= leave[i] && node.first[i] >= 0) {
                passing.add({enter[i], node.first[i], node.count[i]});
            }
        }
        for (int i = passing.size; i-- > 0;) {
            stack[waiting++] = passing.child[static_cast<std::size_t>(i)];
        }
        at = -1;
        while (waiting > 0) {
            const Waiting next = stack[--waiting];
            if (next.distance > reach) {
                continue;
            }
            if (next.count == 0) {
                at = next.first;
                break;
            }
            for (std::int32_t i = 0; i < next.count; ++i) {
                try_slot(static_cast<std::size_t>(next.first + i));
            }
            reach = limit();
        }
        if (at < 0) {
            break;
        }
    }
    if (best.triangle < 0) {
        return {};
    }
    return best;
}

int TriangleBvh::winding(const Vec3& p) const {
    if (nodes_.empty()) {
        return 0;
    }
    const Vec2 flat(p.x(), p.y());
    const auto crossing = [&](const Corners& t) {
        const int covered = covers(t.a.head<2>(), t.b.head<2>(), t.c.head<2>(), flat);
        if (covered == 0) {
            return 0;
        }
        // Positive when p is behind the face. A face that looks up is above the points behind it.
        const Vec3 a = t.a - p;
        const Vec3 b = t.b - p;
        const Vec3 c = t.c - p;
        return a.dot(b.cross(c)) * covered > 0.0 ? covered : 0;
    };
    const detail::FloatBox box(p);
    std::array<std::int32_t, kStack> stack;
    std::size_t waiting = 0;
    int total = 0;
    stack[waiting++] = 0;
    while (waiting > 0) {
        const Node& node = nodes_[static_cast<std::size_t>(stack[--waiting])];
        const Mask4 over =
            (load4(node.low[0]) <= all4(box.high[0])) & (load4(node.high[0]) >= all4(box.low[0])) &
            (load4(node.low[1]) <= all4(box.high[1])) & (load4(node.high[1]) >= all4(box.low[1])) &
            (load4(node.high[2]) >= all4(box.low[2]));
        for (int i = 0; i < 4; ++i) {
            if (over[i] == 0 || node.first[i] < 0) {
                continue;
            }
            if (node.count[i] == 0) {
                stack[waiting++] = node.first[i];
                continue;
            }
            for (std::int32_t k = 0; k < node.count[i]; ++k) {
                total += crossing(corners_[static_cast<std::size_t>(node.first[i] + k)]);
            }
        }
    }
    return total;
}

double winding_number(const TriMesh& mesh, const Vec3& p) {
    double sum = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        sum += solid_angle(p, mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
    }
    return sum / (4.0 * std::numbers::pi);
}

}  // namespace cavigram
