// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <unordered_map>

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Constrained_triangulation_face_base_2.h>
#include <CGAL/Triangulation_data_structure_2.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_2.h>

#include "cavigram/repair/plane_cells_detail.h"

namespace cavigram {

namespace {

// What the triangulation's predicates look at.
struct View {
    const ExactPoints* exact = nullptr;
    const std::vector<ExactPoint>* points = nullptr;
    int axis = 0;

    [[nodiscard]] const ExactPoint& at(std::int32_t i) const {
        return (*points)[static_cast<std::size_t>(i)];
    }
    [[nodiscard]] int turn(std::int32_t p, std::int32_t q, std::int32_t r) const {
        return exact->turn(at(p), at(q), at(r), axis);
    }
    // Along the plane's first (0) or second (1) coordinate.
    [[nodiscard]] int compare(std::int32_t p, std::int32_t q, int coordinate) const {
        return p == q ? 0 : exact->compare(at(p), at(q), (axis + 1 + coordinate) % 3);
    }
};

// CGAL's triangulation over points that are numbers; it only ever asks these, by these names.
// NOLINTBEGIN(readability-identifier-naming)
struct Traits {
    struct Point_2 {
        std::int32_t id = -1;
    };
    struct Segment_2 {
        Point_2 from, to;
    };
    struct Triangle_2 {
        Point_2 a, b, c;
    };

    struct Compare_x_2 {
        View view;
        CGAL::Comparison_result operator()(const Point_2& p, const Point_2& q) const {
            return static_cast<CGAL::Comparison_result>(view.compare(p.id, q.id, 0));
        }
    };
    struct Compare_y_2 {
        View view;
        CGAL::Comparison_result operator()(const Point_2& p, const Point_2& q) const {
            return static_cast<CGAL::Comparison_result>(view.compare(p.id, q.id, 1));
        }
    };
    struct Orientation_2 {
        View view;
        CGAL::Orientation operator()(const Point_2& p, const Point_2& q, const Point_2& r) const {
            return static_cast<CGAL::Orientation>(view.turn(p.id, q.id, r.id));
        }
    };
    // Where double precision can't tell, "on the circle": nothing is turned then, so that each turn
    // is a true gain and turning ends.
    struct Side_of_oriented_circle_2 {
        View view;
        CGAL::Oriented_side operator()(const Point_2& p, const Point_2& q, const Point_2& r,
                                       const Point_2& s) const {
            return static_cast<CGAL::Oriented_side>(view.exact->surely_in_circle(
                view.at(p.id), view.at(q.id), view.at(r.id), view.at(s.id), view.axis));
        }
    };
    struct Construct_point_2 {
        const Point_2& operator()(const Point_2& p) const { return p; }
    };
    struct Construct_segment_2 {
        Segment_2 operator()(const Point_2& p, const Point_2& q) const { return {p, q}; }
    };
    struct Construct_triangle_2 {
        Triangle_2 operator()(const Point_2& p, const Point_2& q, const Point_2& r) const {
            return {p, q, r};
        }
    };

    [[nodiscard]] Compare_x_2 compare_x_2_object() const { return {view}; }
    [[nodiscard]] Compare_y_2 compare_y_2_object() const { return {view}; }
    [[nodiscard]] Orientation_2 orientation_2_object() const { return {view}; }
    [[nodiscard]] Side_of_oriented_circle_2 side_of_oriented_circle_2_object() const {
        return {view};
    }
    [[nodiscard]] Construct_point_2 construct_point_2_object() const { return {}; }
    [[nodiscard]] Construct_segment_2 construct_segment_2_object() const { return {}; }
    [[nodiscard]] Construct_triangle_2 construct_triangle_2_object() const { return {}; }

    View view;
};
// NOLINTEND(readability-identifier-naming)

struct FaceInfo {
    bool visited = false;
    int multiplicity = 0;
};

using VertexBase = CGAL::Triangulation_vertex_base_2<Traits>;
using FaceBase =
    CGAL::Triangulation_face_base_with_info_2<FaceInfo, Traits,
                                              CGAL::Constrained_triangulation_face_base_2<Traits>>;
using Triangulation = CGAL::Constrained_Delaunay_triangulation_2<
    Traits, CGAL::Triangulation_data_structure_2<VertexBase, FaceBase>,
    CGAL::No_constraint_intersection_tag>;

// A piece of a segment between two points next to each other, and by how much the multiplicity
// rises when it is crossed from its right to its left.
struct Piece {
    std::array<std::int32_t, 2> ends{};  // the smaller number first
    int rise = 0;
};

class Cutter {
  public:
    Cutter(const PlaneTask& task, const ExactPoints& exact, const std::vector<ExactPoint>& points)
        : task_(task), exact_(exact), all_(points) {
        view_ = {&exact, &result_.points, exact.widest_axis(task.triangles.front())};
    }

