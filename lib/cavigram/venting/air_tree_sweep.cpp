// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/spatial/orient.h"
#include "cavigram/spatial/predicates.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/air_tree_detail.h"

// Why the surface is enough. Let S be the solid, M its boundary, h the height. The pieces of S
// above a level t and the pieces of the graph G above t correspond one to one, where G has the
// edges of M and, for every local maximum v of h on M with solid just above it (the roof of a
// hole), an edge from v to the top of the first triangle straight above. (1) Each edge of G stays,
// above its lower end, inside S: the two ends are always in one piece. (2) Take a piece A of M
// above t. If solid lies above A's highest point, its link leads to a strictly higher piece of M
// that bounds the same piece of S; this ends at a piece whose highest point has no solid above. (3)
// Such a piece of M, with the level plane, splits the space above t in two (Jordan-Alexander), and
// the piece of S that it bounds lies on the bounded side. Two of them with one piece of S would
// each bound the other, so be equally high: they are one. So every piece of S has exactly one. In
// one word: outer walls are connected by the surface itself, hollows by one ray each.

namespace cavigram {

using detail::at;
using detail::dot;
using detail::Sorted;

class AirTreeSweep {
  public:
    AirTreeSweep(const AirTreeBuilder& solid, const Vec3& up, AirTreeWorkspace& workspace)
        : solid_(solid), frame_(frame_along(up)), work_(workspace) {}

    AirTree run() {
        tree_.up = frame_.z;
        measure_heights();
        sort_vertices();
        tree_.arc_of_vertex.assign(work_.height_.size(), -1);
        sweep();
        // Added to the heights that were sorted by, so that rounding keeps their order.
        const double offset = dot(tree_.up, solid_.center_mm_);
        tree_.arcs =
            forest_.finished([&](std::int32_t v) { return at(work_.height_, v) + offset; });
        tree_.roots = detail::roots_of(tree_.arcs);
        add_volumes();
        return std::move(tree_);
    }

  private:
    // The vertex as seen along the direction. These doubles are the exact input of all predicates.
    [[nodiscard]] Vec3 local(std::int32_t v) const {
        const Vec3 p = at(solid_.mesh_->vertices, v) - solid_.center_mm_;
        return {dot(frame_.x, p), dot(frame_.y, p), at(work_.height_, v)};
    }

    // Strict order from the top down, as if the direction were turned an infinitesimal toward local
    // x and a smaller one toward y: the surface itself is not touched, so it cannot come to cross
    // itself. The index only tells apart vertices in one place.
    [[nodiscard]] bool higher(std::int32_t v, std::int32_t w) const {
        if (at(work_.height_, v) != at(work_.height_, w)) {
            return at(work_.height_, v) > at(work_.height_, w);
        }
        const Vec3 p = local(v);
        const Vec3 q = local(w);
        if (p.x() != q.x()) {
            return p.x() > q.x();
        }
        return p.y() != q.y() ? p.y() > q.y() : v > w;
    }

    void measure_heights() {
        const std::vector<Vec3>& vertices = solid_.mesh_->vertices;
        work_.height_.resize(vertices.size());
        for (std::size_t v = 0; v < vertices.size(); ++v) {
            work_.height_[v] = dot(frame_.z, vertices[v] - solid_.center_mm_);
        }
    }

