// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/triangle_bvh.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <numbers>
#include <utility>

#include "cavigram/geom/triangle.h"
#include "cavigram/spatial/orient.h"
#include "cavigram/spatial/triangle_bvh_query_detail.h"

namespace cavigram {

using detail::all4;
using detail::Float4;
using detail::Float4x3;
using detail::kBvhSlack;
using detail::load;
using detail::load4;
using detail::Mask4;
using detail::max4;
using detail::min4;
using detail::to_float;

namespace {

Float4x3 minus(const Float4x3& a, const Float4x3& b) {
    return {a.x - b.x, a.y - b.y, a.z - b.z};
}
Float4x3 cross(const Float4x3& a, const Float4x3& b) {
    return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
// Squared distance from `p` (about the edge's start) to an edge.
inline Float4 edge_distance2(const Float4x3& p, const Float4x3& edge, Float4 per_length2) {
    const Float4 t = min4(max4(dot(p, edge) * per_length2, all4(0.0F)), all4(1.0F));
    const Float4x3 d{p.x - t * edge.x, p.y - t * edge.y, p.z - t * edge.z};
    return dot(d, d);
}

// A lower bound for the squared distance to each triangle of a pack, but for rounding (`blur_mm`).
Float4 pack_distance2(const BvhQuery::Pack& pack, const Float4x3& p) {
    const Float4x3 from_a = minus(p, load(pack.corner));
    const Float4x3 ab = load(pack.to_b);
    const Float4x3 ac = load(pack.to_c);
    const Float4x3 normal = load(pack.normal);
    const Float4x3 bc = minus(ac, ab);
    const Float4x3 from_b = minus(from_a, ab);
    const Float4 edges = min4(min4(edge_distance2(from_a, ab, load4(pack.per_length2[0])),
                                   edge_distance2(from_b, bc, load4(pack.per_length2[1]))),
                              edge_distance2(from_a, ac, load4(pack.per_length2[2])));
    // Over the face when on the inner side of all three edges.
    const Mask4 over = (dot(cross(ab, from_a), normal) > all4(0.0F)) &
                       (dot(cross(bc, from_b), normal) > all4(0.0F)) &
                       (dot(cross(from_a, ac), normal) > all4(0.0F));
    const Float4 height = dot(from_a, normal);
    return over ? min4(height * height, edges) : edges;
}

// The lane with the least value among those whose bits are set. \pre one is
int least_of(Float4 values, unsigned lanes) {
    int least = std::countr_zero(lanes);
    for (lanes &= lanes - 1; lanes != 0; lanes &= lanes - 1) {
        const int i = std::countr_zero(lanes);
        least = values[i] < values[least] ? i : least;
    }
    return least;
}

}  // namespace

NearestPoint TriangleBvh::nearest(const Vec3& p, double within_mm) const {
    return nearest(p, within_mm, -1);
}

NearestPoint TriangleBvh::nearest(const Vec3& p, double within_mm, std::int32_t hint) const {
    return search(p, within_mm, 1.0, hint);
}

NearestPoint TriangleBvh::near_enough(const Vec3& p, double tolerance, std::int32_t hint) const {
    return search(p, std::numeric_limits<double>::infinity(), 1.0 / (1.0 + tolerance), hint);
}

NearestPoint TriangleBvh::search(const Vec3& p, double within_mm, double share,
                                 std::int32_t hint) const {
    return nodes_.empty() ? NearestPoint()
                          : BvhQuery(*this).search(std::span<const Node>(nodes_.data(), 1), p,
                                                   within_mm, share, hint);
}

template <class Row>
NearestPoint BvhQuery::search(std::span<const Row> rows, const Vec3& p, double within_mm,
                              double share, std::int32_t hint) const {
    NearestPoint best;
    if (!(within_mm >= 0.0)) {
        return best;
    }
    const Vec3 about_origin = local(p);
    const double blur = blur_mm(about_origin);
    const detail::BvhPoint point(about_origin, blur);
    double best2 = within_mm * within_mm;
    float reach = 0.0F;       // squared, for boxes
    float pack_reach = 0.0F;  // squared, for triangles in single precision
    const auto set_reach = [&] {
        const double limit2 = best.triangle >= 0 ? share * share * best2 : best2;
        reach = to_float(limit2 * kBvhSlack);
        const double blurred = std::sqrt(limit2) + blur;
        pack_reach = to_float(blurred * blurred * kBvhSlack);
    };
    const auto try_slot = [&](std::size_t slot, std::int32_t id) {
        const TriangleBvh::Corners t = bvh_.corners(slot);
        const Vec3 q = closest_point_on_triangle(p, t.a, t.b, t.c);
        const double d2 = (q - p).squaredNorm();
        if (d2 < best2 || (d2 == best2 && (best.triangle < 0 || id < best.triangle))) {
            best2 = d2;
            best.triangle = id;
            best.point_mm = q;
            set_reach();
        }
    };
    set_reach();
    if (hint >= 0 && static_cast<std::size_t>(hint) < bvh_.slot_.size()) {
        try_slot(static_cast<std::size_t>(bvh_.slot_[static_cast<std::size_t>(hint)]), hint);
    }
    const auto entry = [&](const auto& row) { return child_distance2(row, point); };
    const auto leaf = [&](std::size_t number, std::int32_t count) {
        const Pack& pack = bvh_.packs_[number];
        const Float4 d2 = pack_distance2(pack, point.middle);
        // The nearest first, after which the others are rarely of interest; one by one where the
        // first that is near enough is the answer.
        unsigned left = (1U << static_cast<unsigned>(count)) - 1U;
        while ((left &= detail::no_more4(d2, all4(pack_reach))) != 0) {
            const int i = share < 1.0 ? std::countr_zero(left) : least_of(d2, left);
            try_slot(4 * number + static_cast<std::size_t>(i), pack.id[i]);
            left &= ~(1U << static_cast<unsigned>(i));
        }
    };
    walk(rows, entry, leaf, reach);
    if (best.triangle >= 0) {
        best.distance_mm = std::sqrt(best2);
    }
    return best;
}

template NearestPoint BvhQuery::search(std::span<const BvhQuery::Node>, const Vec3&, double, double,
                                       std::int32_t) const;
template NearestPoint BvhQuery::search(std::span<const Vicinity::Row>, const Vec3&, double, double,
                                       std::int32_t) const;

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
    friend class RaySieve;

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

// Which triangles of a pack a ray may hit: the three edge tests in single precision, four triangles
// at once. Sheared corners are off by no more than `blur`, as shears are at most 1; of a cross
// product of two of them, the error is then below blur times the sum of their coordinates, and
// rounding of the product is below an eighth of that. A pair of opposite signs beyond twice such
// errors, and beyond what single precision loses near 0, is one in double precision, too, where the
// triangle is missed. What is not a number is not sieved out.
class RaySieve {
  public:
    RaySieve(const ShearedRay& ray, const Vec3& local, double blur_mm)
        : x_(ray.x_),
          y_(ray.y_),
          z_(ray.z_),
          shear_x_(all4(static_cast<float>(ray.shear_.x()))),
          shear_y_(all4(static_cast<float>(ray.shear_.y()))),
          origin_{all4(static_cast<float>(local[x_])), all4(static_cast<float>(local[y_])),
                  all4(static_cast<float>(local[z_]))},
          blur2_(all4(2.0F * detail::rounded_up(blur_mm))) {}

