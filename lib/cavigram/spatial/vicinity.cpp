// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/vicinity.h"

#include <bit>
#include <limits>
#include <span>

#include "cavigram/spatial/triangle_bvh_query_detail.h"

namespace cavigram {

namespace {

using Row = Vicinity::Row;

// Copies a branch from one row to another.
template <class From>
void copy_lane(const From& from, std::size_t i, Row& to, std::size_t k) {
    for (std::size_t axis = 0; axis < 3; ++axis) {
        to.low[axis][k] = from.low[axis][i];
        to.high[axis][k] = from.high[axis][i];
        to.normal[axis][k] = from.normal[axis][i];
    }
    to.least[k] = from.least[i];
    to.most[k] = from.most[i];
    to.first[k] = from.first[i];
    to.count[k] = from.count[i];
}

// A branch that is never near.
void clear_lane(Row& row, std::size_t k) {
    for (std::size_t axis = 0; axis < 3; ++axis) {
        row.low[axis][k] = std::numeric_limits<float>::max();
        row.high[axis][k] = -std::numeric_limits<float>::max();
        row.normal[axis][k] = 0.0F;
    }
    row.least[k] = row.most[k] = 0.0F;
    row.first[k] = -1;
    row.count[k] = 0;
}

// Where a branch is kept: in a row of the vicinity that was, or in a node.
struct Branch {
    const Row* row = nullptr;
    const BvhQuery::Node* node = nullptr;
    std::size_t lane = 0;

    [[nodiscard]] bool is_pack() const { return (row ? row->count[lane] : node->count[lane]) > 0; }
    [[nodiscard]] std::int32_t first() const { return row ? row->first[lane] : node->first[lane]; }
};

// Opens branches, as long as there is room for what they hold that is near.
template <std::size_t Most>
class Opener {
  public:
    Opener(const BvhQuery& query, const detail::BvhPoint& center, float reach)
        : query_(query), center_(center), reach_(reach) {}

    template <class From>
    [[nodiscard]] unsigned near(const From& from) const {
        return detail::no_more4(BvhQuery::child_distance2(from, center_), detail::all4(reach_));
    }
    void add(const Branch& branch) { branches_[size_++] = branch; }
    void add(const BvhQuery::Node& node, unsigned lanes) {
        for (; lanes != 0; lanes &= lanes - 1) {
            add({nullptr, &node, static_cast<std::size_t>(std::countr_zero(lanes))});
        }
    }

    void open() {
        for (std::size_t i = 0; i < size_;) {
            if (branches_[i].is_pack()) {
                ++i;
                continue;
            }
            const BvhQuery::Node& node = query_.node(branches_[i].first());
            const unsigned lanes = near(node);
            if (size_ - 1 + static_cast<std::size_t>(std::popcount(lanes)) > Most) {
                ++i;
                continue;
            }
            branches_[i] = branches_[--size_];
            add(node, lanes);
        }
    }
    [[nodiscard]] std::span<const Branch> branches() const { return {branches_.data(), size_}; }

  private:
    const BvhQuery& query_;
    const detail::BvhPoint& center_;
    float reach_;
    std::array<Branch, Most> branches_;
    std::size_t size_ = 0;
};

}  // namespace

// NOLINTNEXTLINE(*-member-init): of `row_`, what is in use is filled
Vicinity::Vicinity(const TriangleBvh& surface) : surface_(&surface) {
    const BvhQuery query(surface);
    if (!query.empty()) {
        rows_ = 1;
        for (std::size_t k = 0; k < 4; ++k) {
            copy_lane(query.node(0), k, row_[0], k);
        }
    }
}

Vicinity Vicinity::within(const Vec3& center, double nearest_mm, double radius_mm) const {
    const BvhQuery query(*surface_);
    const Vec3 local = query.local(center);
    const double blur = query.blur_mm(local);
    const detail::BvhPoint point(local, blur);
    const double limit = nearest_mm + 2.0 * radius_mm + blur;
    Opener<4 * kRows> opener(query, point, detail::to_float(limit * limit * detail::kBvhSlack));
    for (std::size_t r = 0; r < rows_; ++r) {
        for (unsigned lanes = opener.near(row_[r]); lanes != 0; lanes &= lanes - 1) {
            opener.add({&row_[r], nullptr, static_cast<std::size_t>(std::countr_zero(lanes))});
        }
    }
    opener.open();
    Vicinity found(*surface_, (opener.branches().size() + 3) / 4);
    for (std::size_t k = 0; k < 4 * found.rows_; ++k) {
        Row& row = found.row_[k / 4];
        if (k >= opener.branches().size()) {
            clear_lane(row, k % 4);
            continue;
        }
        const Branch& branch = opener.branches()[k];
        if (branch.row != nullptr) {
            copy_lane(*branch.row, branch.lane, row, k % 4);
        } else {
            copy_lane(*branch.node, branch.lane, row, k % 4);
        }
    }
    return found;
}

NearestPoint Vicinity::nearest(const Vec3& p, std::int32_t hint) const {
    return BvhQuery(*surface_).search(std::span<const Row>(row_.data(), rows_), p,
                                      std::numeric_limits<double>::infinity(), 1.0, hint);
}

}  // namespace cavigram