    // Radix sort on the height in 2^32 steps, 2^22 for few vertices, then the exact order within
    // each step.
    void sort_vertices() {
        const std::vector<double>& height = work_.height_;
        double low = std::numeric_limits<double>::infinity();
        double high = -low;
        work_.order_.clear();
        for (std::size_t v = 0; v < height.size(); ++v) {
            if (solid_.row_[v] != solid_.row_[v + 1]) {
                low = std::min(low, height[v]);
                high = std::max(high, height[v]);
                work_.order_.push_back({0, static_cast<std::int32_t>(v)});
            }
        }
        constexpr std::size_t kFew = 32768;
        const bool few = work_.order_.size() <= kFew;
        const double most = few ? 4194303.0 : 4294967040.0;
        const double steps = high > low ? most / (high - low) : 0.0;
        const unsigned digits = few ? 2 : 3;
        constexpr unsigned kBits = 11;
        constexpr std::uint32_t kMask = (1U << kBits) - 1U;
        std::array<std::array<std::uint32_t, kMask + 1U>, 3> place{};
        for (AirTreeWorkspace::Entry& entry : work_.order_) {
            entry.key = static_cast<std::uint32_t>((high - at(height, entry.vertex)) * steps);
            for (unsigned d = 0; d < digits; ++d) {
                ++place[d][(entry.key >> (kBits * d)) & kMask];
            }
        }
        work_.spare_.resize(work_.order_.size());
        for (unsigned d = 0; d < digits; ++d) {
            std::uint32_t next = 0;
            for (std::uint32_t& p : place[d]) {
                next += std::exchange(p, next);
            }
            for (const AirTreeWorkspace::Entry& entry : work_.order_) {
                work_.spare_[place[d][(entry.key >> (kBits * d)) & kMask]++] = entry;
            }
            std::swap(work_.order_, work_.spare_);
        }
        for (auto begin = work_.order_.begin(); begin != work_.order_.end();) {
            auto end = begin + 1;
            while (end != work_.order_.end() && end->key == begin->key) {
                ++end;
            }
            if (end - begin > 1) {
                std::sort(begin, end, [this](const auto& v, const auto& w) {
                    return higher(v.vertex, w.vertex);
                });
            }
            begin = end;
        }
    }

    // Vertices come by height and lie anywhere in memory, so on a large mesh nearly all of the
    // time would go by waiting for it. What the next ones will read is sent for ahead: where a
    // vertex's ring begins, then the ring, then what its neighbors belong to. A small mesh is near
    // at hand as it is.
    void sweep() {
        constexpr std::size_t kSmall = 32768;
        constexpr std::size_t kNeighbors = 6;
        constexpr std::size_t kRing = 12;
        constexpr std::size_t kRow = 20;
        const std::vector<AirTreeWorkspace::Entry>& order = work_.order_;
        const std::size_t ahead = order.size() > kSmall ? order.size() - kRow : 0;
        for (std::size_t i = 0; i < order.size(); ++i) {
            if (i < ahead) {
                __builtin_prefetch(&at(solid_.row_, order[i + kRow].vertex));
                __builtin_prefetch(&solid_.ring_[static_cast<std::size_t>(
                    at(solid_.row_, order[i + kRing].vertex))]);
                for (const std::int32_t w : solid_.around(order[i + kNeighbors].vertex)) {
                    __builtin_prefetch(&at(tree_.arc_of_vertex, w));
                }
            }
            add_vertex(order[i].vertex);
        }
    }

    void meet(std::int32_t neighbor) {
        const std::int32_t arc = at(tree_.arc_of_vertex, neighbor);
        if (arc >= 0) {  // otherwise lower down
            forest_.meet(arc);
        }
    }

    // The arc of all neighbors that were added before, if it is one only. Most vertices go on with
    // it: no branch depends on which of their neighbors lie above. -1: none, or several.
    [[nodiscard]] std::int32_t single_arc(std::int32_t v) const {
        std::int32_t most = -1;
        auto least = static_cast<std::uint32_t>(-1);  // as which -1, lower down, is the largest
        for (const std::int32_t w : solid_.around(v)) {
            const std::int32_t arc = at(tree_.arc_of_vertex, w);
            most = std::max(most, arc);
            least = std::min(least, static_cast<std::uint32_t>(arc));
        }
        return static_cast<std::uint32_t>(most) == least ? most : -1;
    }