    // A bit for each triangle that may be hit. Lanes not in use may have one.
    [[nodiscard]] unsigned may_hit(const BvhQuery::Pack& pack) const {
        const Float4x3 from{load4(pack.corner[x_]) - origin_.x, load4(pack.corner[y_]) - origin_.y,
                            load4(pack.corner[z_]) - origin_.z};
        const Flat p = sheared(from.x, from.y, from.z);
        const Flat to_b = sheared(load4(pack.to_b[x_]), load4(pack.to_b[y_]), load4(pack.to_b[z_]));
        const Flat to_c = sheared(load4(pack.to_c[x_]), load4(pack.to_c[y_]), load4(pack.to_c[z_]));
        const Flat q{p.x + to_b.x, p.y + to_b.y};
        const Flat r{p.x + to_c.x, p.y + to_c.y};
        const Float4 u = r.x * q.y - r.y * q.x;
        const Float4 v = p.x * r.y - p.y * r.x;
        const Float4 w = q.x * p.y - q.y * p.x;
        const Float4 error =
            blur2_ * (sum(p) + sum(q) + sum(r) + blur2_) + all4(std::numeric_limits<float>::min());
        const Float4 least = min4(min4(u, v), w);
        const Float4 most = max4(max4(u, v), w);
        const Mask4 missed = (least < -error) & (most > error);
        return ~detail::bits4(missed);
    }

  private:
    struct Flat {
        Float4 x, y;
    };
    [[nodiscard]] Flat sheared(Float4 x, Float4 y, Float4 z) const {
        return {x - shear_x_ * z, y - shear_y_ * z};
    }
    static Float4 sum(const Flat& of) { return max4(of.x, -of.x) + max4(of.y, -of.y); }

