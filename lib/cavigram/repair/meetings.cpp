// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <map>
#include <set>

#include "cavigram/core/parallel.h"
#include "cavigram/mesh/union_find.h"
#include "cavigram/repair/meetings_detail.h"
#include "cavigram/spatial/orient.h"
#include "cavigram/spatial/predicates.h"

namespace cavigram {

namespace {

constexpr std::size_t kPairBlock = 512;

// Where two triangles meet, in terms of their edges and planes; a point may be listed twice in
// different terms.
struct Meeting {
    bool in_one_plane = false;
    std::vector<PointOrigin> points;
};

Vec2 seen(const Vec3& p, int axis) {
    return {p[(axis + 1) % 3], p[(axis + 2) % 3]};
}

class PairMeeting {
  public:
    explicit PairMeeting(const ExactPoints& exact) : exact_(exact), mesh_(exact.mesh()) {}

    [[nodiscard]] Meeting of(std::int32_t s, std::int32_t t) const {
        Meeting meeting;
        meeting.in_one_plane = !add(s, t, meeting.points);
        if (!meeting.in_one_plane) {
            add(t, s, meeting.points);
        }
        return meeting;
    }

  private:
    [[nodiscard]] const Triangle& corners(std::int32_t t) const {
        return mesh_.triangles[static_cast<std::size_t>(t)];
    }
    [[nodiscard]] const Vec3& at(std::int32_t v) const {
        return mesh_.vertices[static_cast<std::size_t>(v)];
    }

    // What corners and edges of s meet in t; false if s lies in t's plane.
    bool add(std::int32_t s, std::int32_t t, std::vector<PointOrigin>& points) const {
        const Triangle& a = corners(s);
        const Triangle& b = corners(t);
        int sign[3];
        for (std::size_t i = 0; i < 3; ++i) {
            const bool shared = a[i] == b[0] || a[i] == b[1] || a[i] == b[2];
            sign[i] = shared ? 0 : orient(at(b[0]), at(b[1]), at(b[2]), at(a[i]));
        }
        if (sign[0] == 0 && sign[1] == 0 && sign[2] == 0) {
            return false;
        }
        for (std::size_t i = 0; i < 3; ++i) {
            if (sign[i] == 0 && holds(t, a[i])) {
                points.push_back(corner_point(a[i]));
            }
            if (sign[i] * sign[(i + 1) % 3] < 0) {
                add_edge(a[i], a[(i + 1) % 3], t, points);
            }
        }
        return true;
    }

    // \pre v lies in the plane of t
    [[nodiscard]] bool holds(std::int32_t t, std::int32_t v) const {
        const Triangle& b = corners(t);
        if (v == b[0] || v == b[1] || v == b[2]) {
            return true;
        }
        const int axis = exact_.widest_axis(t);
        const Vec2 p = seen(at(v), axis);
        bool left = false;
        bool right = false;
        for (std::size_t i = 0; i < 3; ++i) {
            const int side = orient(seen(at(b[i]), axis), seen(at(b[(i + 1) % 3]), axis), p);
            left = left || side > 0;
            right = right || side < 0;
        }
        return !(left && right);
    }

    // \pre p and q lie on different sides of the plane of t
    void add_edge(std::int32_t p, std::int32_t q, std::int32_t t,
                  std::vector<PointOrigin>& points) const {
        const Triangle& b = corners(t);
        if (p > q) {
            std::swap(p, q);
        }
        int side[3];
        int zeros = 0;
        bool left = false;
        bool right = false;
        for (std::size_t i = 0; i < 3; ++i) {
            side[i] = orient(at(p), at(q), at(b[i]), at(b[(i + 1) % 3]));
            zeros += side[i] == 0 ? 1 : 0;
            left = left || side[i] > 0;
            right = right || side[i] < 0;
        }
        if (left && right) {
            return;
        }
        if (zeros < 2) {
            points.push_back(edge_plane_point(p, q, t));
            return;
        }
        for (std::size_t i = 0; i < 3; ++i) {  // through the corner between both edges
            if (side[i] == 0 && side[(i + 2) % 3] == 0) {
                points.push_back(corner_point(b[i]));
            }
        }
    }