    void add_vertex(std::int32_t v) {
        if (solid_.extra_row_.empty()) {
            const std::int32_t arc = single_arc(v);
            if (arc >= 0) {
                at(tree_.arc_of_vertex, v) = forest_.go_on(v, arc);
                return;
            }
        }
        for (const std::int32_t w : solid_.around(v)) {
            meet(w);
        }
        if (forest_.met_none() && under_solid(v)) {
            ++tree_.rays;
            const std::int32_t above = first_above(v);
            if (above >= 0) {
                meet(above);
            }
            tree_.lost_rays += forest_.met_none() ? 1 : 0;
        }
        if (!solid_.extra_row_.empty()) {
            for (std::int32_t i = at(solid_.extra_row_, v); i < at(solid_.extra_row_, v + 1); ++i) {
                meet(at(solid_.extra_, i));
            }
        }
        at(tree_.arc_of_vertex, v) =
            forest_.add(v, [this](std::int32_t p, std::int32_t q) { return higher(p, q); });
    }

    // Whether solid lies just above `v`, all of whose neighbors are lower: the roof of a hole.
    //
    // Seen from v, its neighbors are at p = (w - v)_xy / (h_v - h_w) in a level plane below. They
    // go round counter-clockwise when v is a peak and clockwise when it is a roof. The sense of a
    // simple polygon is the sense of the turn at an extreme corner: the one with the least x, then
    // y.
    [[nodiscard]] bool under_solid(std::int32_t v) const {
        const std::span<const std::int32_t> ring = solid_.around(v);
        const Vec3 p = local(v);
        std::size_t extreme = 0;
        Vec3 q = local(ring[0]);
        bool alone = q != p;
        for (std::size_t i = 1; i < ring.size(); ++i) {
            const Vec3 r = local(ring[i]);
            if (r == p) {
                return solid_above(v);
            }
            const int sense = before(p, r, q);
            if (sense > 0) {
                extreme = i;
                q = r;
            }
            alone = sense > 0 || (alone && sense < 0);
        }
        const Vec3 previous = local(ring[(extreme + ring.size() - 1) % ring.size()]);
        const Vec3 next = local(ring[(extreme + 1) % ring.size()]);
        // The determinant of three directions that point down has the opposite sign of the turn.
        const int turn = alone ? orient(p, previous, q, next) : 0;
        return turn != 0 ? turn > 0 : solid_above(v);
    }

    // 1 when r comes before q in the level plane, -1 after, 0 in the same place. Multiplied out,
    // the comparison of the two x is a turn in the (x, z) plane, and its infinitesimal part (see
    // higher) one in the (x, y) plane; where both x are 0, the comparison of y is a turn in the (y,
    // z) plane.
    static int before(const Vec3& p, const Vec3& r, const Vec3& q) {
        int sense = orient(Vec2(p.x(), p.z()), Vec2(r.x(), r.z()), Vec2(q.x(), q.z()));
        if (sense == 0) {
            sense = orient(Vec2(p.x(), p.y()), Vec2(r.x(), r.y()), Vec2(q.x(), q.y()));
        }
        if (sense == 0) {
            sense = orient(Vec2(p.y(), p.z()), Vec2(r.y(), r.z()), Vec2(q.y(), q.z()));
        }
        return sense;
    }

    [[nodiscard]] TriangleCorners corners(std::int32_t t) const {
        const Triangle& corner = at(solid_.mesh_->triangles, t);
        return {local(corner[0]), local(corner[1]), local(corner[2])};
    }

    // Whether solid lies just above `v`, from all that is above it. For the degenerate fans that
    // the local test cannot read: needles, folds, neighbors in one place.
    [[nodiscard]] bool solid_above(std::int32_t v) const {
        const Vec3 p = local(v);
        int winding = 0;
        solid_.bvh_->along(at(solid_.mesh_->vertices, v), frame_.z, [&](std::int32_t t) {
            const TriangleCorners c = corners(t);
            winding += sheet_above(c.a, c.b, c.c, p);
            return std::numeric_limits<double>::infinity();
        });
        return winding > 0;
    }

