// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/small_tunnels.h"

#include <algorithm>
#include <functional>
#include <limits>
#include <numbers>
#include <numeric>
#include <optional>
#include <queue>
#include <unordered_map>
#include <utility>

#include "cavigram/core/parallel.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/union_find.h"

namespace cavigram {

namespace {

constexpr double kFar = std::numeric_limits<double>::infinity();
// A ray starts so far before its face, as a share of the diagonal.
constexpr double kHair = 1e-5;

std::size_t at(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

// Halfedges of a loop in order, each from one corner to the next.
struct Loop {
    std::vector<std::int32_t> halfedges;
    double length_mm = 0.0;
};

// The surface, with what is known of its edges.
class Bridger {
  public:
    Bridger(TriMesh mesh, const TriangleBvh& index, double width_mm, const RunContext& context)
        : given_(mesh.triangles.size()),
          index_(index),
          longest_mm_(std::numbers::pi * width_mm),
          context_(context) {
        result_.mesh_mm = std::move(mesh);
    }

    BridgedSurface run() {
        take_surface();
        const std::vector<bool> near = has_holes() ? near_faces() : std::vector<bool>();
        while (has_holes() && close_one(near)) {
        }
        return std::move(result_);
    }

  private:
    [[nodiscard]] const TriMesh& mesh() const { return result_.mesh_mm; }
    [[nodiscard]] std::int32_t start(std::int32_t h) const {
        return mesh().triangles[at(h / 3)][at(h % 3)];
    }
    [[nodiscard]] std::int32_t end(std::int32_t h) const { return start(next_halfedge(h)); }
    [[nodiscard]] double length_mm(std::int32_t h) const {
        return (mesh().vertices[at(end(h))] - mesh().vertices[at(start(h))]).norm();
    }

    void take_surface() {
        adjacent_ = adjacency(mesh());
        const Shells found = shells(mesh(), adjacent_);
        shells_ = found.count;
        leaving_.assign(mesh().vertices.size(), -1);
        for (std::size_t h = 0; h < adjacent_.twin.size(); ++h) {
            leaving_[at(start(static_cast<std::int32_t>(h)))] = static_cast<std::int32_t>(h);
        }
        const auto used =
            std::count_if(leaving_.begin(), leaving_.end(), [](std::int32_t h) { return h >= 0; });
        // Euler: V - E + F = 2 (shells - holes), with 2 E = 3 F.
        holes_ = shells_ - (used - static_cast<std::ptrdiff_t>(mesh().triangles.size() / 2)) / 2;
    }
    [[nodiscard]] bool has_holes() const { return holes_ > 0; }

    // Faces that have part before them, no farther than a loop's two sides can lie apart.
    [[nodiscard]] std::vector<bool> near_faces() const {
        const double hair = kHair * index_.bounds_mm().diagonal().norm();
        std::vector<std::uint8_t> near(given_);
        for_blocks(given_, 1024, context_, [&](const Block& block) {
            for (std::size_t t = block.begin; t < block.end; ++t) {
                const Vec3& a = mesh().corner(t, 0);
                const Vec3& b = mesh().corner(t, 1);
                const Vec3& c = mesh().corner(t, 2);
                const Vec3 out = double_area_vector(a, b, c).stableNormalized();
                RayLimits limits;
                limits.t_max = 0.5 * longest_mm_;
                limits.skip_triangle = static_cast<std::int32_t>(t);
                near[t] =
                    index_.first_hit((a + b + c) / 3.0 + hair * out, out, limits).triangle >= 0;
            }
        });
        return {near.begin(), near.end()};
    }

    // Closes the narrowest tunnel that is left; false: there is none.
    bool close_one(const std::vector<bool>& near) {
        std::vector<Loop> loops;
        std::vector<bool> looked(mesh().vertices.size());
        for (std::size_t t = 0; t < given_; ++t) {
            for (std::size_t i = 0; i < 3 && near[t]; ++i) {
                const std::int32_t v = mesh().triangles[t][i];
                if (!looked[at(v)]) {
                    context_.check_stop();
                    look_around(v, looked, loops);
                }
            }
        }
        std::stable_sort(loops.begin(), loops.end(),
                         [](const Loop& a, const Loop& b) { return a.length_mm < b.length_mm; });
        return std::any_of(loops.begin(), loops.end(), [this](const Loop& loop) {
            return around_nothing(loop) && close(loop);
        });
    }

    // The ways from a corner, no longer than a loop.
    struct Ways {
        std::unordered_map<std::int32_t, double> far_mm;
        std::unordered_map<std::int32_t, std::int32_t> by;  // the halfedge by which one comes
        std::vector<std::int32_t> order;                    // corners, the nearest first
    };
    [[nodiscard]] Ways ways_from(std::int32_t from) const {
        Ways ways;
        using Reached = std::pair<double, std::int32_t>;  // ties by index
        std::priority_queue<Reached, std::vector<Reached>, std::greater<>> front;
        ways.far_mm[from] = 0.0;
        front.emplace(0.0, from);
        while (!front.empty()) {
            const auto [here, v] = front.top();
            front.pop();
            if (here > ways.far_mm[v]) {
                continue;
            }
            ways.order.push_back(v);
            std::int32_t h = leaving_[at(v)];
            do {
                const double there = here + length_mm(h);
                const auto [known, added] = ways.far_mm.try_emplace(end(h), kFar);
                if (there <= longest_mm_ && there < known->second) {
                    known->second = there;
                    ways.by[end(h)] = h;
                    front.emplace(there, end(h));
                }
                h = adjacent_.twin[at(previous_halfedge(h))];
            } while (h != leaving_[at(v)]);
        }
        return ways;
    }

    // The loops that the neighborhood of a corner has: those of the edges in neither of two trees.
    void look_around(std::int32_t from, std::vector<bool>& looked, std::vector<Loop>& loops) const {
        const Ways ways = ways_from(from);
        std::vector<std::int32_t> edges;  // of the neighborhood, in no tree of corners
        std::unordered_map<std::int32_t, std::int32_t> number;  // of faces; 0: around
        const auto within = [&](std::int32_t v) {
            const auto found = ways.far_mm.find(v);
            return found != ways.far_mm.end() && found->second < kFar;
        };
        const auto number_of = [&](std::int32_t h) {
            const Triangle& t = mesh().triangles[at(h / 3)];
            if (!within(t[0]) || !within(t[1]) || !within(t[2])) {
                return std::int32_t{0};
            }
            return number.try_emplace(h / 3, static_cast<std::int32_t>(number.size()) + 1)
                .first->second;
        };
        for (const std::int32_t v : ways.order) {
            // A loop that touches what lies so near is seen from here.
            if (ways.far_mm.at(v) <= 0.5 * longest_mm_) {
                looked[at(v)] = true;
            }
            std::int32_t h = leaving_[at(v)];
            do {
                const std::int32_t twin = adjacent_.twin[at(h)];
                const auto comes = [&](std::int32_t to, std::int32_t by) {
                    const auto found = ways.by.find(to);
                    return found != ways.by.end() && found->second == by;
                };
                if (h < twin && within(end(h)) && !comes(end(h), h) && !comes(v, twin)) {
                    edges.push_back(h);
                }
                h = adjacent_.twin[at(previous_halfedge(h))];
            } while (h != leaving_[at(v)]);
        }
        // Longest first into the tree of faces, so that the shortest loops are left.
        std::vector<std::pair<double, std::int32_t>> sorted;
        sorted.reserve(edges.size());
        for (const std::int32_t h : edges) {
            sorted.emplace_back(-(ways.far_mm.at(start(h)) + length_mm(h) + ways.far_mm.at(end(h))),
                                h);
        }
        std::sort(sorted.begin(), sorted.end());
        UnionFind joined(3 * ways.order.size() + number.size() + 8);
        for (const auto& [cost, h] : sorted) {
            const std::int32_t a = number_of(h);
            const std::int32_t b = number_of(adjacent_.twin[at(h)]);
            while (joined.size() <= number.size() + 1) {
                joined.add();
            }
            if (joined.join(a, b)) {
                continue;
            }
            if (std::optional<Loop> loop = loop_of(h, ways)) {
                loops.push_back(std::move(*loop));
            }
        }
    }

    // The edge and the ways to its ends, as far as they are two.
    [[nodiscard]] std::optional<Loop> loop_of(std::int32_t h, const Ways& ways) const {
        const auto way_to = [&](std::int32_t v) {
            std::vector<std::int32_t> way;
            for (auto by = ways.by.find(v); by != ways.by.end();
                 by = ways.by.find(start(by->second))) {
                way.push_back(by->second);
            }
            std::reverse(way.begin(), way.end());
            return way;
        };
        const std::vector<std::int32_t> there = way_to(start(h));
        const std::vector<std::int32_t> back = way_to(end(h));
        const auto apart = std::mismatch(there.begin(), there.end(), back.begin(), back.end());
        Loop loop;
        loop.halfedges.assign(apart.first, there.end());
        loop.halfedges.push_back(h);
        for (auto by = back.end(); by != apart.second; --by) {
            loop.halfedges.push_back(adjacent_.twin[at(*(by - 1))]);
        }
        for (const std::int32_t one : loop.halfedges) {
            loop.length_mm += length_mm(one);
        }
        return loop.length_mm <= longest_mm_ && loop.halfedges.size() >= 3 ? std::optional(loop)
                                                                           : std::nullopt;
    }

    [[nodiscard]] Vec3 middle_of(const Loop& loop) const {
        Vec3 middle = Vec3::Zero();
        for (const std::int32_t h : loop.halfedges) {
            middle += mesh().vertices[at(start(h))] / static_cast<double>(loop.halfedges.size());
        }
        return middle;
    }

    // Across a tunnel is nothing of the part; across a thread of it, part.
    [[nodiscard]] bool around_nothing(const Loop& loop) const {
        const Vec3 middle = middle_of(loop);
        if (index_.inside(middle)) {
            return false;
        }
        return std::none_of(loop.halfedges.begin(), loop.halfedges.end(), [&](std::int32_t h) {
            return index_.inside(0.5 * (middle + mesh().vertices[at(start(h))]));
        });
    }

    // Cuts along the loop and closes both rims; undone where that makes two surfaces of one.
    bool close(const Loop& loop) {
        const TriMesh before = mesh();
        const std::int32_t shells_before = shells_;
        const Vec3 middle = middle_of(loop);
        const std::size_t n = loop.halfedges.size();
        std::vector<std::int32_t> corners;
        for (const std::int32_t h : loop.halfedges) {
            corners.push_back(start(h));
        }
        TriMesh& mesh = result_.mesh_mm;
        const auto first = static_cast<std::int32_t>(mesh.vertices.size());
        for (const std::int32_t v : corners) {
            mesh.vertices.push_back(Vec3(mesh.vertices[at(v)]));
        }
        mesh.vertices.push_back(middle);
        mesh.vertices.push_back(middle);
        // Around each corner from the halfedge that comes in, on its right, to the one that goes.
        std::vector<std::pair<std::int32_t, std::int32_t>> moved;  // halfedge, new start
        std::vector<std::int32_t> grown_on;
        for (std::size_t i = 0; i < n; ++i) {
            const std::int32_t in = loop.halfedges[(i + n - 1) % n];
            for (std::int32_t h = adjacent_.twin[at(in)]; h != loop.halfedges[i];
                 h = adjacent_.twin[at(previous_halfedge(h))]) {
                moved.emplace_back(h, first + static_cast<std::int32_t>(i));
            }
        }
        for (const auto& [h, v] : moved) {
            mesh.triangles[at(h / 3)][at(h % 3)] = v;
        }
        const auto left_middle = first + static_cast<std::int32_t>(n);
        for (std::size_t i = 0; i < n; ++i) {
            const std::size_t next = (i + 1) % n;
            const std::int32_t right = first + static_cast<std::int32_t>(i);
            const std::int32_t right_next = first + static_cast<std::int32_t>(next);
            mesh.triangles.push_back({corners[next], corners[i], left_middle});
            grown_on.push_back(loop.halfedges[i] / 3);
            mesh.triangles.push_back({right, right_next, left_middle + 1});
            grown_on.push_back(adjacent_.twin[at(loop.halfedges[i])] / 3);
        }
        take_surface();
        if (shells_ != shells_before || !adjacent_.closed()) {
            result_.mesh_mm = before;
            take_surface();
            return false;
        }
        for (const std::int32_t t : grown_on) {
            // Walls may grow on walls.
            result_.grown_on.push_back(at(t) < given_ ? t : result_.grown_on[at(t) - given_]);
        }
        result_.tunnels.push_back({middle, loop.length_mm / std::numbers::pi});
        return true;
    }

    std::size_t given_;
    const TriangleBvh& index_;
    double longest_mm_;
    const RunContext& context_;
    BridgedSurface result_;
    Adjacency adjacent_;
    std::vector<std::int32_t> leaving_;  // a halfedge from each corner
    std::int32_t shells_ = 0;
    std::ptrdiff_t holes_ = 0;
};

}  // namespace

BridgedSurface bridge_small_tunnels(TriMesh mesh_mm, const TriangleBvh& index, double width_mm,
                                    const RunContext& context) {
    return Bridger(std::move(mesh_mm), index, width_mm, context).run();
}

}  // namespace cavigram