    const ExactPoints& exact_;
    const TriMesh& mesh_;
};

bool in_line(const Vec3& a, const Vec3& b, const Vec3& c) {
    const Vec3 n = (b - a).cross(c - a);
    const double size = std::max((b - a).cwiseAbs().maxCoeff(), (c - a).cwiseAbs().maxCoeff());
    if (n.cwiseAbs().maxCoeff() > 1e-14 * size * size) {
        return false;
    }
    return orient(seen(a, 0), seen(b, 0), seen(c, 0)) == 0 &&
           orient(seen(a, 1), seen(b, 1), seen(c, 1)) == 0 &&
           orient(seen(a, 2), seen(b, 2), seen(c, 2)) == 0;
}

using Edge = std::array<std::int32_t, 2>;

Edge edge_of(std::int32_t a, std::int32_t b) {
    return {std::min(a, b), std::max(a, b)};
}

// Triangles without area bound nothing and go; but what they put on their edges must be on those of
// their neighbors.
std::map<Edge, std::set<std::int32_t>> corners_on_edges(const TriMesh& mesh,
                                                        const std::vector<std::int32_t>& flat) {
    std::map<Edge, std::set<std::int32_t>> on;
    for (bool more = true; more;) {
        more = false;
        for (const std::int32_t t : flat) {
            const Triangle& c = mesh.triangles[static_cast<std::size_t>(t)];
            std::set<std::int32_t> all(c.begin(), c.end());
            for (std::size_t i = 0; i < 3; ++i) {
                const auto known = on.find(edge_of(c[i], c[(i + 1) % 3]));
                if (known != on.end()) {
                    all.insert(known->second.begin(), known->second.end());
                }
            }
            for (std::size_t i = 0; i < 3; ++i) {
                const Edge edge = edge_of(c[i], c[(i + 1) % 3]);
                const Vec3& a = mesh.vertices[static_cast<std::size_t>(edge[0])];
                const Vec3& b = mesh.vertices[static_cast<std::size_t>(edge[1])];
                for (const std::int32_t v : all) {
                    const Vec3& p = mesh.vertices[static_cast<std::size_t>(v)];
                    const bool within = (p.array() >= a.cwiseMin(b).array()).all() &&
                                        (p.array() <= a.cwiseMax(b).array()).all();
                    if (v != edge[0] && v != edge[1] && within) {
                        more = on[edge].insert(v).second || more;
                    }
                }
            }
        }
    }
    return on;
}

// Collects the meetings of all pairs and deals them out to planes.
class Dealer {
  public:
    Dealer(const ExactPoints& exact, const std::vector<CrossingPair>& pairs, PointList& points)
        : exact_(exact), mesh_(exact.mesh()), pairs_(pairs), points_(points) {}

    Meetings deal(const RunContext& context) {
        const std::size_t n = mesh_.triangles.size();
        result_.task_of.assign(n, -1);
        std::vector<std::int32_t> flat;
        for (std::size_t t = 0; t < n; ++t) {
            if (in_line(mesh_.corner(t, 0), mesh_.corner(t, 1), mesh_.corner(t, 2))) {
                result_.task_of[t] = -2;
                flat.push_back(static_cast<std::int32_t>(t));
            }
        }
        meet(context);
        const auto on_edges = corners_on_edges(mesh_, flat);
        make_tasks(on_edges);
        number_points(context);
        for (std::size_t i = 0; i < pairs_.size(); ++i) {
            give(pairs_[i], met_[i]);
        }
        for (std::size_t t = 0; t < n && !on_edges.empty(); ++t) {
            give_edges(static_cast<std::int32_t>(t), on_edges);
        }
        return std::move(result_);
    }

  private:
    [[nodiscard]] bool has_area(std::int32_t t) const {
        return result_.task_of[static_cast<std::size_t>(t)] != -2;
    }

    void meet(const RunContext& context) {
        met_.resize(pairs_.size());
        const PairMeeting meeting(exact_);
        for_blocks(pairs_.size(), kPairBlock, context, [&](const Block& block) {
            for (std::size_t i = block.begin; i < block.end; ++i) {
                if (has_area(pairs_[i][0]) && has_area(pairs_[i][1])) {
                    met_[i] = meeting.of(pairs_[i][0], pairs_[i][1]);
                }
            }
        });
    }

    void make_tasks(const std::map<Edge, std::set<std::int32_t>>& on_edges) {
        UnionFind planes(mesh_.triangles.size());
        std::vector<bool> active(planes.size(), false);
        for (std::size_t t = 0; t < active.size(); ++t) {
            const Triangle& c = mesh_.triangles[t];
            for (std::size_t i = 0; i < 3 && !on_edges.empty(); ++i) {
                active[t] = active[t] || on_edges.count(edge_of(c[i], c[(i + 1) % 3])) > 0;
            }
        }
        for (std::size_t i = 0; i < pairs_.size(); ++i) {
            const auto [s, t] = pairs_[i];
            if (!has_area(s) || !has_area(t)) {
                continue;
            }
            active[static_cast<std::size_t>(s)] = active[static_cast<std::size_t>(t)] = true;
            if (met_[i].in_one_plane) {
                planes.join(s, t);
            }
        }
        for (std::size_t t = 0; t < active.size(); ++t) {
            if (!active[t] || !has_area(static_cast<std::int32_t>(t))) {
                continue;
            }
            const auto leader = static_cast<std::size_t>(planes.find(static_cast<std::int32_t>(t)));
            if (leader == t) {
                result_.task_of[t] = static_cast<std::int32_t>(result_.tasks.size());
                result_.tasks.emplace_back();
            } else {
                result_.task_of[t] = result_.task_of[leader];
            }
            result_.tasks[static_cast<std::size_t>(result_.task_of[t])].triangles.push_back(
                static_cast<std::int32_t>(t));
            for (const std::int32_t v : mesh_.triangles[t]) {
                points_.offer(v);
            }
        }
    }

