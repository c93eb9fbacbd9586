// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <span>
#include <utility>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/mesh/union_find.h"
#include "cavigram/venting/air_tree.h"

namespace cavigram::detail {

// Element `i` of a row whose indices are kept as 32-bit integers.
template <class Row, class Index>
auto& at(Row& row, Index i) {
    return row[static_cast<std::size_t>(i)];
}

// Written out, so that a height is the very same number wherever it is computed.
inline double dot(const Vec3& axis, const Vec3& p) {
    return axis.x() * p.x() + axis.y() * p.y() + axis.z() * p.z();
}

// A triangle's heights from the top down, and its top vertex.
struct Sorted {
    // Without branches, which no processor could foresee.
    Sorted(const Triangle& t, const std::vector<double>& height) {
        const double p = at(height, t[0]);
        const double q = at(height, t[1]);
        const double r = at(height, t[2]);
        const double upper = std::max(p, q);
        const double lower = std::min(p, q);
        const auto second = static_cast<std::size_t>(q > p);
        const auto third = static_cast<std::size_t>(r > upper);
        top = t[second + third * (2 - second)];
        a = std::max(upper, r);
        b = std::max(lower, std::min(upper, r));
        c = std::min(lower, r);
    }

    // Mean over the triangle of the height above `s`, counting what lies below `s` as 0.
    //
    // Multiplied by the signed area seen from above and summed over a closed surface, this is the
    // volume above `s`: the divergence theorem for the field (h - s) u, to which the lid at height
    // s adds nothing. With the corner `a` alone above, the part above is a triangle of area share
    // (a-s)^2/((a-b)(a-c)) and mean height (a-s)/3; with only `c` below, it is the whole less a
    // triangle at c.
    [[nodiscard]] double mean_above(double s) const {
        if (s >= a) {
            return 0.0;
        }
        if (s <= c) {
            return (a + b + c) / 3.0 - s;
        }
        if (s >= b) {
            const double d = a - s;
            return d / 3.0 * (d / (a - b)) * (d / (a - c));
        }
        const double d = s - c;
        return (a + b + c) / 3.0 - s + d / 3.0 * (d / (a - c)) * (d / (b - c));
    }

    double a = 0.0, b = 0.0, c = 0.0;
    std::int32_t top = -1;
};

// The arcs of a join tree while nodes are added from the top down.
class ArcForest {
  public:
    // Of the node at hand: a neighbor that was added before, by its arc.
    void meet(std::int32_t arc) {
        const std::int32_t open = open_of(arc);
        if (std::find(met_.begin(), met_.end(), open) == met_.end()) {
            met_.push_back(open);
        }
    }
    [[nodiscard]] bool met_none() const { return met_.empty(); }

    // Adds a node that met one arc only, and returns the one that is open of it.
    std::int32_t go_on(std::int32_t node, std::int32_t arc) {
        const std::int32_t open = open_of(arc);
        at(arcs_, open).saddle_vertex = node;  // the lowest so far
        return open;
    }

    // Adds the node and returns its arc: the one it met, or a new one, which begins at a peak when
    // it met none and at a saddle when it met several. `higher` orders nodes.
    template <class Higher>
    std::int32_t add(std::int32_t node, const Higher& higher) {
        std::int32_t arc = met_.empty() ? -1 : met_.front();
        if (met_.size() != 1) {
            arc = static_cast<std::int32_t>(arcs_.size());
            AirTree::Arc opened;
            opened.peak_vertex = node;
            opened.top_height_mm = std::numeric_limits<double>::infinity();
            for (const std::int32_t m : met_) {
                AirTree::Arc& child = at(arcs_, m);
                child.parent = arc;
                child.saddle_vertex = node;
                if (higher(child.peak_vertex, opened.peak_vertex)) {
                    opened.peak_vertex = child.peak_vertex;
                }
            }
            open_.add();
            for (const std::int32_t m : met_) {
                open_.join_under(arc, m);
            }
            arcs_.push_back(opened);
        }
        at(arcs_, arc).saddle_vertex = node;  // the lowest so far
        met_.clear();
        return arc;
    }

    // The arcs with their heights, once all nodes are added.
    template <class Height>
    [[nodiscard]] std::vector<AirTree::Arc> finished(const Height& height) {
        for (AirTree::Arc& arc : arcs_) {
            arc.peak_height_mm = height(arc.peak_vertex);
            arc.saddle_height_mm = height(arc.saddle_vertex);
            // An arc that began at a saddle has its top from its children, which come first.
            arc.top_height_mm = std::min(arc.top_height_mm, arc.peak_height_mm);
            if (arc.parent >= 0) {
                at(arcs_, arc.parent).top_height_mm = arc.saddle_height_mm;
            }
        }
        return std::move(arcs_);
    }

  private:
    std::int32_t open_of(std::int32_t arc) {
        return at(arcs_, arc).parent < 0 ? arc : open_.find(arc);
    }

    std::vector<AirTree::Arc> arcs_;
    UnionFind open_;                 // each arc under the one that is open below it
    std::vector<std::int32_t> met_;  // open arcs around the node at hand
};

// The arcs without a parent, in order.
std::vector<std::int32_t> roots_of(std::span<const AirTree::Arc> arcs);

// Volume above an arc's saddle while it is being summed: `area` and `moment` (area times mean
// height) of what lies wholly above, `volume` of what reaches through.
struct ArcSums {
    double area = 0.0;
    double moment = 0.0;
    double volume = 0.0;
};

// Fills in volumes, own and with children, from the sums; returns that of all roots. `saddle` gives
// each arc's saddle in the heights that the moments were taken in.
template <class Saddle>
double finish_volumes(std::vector<AirTree::Arc>& arcs, std::vector<ArcSums>& sums,
                      const Saddle& saddle) {
    double total = 0.0;
    for (std::size_t i = 0; i < arcs.size(); ++i) {
        AirTree::Arc& arc = arcs[i];
        arc.volume_mm3 = sums[i].moment - saddle(arc) * sums[i].area + sums[i].volume;
        arc.own_mm3 = arc.volume_mm3 - arc.own_mm3;  // which held the children's sum until here
        if (arc.parent >= 0) {
            at(arcs, arc.parent).own_mm3 += arc.volume_mm3;
            at(sums, arc.parent).area += sums[i].area;
            at(sums, arc.parent).moment += sums[i].moment;
        } else {
            total += arc.volume_mm3;
        }
    }
    return total;
}

}  // namespace cavigram::detail