    PlaneCells cut() {
        gather();
        if (result_.points.size() == 3 && task_.triangles.size() == 1) {
            result_.faces.push_back({{0, 1, 2}, 1});
            return std::move(result_);
        }
        cross_all();
        break_up();
        try {
            triangulate();
        } catch (const Triangulation::Intersection_of_constraints_exception&) {
            result_.failed = true;
        }
        return std::move(result_);
    }

  private:
    std::int32_t local(std::int32_t known) {
        const auto [entry, is_new] =
            local_.try_emplace(known, static_cast<std::int32_t>(result_.points.size()));
        if (is_new) {
            result_.points.push_back(all_[static_cast<std::size_t>(known)]);
            result_.known.push_back(known);
        }
        return entry->second;
    }

    void add(PlaneSegment segment) {
        segment.from = local(segment.from);
        segment.to = local(segment.to);
        segments_.push_back(segment);
    }

    void gather() {
        for (const std::int32_t t : task_.triangles) {
            const Triangle& corners = exact_.mesh().triangles[static_cast<std::size_t>(t)];
            for (std::size_t i = 0; i < 3; ++i) {
                const std::int32_t a = corners[i];
                const std::int32_t b = corners[(i + 1) % 3];
                add({a, b, {a, b}, -1});
            }
        }
        for (const PlaneSegment& segment : task_.segments) {
            add(segment);
        }
        on_.resize(segments_.size());
    }

    // Whether the point's very definition puts it on the segment's line.
    [[nodiscard]] bool defined_on(const PlaneSegment& s, std::int32_t p) const {
        const PointOrigin& origin = view_.at(p).origin;
        const auto& of = origin.of;
        if (p == s.from || p == s.to) {
            return true;
        }
        if (s.plane >= 0) {
            return (origin.kind == PointOrigin::Construction::edge_plane && of[2] == s.plane) ||
                   (origin.kind == PointOrigin::Construction::three_planes &&
                    std::find(of.begin(), of.begin() + 3, s.plane) != of.begin() + 3);
        }
        const auto [low, high] = std::minmax(s.edge[0], s.edge[1]);
        return (origin.kind == PointOrigin::Construction::edge_plane ||
                origin.kind == PointOrigin::Construction::edge_edge) &&
               ((of[0] == low && of[1] == high) ||
                (origin.kind == PointOrigin::Construction::edge_edge && of[2] == low &&
                 of[3] == high));
    }

    [[nodiscard]] int side(const PlaneSegment& s, std::int32_t p) const {
        return defined_on(s, p) ? 0 : view_.turn(s.from, s.to, p);
    }

    // The coordinate along which the segment's ends differ more.
    [[nodiscard]] int longer(const PlaneSegment& s) const {
        const Vec3 way = view_.at(s.to).near - view_.at(s.from).near;
        const double first = std::abs(way[(view_.axis + 1) % 3]);
        const double second = std::abs(way[(view_.axis + 2) % 3]);
        if (first == 0.0 && second == 0.0) {
            return view_.compare(s.from, s.to, 0) != 0 ? 0 : 1;
        }
        return second > first ? 1 : 0;
    }

    void put_on(std::size_t s, std::int32_t p) {
        const PlaneSegment& segment = segments_[s];
        if (segment.from == segment.to || p == segment.from || p == segment.to) {
            return;
        }
        const int axis = longer(segment);
        if (view_.compare(segment.from, p, axis) * view_.compare(p, segment.to, axis) > 0) {
            on_[s].push_back(p);
        }
    }