    // The top vertex of the first triangle straight above `v`, or -1.
    //
    // The line up is moved an infinitesimal toward local x and a smaller one toward y
    // (predicates.h). With heights ordered as they are, that side step already leads upward into
    // the solid, so the line from there on is one that the proof above allows, and it never runs
    // along an edge.
    [[nodiscard]] std::int32_t first_above(std::int32_t v) const {
        const Vec3 p = local(v);
        std::int32_t first = -1;
        int first_facing = 0;
        TriangleCorners first_corners;
        double reach = std::numeric_limits<double>::infinity();
        solid_.bvh_->along(at(solid_.mesh_->vertices, v), frame_.z, [&](std::int32_t t) {
            const TriangleCorners c = corners(t);
            const int facing = sheet_above(c.a, c.b, c.c, p);
            if (facing == 0) {
                return reach;
            }
            const int order = first < 0 ? -1 : compare_sheets(c, first_corners, p);
            // Of two sheets in one place the one that ends the solid comes first.
            if (order < 0 ||
                (order == 0 && (facing > first_facing || (facing == first_facing && t < first)))) {
                first = t;
                first_facing = facing;
                first_corners = c;
                const double top = std::max({c.a.z(), c.b.z(), c.c.z()});
                reach = std::max(top - p.z(), 0.0) * (1.0 + 1e-6);
            }
            return reach;
        });
        if (first < 0) {
            return -1;
        }
        const Triangle& hit = at(solid_.mesh_->triangles, first);
        return *std::max_element(hit.begin(), hit.end(),
                                 [this](auto a, auto b) { return higher(b, a); });
    }

    // Every triangle counts toward the piece that its top lies in and, as far as it reaches down
    // through saddles, toward all pieces that this one becomes part of.
    void add_volumes() {
        std::vector<detail::ArcSums> of_arc(tree_.arcs.size());
        const std::vector<double>& height = work_.height_;
        // What the walk down needs of each arc, close together: on a rough scan a triangle reaches
        // through dozens of saddles.
        struct Step {
            double saddle;
            std::int32_t parent;
        };
        std::vector<Step> steps;
        steps.reserve(tree_.arcs.size());
        for (const AirTree::Arc& arc : tree_.arcs) {
            const double saddle = arc.parent < 0 ? -std::numeric_limits<double>::infinity()
                                                 : at(height, arc.saddle_vertex);
            steps.push_back({saddle, arc.parent});
        }
        const TriMesh& mesh = *solid_.mesh_;
        // Triangle after triangle lies in one arc, whose sums stay at hand until another comes.
        std::int32_t last = 0;
        double area_sum = 0.0;
        double moment_sum = 0.0;
        const auto turn_to = [&](std::int32_t arc) {
            at(of_arc, last).area = area_sum;
            at(of_arc, last).moment = moment_sum;
            area_sum = at(of_arc, arc).area;
            moment_sum = at(of_arc, arc).moment;
            last = arc;
        };
        for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
            const Sorted h(mesh.triangles[t], height);
            const double area = 0.5 * dot(tree_.up, solid_.double_area_[t]);
            std::int32_t i = at(tree_.arc_of_vertex, h.top);
            while (at(steps, i).saddle > h.c) {
                at(of_arc, i).volume += area * h.mean_above(at(steps, i).saddle);
                i = at(steps, i).parent;
            }
            if (i != last) {
                turn_to(i);
            }
            area_sum += area;
            moment_sum += area * ((h.a + h.b + h.c) / 3.0);
        }
        turn_to(last);
        tree_.volume_mm3 = detail::finish_volumes(tree_.arcs, of_arc, [&](const AirTree::Arc& arc) {
            return at(height, arc.saddle_vertex);
        });
    }

    const AirTreeBuilder& solid_;
    Frame frame_;
    AirTreeWorkspace& work_;
    AirTree tree_;
    detail::ArcForest forest_;
};

AirTree AirTreeBuilder::build(const Vec3& up, AirTreeWorkspace& workspace) const {
    if (!up.allFinite() || up.isZero(0.0)) {
        throw InvalidInput(
            "The direction that is up has no length or is not a number; give three "
            "numbers that are not all zero.");
    }
    return AirTreeSweep(*this, up, workspace).run();
}

}  // namespace cavigram
