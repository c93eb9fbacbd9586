// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <span>

#include "cavigram/geom/vector.h"
#include "cavigram/spatial/float4_detail.h"
#include "cavigram/spatial/triangle_bvh.h"
#include "cavigram/spatial/vicinity.h"

namespace cavigram {

namespace detail {

// Every level of the tree leaves at most three siblings waiting, and the build stops at 64 + 31
// levels.
inline constexpr std::size_t kBvhStack = 320;

// Single-precision results are off by a few roundings of 2^-24; a box this much too near is looked
// into all the same.
inline constexpr double kBvhSlack = 1.0 + 0x1p-20;

inline float to_float(double x) {
    return static_cast<float>(std::min(x, static_cast<double>(std::numeric_limits<float>::max())));
}

struct Float4x3 {
    Float4 x, y, z;
};

inline Float4x3 load(const float (&v)[3][4]) {
    return {load4(v[0]), load4(v[1]), load4(v[2])};
}
inline Float4 dot(const Float4x3& a, const Float4x3& b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

// A point, in all lanes, as it is compared with boxes.
struct BvhPoint {
    BvhPoint(const Vec3& local, double blur_mm)
        : BvhPoint(local, FloatBox(local), rounded_up(blur_mm)) {}

    Float4x3 low;
    Float4x3 high;
    Float4x3 middle;
    Float4 blur;

  private:
    BvhPoint(const Vec3& p, const FloatBox& box, float blur_up)
        : low{all4(box.low[0]), all4(box.low[1]), all4(box.low[2])},
          high{all4(box.high[0]), all4(box.high[1]), all4(box.high[2])},
          middle{all4(static_cast<float>(p.x())), all4(static_cast<float>(p.y())),
                 all4(static_cast<float>(p.z()))},
          blur(all4(blur_up)) {}
};

}  // namespace detail

// The walks through the tree. A row of four boxes is one of its nodes or one of a vicinity.
class BvhQuery {
  public:
    explicit BvhQuery(const TriangleBvh& bvh) : bvh_(bvh) {}

    using Node = TriangleBvh::Node;
    using Pack = TriangleBvh::Pack;

    [[nodiscard]] bool empty() const { return bvh_.nodes_.empty(); }
    [[nodiscard]] const Node& node(std::int32_t number) const {
        return bvh_.nodes_[static_cast<std::size_t>(number)];
    }
    [[nodiscard]] Vec3 local(const Vec3& p) const { return p - bvh_.origin_; }

    // Rounding of `local`, of the packs' numbers and of the arithmetic on them: some ten times
    // 2^-24 of the longest length in play.
    [[nodiscard]] double blur_mm(const Vec3& local) const {
        return 0x1p-20 * (local.norm() + bvh_.bounds_.diagonal().norm());
    }

    // What is further than `share` times the best so far is not looked at. Begins with `rows`.
    template <class Row>
    [[nodiscard]] NearestPoint search(std::span<const Row> rows, const Vec3& p, double within_mm,
                                      double share, std::int32_t hint) const;

    // Goes through the tree below `rows`, near children first. `entry(row)` says how far each child
    // is; those further than `reach` are left out; `leaf(pack, count)` may lower `reach`.
    template <class Row, class Entry, class Leaf>
    void walk(std::span<const Row> rows, const Entry& entry, const Leaf& leaf,
              const float& reach) const {
        Stack stack;
        for (const Row& row : rows) {
            stack.push(row, entry(row), reach, 0);
        }
        while (stack.size > 0) {
            const Waiting next = stack.waiting[--stack.size];
            if (next.distance > reach) {
                continue;
            }
            if (next.count > 0) {
                leaf(static_cast<std::size_t>(next.first), next.count);
            } else {
                const Node& inner = node(next.first);
                stack.push(inner, entry(inner), reach, stack.size);
            }
        }
    }
    template <class Entry, class Leaf>
    void walk(const Entry& entry, const Leaf& leaf, const float& reach) const {
        walk(std::span<const Node>(bvh_.nodes_.data(), 1), entry, leaf, reach);
    }

    // How far four children are at least: from their boxes, and from the slabs in which their
    // triangles lie.
    template <class Row>
    static detail::Float4 child_distance2(const Row& row, const detail::BvhPoint& p) {
        using detail::load4;
        using detail::max4;
        const detail::Float4 none = detail::all4(0.0F);
        const auto gap = [&](const float(&low)[4], const float(&high)[4], detail::Float4 p_low,
                             detail::Float4 p_high) {
            return max4(max4(load4(low) - p_high, p_low - load4(high)), none);
        };
        const detail::Float4x3 apart{gap(row.low[0], row.high[0], p.low.x, p.high.x),
                                     gap(row.low[1], row.high[1], p.low.y, p.high.y),
                                     gap(row.low[2], row.high[2], p.low.z, p.high.z)};
        const detail::Float4 height = detail::dot(p.middle, detail::load(row.normal));
        const detail::Float4 outside = max4(height - load4(row.most), load4(row.least) - height);
        const detail::Float4 above = max4(outside - p.blur, none);
        return max4(detail::dot(apart, apart), above * above);
    }

  private:
    struct Waiting {
        float distance;
        std::int32_t first;
        std::int32_t count;
    };
    struct Stack {  // NOLINT(*-member-init): `waiting` is filled up to `size`
        std::array<Waiting, detail::kBvhStack> waiting;
        std::size_t size = 0;

        // Insertion above `base`, so that the nearest comes off first.
        template <class Row>
        void push(const Row& row, detail::Float4 distance, float reach, std::size_t base) {
            for (unsigned near = detail::no_more4(distance, detail::all4(reach)); near != 0;
                 near &= near - 1) {
                const int i = std::countr_zero(near);
                std::size_t k = size++;
                for (; k > base && waiting[k - 1].distance < distance[i]; --k) {
                    waiting[k] = waiting[k - 1];
                }
                waiting[k] = {distance[i], row.first[i], row.count[i]};
            }
        }
    };

    const TriangleBvh& bvh_;
};

extern template NearestPoint BvhQuery::search(std::span<const BvhQuery::Node>, const Vec3&, double,
                                              double, std::int32_t) const;
extern template NearestPoint BvhQuery::search(std::span<const Vicinity::Row>, const Vec3&, double,
                                              double, std::int32_t) const;

}  // namespace cavigram