    std::int32_t made(const PointOrigin& origin) {
        const ExactPoint point = exact_.made(origin);
        const std::size_t key = key_of(point.near);
        if (by_place_.empty()) {
            for (std::size_t i = 0; i < result_.points.size(); ++i) {
                by_place_.emplace(key_of(result_.points[i].near), static_cast<std::int32_t>(i));
            }
        }
        const auto [first, last] = by_place_.equal_range(key);
        for (auto entry = first; entry != last; ++entry) {
            if (exact_.equal(view_.at(entry->second), point)) {
                return entry->second;
            }
        }
        const auto id = static_cast<std::int32_t>(result_.points.size());
        result_.points.push_back(point);
        result_.known.push_back(-1);
        by_place_.emplace(key, id);
        return id;
    }

    static std::size_t key_of(const Vec3& p) {
        return std::hash<double>()(p.x()) ^ (std::hash<double>()(p.y()) * 0x9E3779B97F4A7C15ULL) ^
               (std::hash<double>()(p.z()) * 0xC2B2AE3D27D4EB4FULL);
    }

    [[nodiscard]] PointOrigin crossing_of(const PlaneSegment& s, const PlaneSegment& t) const {
        if (s.plane < 0 && t.plane < 0) {
            return edge_edge_point(s.edge[0], s.edge[1], t.edge[0], t.edge[1]);
        }
        if (s.plane >= 0 && t.plane >= 0) {
            return three_planes_point(task_.triangles.front(), s.plane, t.plane);
        }
        const PlaneSegment& edge = s.plane < 0 ? s : t;
        const PlaneSegment& cut = s.plane < 0 ? t : s;
        return edge_plane_point(edge.edge[0], edge.edge[1], cut.plane);
    }

    void cross(std::size_t i, std::size_t k) {
        const PlaneSegment s = segments_[i];
        const PlaneSegment t = segments_[k];
        int from_s = 0;
        int to_s = 0;
        if (s.from != s.to) {
            from_s = side(s, t.from);
            to_s = t.from == t.to ? from_s : side(s, t.to);
            if (from_s * to_s > 0) {
                return;
            }
        }
        int from_t = 0;
        int to_t = 0;
        if (t.from != t.to) {
            from_t = side(t, s.from);
            to_t = s.from == s.to ? from_t : side(t, s.to);
            if (from_t * to_t > 0) {
                return;
            }
        }
        if (from_s * to_s < 0 && from_t * to_t < 0) {
            const std::int32_t p = made(crossing_of(s, t));
            on_[i].push_back(p);
            on_[k].push_back(p);
            return;
        }
        for (const auto& [sign, p] : {std::pair(from_s, t.from), std::pair(to_s, t.to)}) {
            if (sign == 0) {
                put_on(i, p);
            }
        }
        for (const auto& [sign, p] : {std::pair(from_t, s.from), std::pair(to_t, s.to)}) {
            if (sign == 0) {
                put_on(k, p);
            }
        }
    }

    // All pairs of segments whose boxes meet, swept along the first coordinate.
    void cross_all() {
        struct Span {
            double low[2], high[2];
            std::size_t segment;
        };
        std::vector<Span> spans(segments_.size());
        for (std::size_t s = 0; s < segments_.size(); ++s) {
            const Vec3& p = view_.at(segments_[s].from).near;
            const Vec3& q = view_.at(segments_[s].to).near;
            for (int i = 0; i < 2; ++i) {
                const int k = (view_.axis + 1 + i) % 3;
                spans[s].low[i] = std::min(p[k], q[k]);
                spans[s].high[i] = std::max(p[k], q[k]);
            }
            spans[s].segment = s;
        }
        std::sort(spans.begin(), spans.end(), [](const Span& a, const Span& b) {
            return std::pair(a.low[0], a.segment) < std::pair(b.low[0], b.segment);
        });
        for (std::size_t i = 0; i < spans.size(); ++i) {
            for (std::size_t k = i + 1; k < spans.size() && spans[k].low[0] <= spans[i].high[0];
                 ++k) {
                if (spans[k].low[1] <= spans[i].high[1] && spans[i].low[1] <= spans[k].high[1]) {
                    cross(spans[i].segment, spans[k].segment);
                }
            }
        }
    }