    // Rounding is dear, so many at once on all threads; then the numbers in the order of the pairs.
    void number_points(const RunContext& context) {
        std::vector<std::vector<ExactPoint>> made(pairs_.size());
        for_blocks(pairs_.size(), kPairBlock, context, [&](const Block& block) {
            for (std::size_t i = block.begin; i < block.end; ++i) {
                for (const PointOrigin& origin : met_[i].points) {
                    made[i].push_back(exact_.made(origin));
                }
            }
        });
        numbers_.resize(pairs_.size());
        for (std::size_t i = 0; i < pairs_.size(); ++i) {
            for (const ExactPoint& point : made[i]) {
                numbers_[i].push_back(points_.number(point));
            }
            std::sort(numbers_[i].begin(), numbers_[i].end());
            numbers_[i].erase(std::unique(numbers_[i].begin(), numbers_[i].end()),
                              numbers_[i].end());
            result_.failed = result_.failed || numbers_[i].size() > 2;
        }
        next_ = 0;
    }

    void give(const CrossingPair& pair, const Meeting& meeting) {
        const std::vector<std::int32_t>& ends = numbers_[next_++];
        if (meeting.in_one_plane || ends.empty()) {
            return;
        }
        for (std::size_t k = 0; k < 2; ++k) {
            const Triangle& own = mesh_.triangles[static_cast<std::size_t>(pair[k])];
            const auto is_corner = [&](std::int32_t p) {
                return p == own[0] || p == own[1] || p == own[2];
            };
            if (is_corner(ends.front()) && is_corner(ends.back())) {
                continue;  // a corner or an edge that is there already
            }
            result_
                .tasks[static_cast<std::size_t>(result_.task_of[static_cast<std::size_t>(pair[k])])]
                .segments.push_back({ends.front(), ends.back(), {-1, -1}, pair[1 - k]});
        }
    }

    void give_edges(std::int32_t t, const std::map<Edge, std::set<std::int32_t>>& on_edges) {
        const std::int32_t task = result_.task_of[static_cast<std::size_t>(t)];
        const Triangle& c = mesh_.triangles[static_cast<std::size_t>(t)];
        for (std::size_t i = 0; i < 3 && task >= 0; ++i) {
            const auto on = on_edges.find(edge_of(c[i], c[(i + 1) % 3]));
            if (on != on_edges.end()) {
                for (const std::int32_t v : on->second) {
                    result_.tasks[static_cast<std::size_t>(task)].segments.push_back({v, v});
                }
            }
        }
    }

    const ExactPoints& exact_;
    const TriMesh& mesh_;
    const std::vector<CrossingPair>& pairs_;
    PointList& points_;
    Meetings result_;
    std::vector<Meeting> met_;
    std::vector<std::vector<std::int32_t>> numbers_;
    std::size_t next_ = 0;
};

}  // namespace

std::size_t place_hash(const Vec3& p) {
    const std::hash<double> hash;
    return hash(p.x()) ^ (hash(p.y()) * 0x9E3779B97F4A7C15ULL) ^
           (hash(p.z()) * 0xC2B2AE3D27D4EB4FULL);
}

std::size_t PointList::OriginHash::operator()(const PointOrigin& origin) const {
    auto sum = static_cast<std::uint64_t>(origin.kind);
    for (const std::int32_t i : origin.of) {
        sum = (sum ^ static_cast<std::uint32_t>(i)) * 0x9E3779B97F4A7C15ULL;
        sum ^= sum >> 29;
    }
    return static_cast<std::size_t>(sum);
}

PointList::PointList(const ExactPoints& exact)
    : exact_(exact), offered_(exact.mesh().vertices.size(), false) {
    points_.reserve(offered_.size());
    for (std::size_t v = 0; v < offered_.size(); ++v) {
        points_.push_back(exact.made(corner_point(static_cast<std::int32_t>(v))));
    }
}

void PointList::offer(std::int32_t corner) {
    const auto v = static_cast<std::size_t>(corner);
    if (!offered_[v]) {
        offered_[v] = true;
        by_place_.emplace(place_hash(points_[v].near), corner);
    }
}

std::int32_t PointList::number(const ExactPoint& point) {
    if (point.origin.kind == PointOrigin::Construction::corner) {
        return point.origin.of[0];
    }
    const auto known = by_origin_.find(point.origin);
    if (known != by_origin_.end()) {
        return known->second;
    }
    const std::size_t key = place_hash(point.near);
    const auto [first, last] = by_place_.equal_range(key);
    for (auto entry = first; entry != last; ++entry) {
        if (exact_.equal(points_[static_cast<std::size_t>(entry->second)], point)) {
            by_origin_.emplace(point.origin, entry->second);
            return entry->second;
        }
    }
    const auto id = static_cast<std::int32_t>(points_.size());
    points_.push_back(point);
    by_place_.emplace(key, id);
    by_origin_.emplace(point.origin, id);
    return id;
}

Meetings meetings(const ExactPoints& exact, const std::vector<CrossingPair>& pairs,
                  PointList& points, const RunContext& context) {
    return Dealer(exact, pairs, points).deal(context);
}

}  // namespace cavigram