    int x_;
    int y_;
    int z_;
    Float4 shear_x_;
    Float4 shear_y_;
    Float4x3 origin_;
    Float4 blur2_;
};

// Shows `leaf(pack, count)` the packs whose boxes a ray passes; `leaf` gives back the t that is
// still of interest.
template <class Leaf>
void walk_ray(const BvhQuery& query, const Vec3& origin, const Vec3& direction, double t_min,
              double t_max, const Leaf& leaf) {
    // The direction is made a unit, so that single precision can't overflow; t in boxes is then a
    // length.
    const double length = direction.stableNorm();
    const detail::FloatBox box(origin);
    std::array<float, 3> inverse{};
    for (int k = 0; k < 3; ++k) {
        // A ray that is as good as parallel to a wall of a box strays from it by less than the
        // boxes' margin.
        const double d = direction[k] / length;
        inverse[static_cast<std::size_t>(k)] =
            static_cast<float>(1.0 / (std::abs(d) > 1e-25 ? d : 1e-25));
    }
    const Float4 begin = all4(to_float(t_min * length / kBvhSlack));
    float reach = to_float(t_max * length * kBvhSlack);
    const auto entry = [&](const BvhQuery::Node& node) {
        Float4 enter = begin;
        Float4 leave = all4(reach);
        for (int k = 0; k < 3; ++k) {
            const float inv = inverse[static_cast<std::size_t>(k)];
            const bool up = inv > 0.0F;
            const Float4 near = load4(up ? node.low[k] : node.high[k]);
            const Float4 far = load4(up ? node.high[k] : node.low[k]);
            enter = max4((near - all4(up ? box.high[k] : box.low[k])) * all4(inv), enter);
            leave = min4((far - all4(up ? box.low[k] : box.high[k])) * all4(inv), leave);
        }
        const Mask4 missed = enter > leave * all4(static_cast<float>(kBvhSlack));
        return missed ? all4(std::numeric_limits<float>::infinity()) : enter;
    };
    query.walk(
        entry,
        [&](std::size_t pack, std::int32_t count) {
            reach = to_float(leaf(pack, count) * length * kBvhSlack);
        },
        reach);
}

}  // namespace

RayHit TriangleBvh::first_hit(const Vec3& origin, const Vec3& direction,
                              const RayLimits& limits) const {
    RayHit best;
    if (nodes_.empty()) {
        return best;
    }
    best.t = limits.t_max;
    const BvhQuery query(*this);
    const Vec3 local = query.local(origin);
    const ShearedRay ray(origin, direction);
    const RaySieve sieve(ray, local, query.blur_mm(local));
    const auto leaf = [&](std::size_t number, std::int32_t count) {
        const unsigned used = (1U << static_cast<unsigned>(count)) - 1U;
        for (unsigned left = used & sieve.may_hit(packs_[number]); left != 0; left &= left - 1) {
            const int i = std::countr_zero(left);
            const std::size_t slot = 4 * number + static_cast<std::size_t>(i);
            const std::int32_t id = packs_[number].id[i];
            const Triangle& v = triangles_[slot];
            if (id == limits.skip_triangle ||
                (limits.skip_vertex >= 0 &&
                 (v[0] == limits.skip_vertex || v[1] == limits.skip_vertex ||
                  v[2] == limits.skip_vertex))) {
                continue;
            }
            const Corners c = corners(slot);
            const RayHit hit = ray.hit(c.a, c.b, c.c);
            if (hit.sign != 0 && hit.t >= limits.t_min &&
                (hit.t < best.t ||
                 (hit.t == best.t && (best.triangle < 0 || id < best.triangle)))) {
                best = {id, hit.t, hit.sign};
            }
        }
        return best.t;
    };
    walk_ray(query, local, direction, limits.t_min, best.t, leaf);
    return best.triangle >= 0 ? best : RayHit{};
}

void TriangleBvh::along(const Vec3& origin, const Vec3& direction,
                        const std::function<double(std::int32_t triangle)>& visit) const {
    if (nodes_.empty()) {
        return;
    }
    const auto leaf = [&](std::size_t number, std::int32_t count) {
        double t_max = 0.0;
        for (int i = 0; i < count; ++i) {
            t_max = visit(packs_[number].id[i]);
        }
        return t_max;
    };
    walk_ray(BvhQuery(*this), origin - origin_, direction, 0.0,
             std::numeric_limits<double>::infinity(), leaf);
}

int TriangleBvh::winding(const Vec3& p) const {
    if (nodes_.empty()) {
        return 0;
    }
    const Vec2 flat(p.x(), p.y());
    const auto crossing = [&](const Corners& t) {
        const int covered = triangle_winding(t.a.head<2>(), t.b.head<2>(), t.c.head<2>(), flat);
        if (covered == 0) {
            return 0;
        }
        // Positive when p is behind the face. A face that looks up is above the points behind it.
        const Vec3 a = t.a - p;
        const Vec3 b = t.b - p;
        const Vec3 c = t.c - p;
        return a.dot(b.cross(c)) * covered > 0.0 ? covered : 0;
    };
    const detail::FloatBox box(p - origin_);
    // NOLINTNEXTLINE(*-member-init): filled as far as it is read
    std::array<std::int32_t, detail::kBvhStack> stack;
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
                total += crossing(corners(4 * static_cast<std::size_t>(node.first[i]) +
                                          static_cast<std::size_t>(k)));
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