    // Segments at their points; pieces that several share become one.
    void break_up() {
        for (std::size_t s = 0; s < segments_.size(); ++s) {
            const PlaneSegment& segment = segments_[s];
            if (segment.from == segment.to) {
                continue;
            }
            const int axis = longer(segment);
            const int way = view_.compare(segment.from, segment.to, axis);
            auto& points = on_[s];
            std::sort(points.begin(), points.end());
            points.erase(std::unique(points.begin(), points.end()), points.end());
            std::sort(points.begin(), points.end(), [&](std::int32_t p, std::int32_t q) {
                return view_.compare(p, q, axis) * way > 0;
            });
            std::int32_t last = segment.from;
            points.push_back(segment.to);
            for (const std::int32_t p : points) {
                const int rise = segment.plane < 0 ? (last < p ? 1 : -1) : 0;
                pieces_.push_back({{std::min(last, p), std::max(last, p)}, rise});
                last = p;
            }
        }
        std::sort(pieces_.begin(), pieces_.end(),
                  [](const Piece& a, const Piece& b) { return a.ends < b.ends; });
        std::size_t count = 0;
        for (std::size_t i = 0; i < pieces_.size(); ++i) {
            if (count > 0 && pieces_[count - 1].ends == pieces_[i].ends) {
                pieces_[count - 1].rise += pieces_[i].rise;
            } else {
                pieces_[count++] = pieces_[i];
            }
        }
        pieces_.resize(count);
    }

    // The rise when the edge from p to q is crossed from right to left.
    [[nodiscard]] int rise(std::int32_t p, std::int32_t q) const {
        const std::array<std::int32_t, 2> ends{std::min(p, q), std::max(p, q)};
        const auto piece =
            std::lower_bound(pieces_.begin(), pieces_.end(), ends,
                             [](const Piece& a, const auto& b) { return a.ends < b; });
        const int up = piece != pieces_.end() && piece->ends == ends ? piece->rise : 0;
        return p < q ? up : -up;
    }

    void triangulate() {
        Triangulation whole(Traits{view_});
        std::vector<Triangulation::Vertex_handle> vertices(result_.points.size());
        Triangulation::Face_handle near;
        for (std::size_t i = 0; i < vertices.size(); ++i) {
            vertices[i] = whole.insert({static_cast<std::int32_t>(i)}, near);
            near = vertices[i]->face();
        }
        for (const Piece& piece : pieces_) {
            whole.insert_constraint(vertices[static_cast<std::size_t>(piece.ends[0])],
                                    vertices[static_cast<std::size_t>(piece.ends[1])]);
        }
        flood(whole);
        for (const auto f : whole.finite_face_handles()) {
            const int multiplicity = f->info().multiplicity;
            if (multiplicity != 0) {
                PlaneFace face{
                    {f->vertex(0)->point().id, f->vertex(1)->point().id, f->vertex(2)->point().id},
                    std::abs(multiplicity)};
                if (multiplicity < 0) {
                    std::swap(face.points[1], face.points[2]);
                }
                result_.faces.push_back(face);
            }
        }
    }

    // From the outside, which no triangle covers, over all edges.
    void flood(Triangulation& whole) const {
        std::vector<Triangulation::Face_handle> front{whole.infinite_face()};
        front.front()->info().visited = true;
        while (!front.empty()) {
            const Triangulation::Face_handle f = front.back();
            front.pop_back();
            for (int i = 0; i < 3; ++i) {
                const Triangulation::Face_handle next = f->neighbor(i);
                if (next->info().visited) {
                    continue;
                }
                next->info().visited = true;
                next->info().multiplicity = f->info().multiplicity;
                if (f->is_constrained(i)) {
                    // f lies on the left of its own edges.
                    next->info().multiplicity -= rise(f->vertex(Triangulation::ccw(i))->point().id,
                                                      f->vertex(Triangulation::cw(i))->point().id);
                }
                front.push_back(next);
            }
        }
    }

    const PlaneTask& task_;
    const ExactPoints& exact_;
    const std::vector<ExactPoint>& all_;
    View view_;
    PlaneCells result_;
    std::unordered_map<std::int32_t, std::int32_t> local_;
    std::unordered_multimap<std::size_t, std::int32_t> by_place_;
    std::vector<PlaneSegment> segments_;
    std::vector<std::vector<std::int32_t>> on_;  // for each segment the points within it
    std::vector<Piece> pieces_;
};

}  // namespace

PlaneCells plane_cells(const PlaneTask& task, const ExactPoints& exact,
                       const std::vector<ExactPoint>& points) {
    return Cutter(task, exact, points).cut();
}

}  // namespace cavigram
