// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/parting_loops.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "cavigram/geom/directions.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/union_find.h"

namespace cavigram {

namespace {

std::size_t at(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

std::int32_t face_of(std::int32_t h) {
    return h / 3;
}

std::int32_t start_of(const PartingSurface& surface, std::int32_t h) {
    return surface.mesh_mm.triangles[at(h / 3)][at(h % 3)];
}

std::int32_t end_of(const PartingSurface& surface, std::int32_t h) {
    return start_of(surface, next_halfedge(h));
}

// Length, heights and signed area of a loop whose points are there.
void measure(PartingLoop& loop, const Frame& frame) {
    loop.low_mm = std::numeric_limits<double>::infinity();
    loop.high_mm = -loop.low_mm;
    const Vec3 origin = frame.local(loop.points_mm.front());
    for (std::size_t i = 0; i < loop.points_mm.size(); ++i) {
        const Vec3 p = frame.local(loop.points_mm[i]);
        const Vec3 q = frame.local(loop.points_mm[(i + 1) % loop.points_mm.size()]);
        loop.length_mm += (q - p).norm();
        loop.area_mm2 += 0.5 * (p - origin).cross(q - origin).z();
        loop.low_mm = std::min(loop.low_mm, p.z());
        loop.high_mm = std::max(loop.high_mm, p.z());
    }
}

double distance_to_piece(const Vec3& p, const Vec3& a, const Vec3& b) {
    const Vec3 way = b - a;
    const double square = way.squaredNorm();
    const double share = square > 0.0 ? std::clamp((p - a).dot(way) / square, 0.0, 1.0) : 0.0;
    return (p - a - share * way).norm();
}

// Patches know their Euler number: each loop takes one from 2, each handle two.
void judge(PartingLine& line, const std::vector<double>& euler, const PartingSurface& surface) {
    for (const PartingLoop& loop : line.loops) {
        for (const std::int32_t patch : {loop.upper_patch, loop.lower_patch}) {
            ++(loop.through() ? line.patches[at(patch)].through : line.patches[at(patch)].outer);
        }
        line.shut_offs += loop.through() ? 1 : 0;
    }
    std::vector<int> through(surface.genus.size());
    std::vector<bool> looped(surface.genus.size());
    for (const PartingLoop& loop : line.loops) {
        looped[at(loop.shell)] = true;
        through[at(loop.shell)] += loop.through() ? 1 : 0;
    }
    line.valid = true;
    for (std::size_t s = 0; s < looped.size(); ++s) {
        line.wrapped += !looped[s] && !surface.hollow[s] ? 1 : 0;
        line.valid =
            line.valid && (surface.hollow[s] || (looped[s] && through[s] == surface.genus[s]));
    }
    for (std::size_t p = 0; p < line.patches.size(); ++p) {
        PartingPatch& patch = line.patches[p];
        if (!looped[at(patch.shell)]) {
            continue;
        }
        patch.handles = static_cast<int>(
            std::max(0L, std::lround((2.0 - patch.outer - patch.through - euler[p]) / 2.0)));
        line.slits += std::max(0, patch.outer - 1) + patch.handles;
        line.valid = line.valid && patch.outer == 1 && patch.handles == 0;
    }
}

// What both kinds of line share: patches, their Euler numbers, loops, then the verdict.
class LineWalk {
  public:
    explicit LineWalk(const PartingSurface& surface)
        : surface_(surface),
          mesh_(surface.mesh_mm),
          twin_(surface.adjacent.twin),
          halfedges_(static_cast<std::int32_t>(twin_.size())) {}
    LineWalk(const LineWalk&) = delete;
    LineWalk& operator=(const LineWalk&) = delete;
    virtual ~LineWalk() = default;

    PartingLine run(const Vec3& pull) {
        make_patches();
        count_euler();
        walk(frame_along(pull));
        judge(line_, euler_, surface_);
        return std::move(line_);
    }

  protected:
    virtual void make_patches() = 0;
    virtual void count_euler() = 0;
    virtual void walk(const Frame& frame) = 0;

    const PartingSurface& surface_;
    const TriMesh& mesh_;
    const std::vector<std::int32_t>& twin_;
    std::int32_t halfedges_;
    PartingLine line_;
    std::vector<double> euler_;
};

// The line between faces.
class AlongEdges : public LineWalk {
  public:
    AlongEdges(const PartingSurface& surface, const std::vector<bool>& upper_face)
        : LineWalk(surface), upper_face_(upper_face) {}

  private:
    [[nodiscard]] bool border(std::int32_t h) const {
        return upper_face_[at(face_of(h))] && !upper_face_[at(face_of(twin_[at(h)]))];
    }

    void make_patches() override {
        UnionFind joined(mesh_.triangles.size());
        for (std::int32_t h = 0; h < halfedges_; ++h) {
            if (upper_face_[at(face_of(h))] == upper_face_[at(face_of(twin_[at(h)]))]) {
                joined.join(face_of(h), face_of(twin_[at(h)]));
            }
        }
        line_.patch_of = joined.numbered();
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            if (at(line_.patch_of[t]) == line_.patches.size()) {
                line_.patches.push_back({upper_face_[t], surface_.shells.of_triangle[t], 0, 0, 0});
            }
        }
        euler_.resize(line_.patches.size());
    }

    // V - E + F with every corner at the border by itself, as many as border edges: inner vertices
    // - F / 2 + border / 2.
    void count_euler() override {
        std::vector<bool> counted(mesh_.vertices.size());
        for (std::int32_t h = 0; h < halfedges_; ++h) {
            if (border(h)) {
                euler_[at(line_.patch_of[at(face_of(h))])] += 0.5;
                euler_[at(line_.patch_of[at(face_of(twin_[at(h)]))])] += 0.5;
                counted[at(start_of(surface_, h))] = true;
            }
        }
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            double& euler = euler_[at(line_.patch_of[t])];
            euler -= 0.5;
            for (const std::int32_t v : mesh_.triangles[t]) {
                euler += counted[at(v)] ? 0.0 : 1.0;
                counted[at(v)] = true;
            }
        }
    }

    void walk(const Frame& frame) override {
        std::vector<bool> walked(twin_.size());
        for (std::int32_t first = 0; first < halfedges_; ++first) {
            if (walked[at(first)] || !border(first)) {
                continue;
            }
            PartingLoop loop;
            loop.shell = surface_.shells.of_triangle[at(face_of(first))];
            loop.upper_patch = line_.patch_of[at(face_of(first))];
            loop.lower_patch = line_.patch_of[at(face_of(twin_[at(first)]))];
            for (std::int32_t h = first; !walked[at(h)];) {
                walked[at(h)] = true;
                loop.points_mm.push_back(mesh_.vertices[at(start_of(surface_, h))]);
                loop.faces.push_back(face_of(h));
                // Around the end through the faces of this side.
                for (h = next_halfedge(h); !border(h);) {
                    h = next_halfedge(twin_[at(h)]);
                }
            }
            measure(loop, frame);
            line_.loops.push_back(std::move(loop));
        }
    }

    const std::vector<bool>& upper_face_;
};

// The zero line of a field. Patches are what the vertices of one side span with the edges and faces
// between them.
class AcrossFaces : public LineWalk {
  public:
    AcrossFaces(const PartingSurface& surface, const std::vector<double>& field)
        : LineWalk(surface), field_(field) {}

  private:
    [[nodiscard]] bool upper(std::int32_t v) const { return field_[at(v)] >= 0.0; }
    [[nodiscard]] bool alike(std::int32_t h) const {
        return upper(start_of(surface_, h)) == upper(end_of(surface_, h));
    }
    [[nodiscard]] bool down(std::int32_t h) const {
        return upper(start_of(surface_, h)) && !upper(end_of(surface_, h));
    }

    void make_patches() override {
        UnionFind joined(mesh_.vertices.size());
        for (std::int32_t h = 0; h < halfedges_; ++h) {
            if (alike(h)) {
                joined.join(start_of(surface_, h), end_of(surface_, h));
            }
        }
        line_.patch_of = joined.numbered();
        used_.resize(mesh_.vertices.size());
        std::vector<std::int32_t> shell(mesh_.vertices.size());
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            for (const std::int32_t v : mesh_.triangles[t]) {
                used_[at(v)] = true;
                shell[at(v)] = surface_.shells.of_triangle[t];
            }
        }
        for (std::size_t v = 0; v < mesh_.vertices.size(); ++v) {
            if (at(line_.patch_of[v]) == line_.patches.size()) {
                line_.patches.push_back({field_[v] >= 0.0, shell[v], 0, 0, 0});
            }
        }
        euler_.resize(line_.patches.size());
    }

    void count_euler() override {
        for (std::size_t v = 0; v < mesh_.vertices.size(); ++v) {
            euler_[at(line_.patch_of[v])] += used_[v] ? 1.0 : 0.0;
        }
        for (std::int32_t h = 0; h < halfedges_; ++h) {
            euler_[at(line_.patch_of[at(start_of(surface_, h))])] -= alike(h) ? 0.5 : 0.0;
        }
        for (const Triangle& t : mesh_.triangles) {
            const bool whole = upper(t[0]) == upper(t[1]) && upper(t[1]) == upper(t[2]);
            euler_[at(line_.patch_of[at(t[0])])] += whole ? 1.0 : 0.0;
        }
    }

    [[nodiscard]] Vec3 crossing(std::int32_t h) const {
        const std::size_t a = at(start_of(surface_, h));
        const std::size_t b = at(end_of(surface_, h));
        const double share = field_[a] / (field_[a] - field_[b]);
        return (1.0 - share) * mesh_.vertices[a] + share * mesh_.vertices[b];
    }

    // A face is entered where the field falls along its edge, and left where it rises: so the
    // upper corners stay on the left.
    void walk(const Frame& frame) override {
        std::vector<bool> walked(twin_.size());
        for (std::int32_t first = 0; first < halfedges_; ++first) {
            if (walked[at(first)] || !down(first)) {
                continue;
            }
            PartingLoop loop;
            loop.shell = surface_.shells.of_triangle[at(face_of(first))];
            loop.upper_patch = line_.patch_of[at(start_of(surface_, first))];
            loop.lower_patch = line_.patch_of[at(end_of(surface_, first))];
            for (std::int32_t h = first; !walked[at(h)];) {
                walked[at(h)] = true;
                loop.points_mm.push_back(crossing(h));
                loop.faces.push_back(face_of(h));
                const std::int32_t next = next_halfedge(h);
                const bool rises =
                    !upper(start_of(surface_, next)) && upper(end_of(surface_, next));
                h = twin_[at(rises ? next : next_halfedge(next))];
            }
            measure(loop, frame);
            line_.loops.push_back(std::move(loop));
        }
    }

    const std::vector<double>& field_;
    std::vector<bool> used_;  // vertices of a triangle
};

}  // namespace

PartingSurface parting_surface(TriMesh mesh_mm) {
    PartingSurface surface;
    surface.mesh_mm = std::move(mesh_mm);
    const TriMesh& mesh = surface.mesh_mm;
    surface.adjacent = adjacency(mesh);
    surface.shells = shells(mesh, surface.adjacent);
    const std::size_t count = at(surface.shells.count);
    std::vector<double> volume(count);
    std::vector<std::int64_t> euler(count);
    surface.area_mm2.resize(count);
    std::vector<bool> seen(mesh.vertices.size());
    const Vec3 origin = mesh.vertices.empty() ? Vec3(Vec3::Zero()) : mesh.vertices.front();
    std::vector<std::int64_t> faces(count);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const std::size_t s = at(surface.shells.of_triangle[t]);
        ++faces[s];
        const Vec3 area =
            double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        surface.area_mm2[s] += 0.5 * area.norm();
        volume[s] += area.dot(mesh.corner(t, 0) - origin);
        for (const std::int32_t v : mesh.triangles[t]) {
            euler[s] += seen[at(v)] ? 0 : 1;
            seen[at(v)] = true;
        }
    }
    for (std::size_t s = 0; s < count; ++s) {
        euler[s] -= faces[s] / 2;  // closed: 3 F = 2 E
        surface.genus.push_back(static_cast<int>((2 - euler[s]) / 2));
        surface.hollow.push_back(volume[s] < 0.0);
    }
    return surface;
}

PartingLine line_along_edges(const PartingSurface& surface, const std::vector<bool>& upper_face,
                             const Vec3& pull) {
    return AlongEdges(surface, upper_face).run(pull);
}

PartingLine line_across_faces(const PartingSurface& surface, const std::vector<double>& field,
                              const Vec3& pull) {
    return AcrossFaces(surface, field).run(pull);
}

std::vector<Vec3> thinned_loop(const std::vector<Vec3>& points_mm, double tolerance_mm) {
    const std::size_t n = points_mm.size();
    if (n < 4) {
        return points_mm;
    }
    // Cut open at the first point and at the one farthest from it.
    std::size_t far = 0;
    for (std::size_t i = 0; i < n; ++i) {
        far =
            (points_mm[i] - points_mm[0]).norm() > (points_mm[far] - points_mm[0]).norm() ? i : far;
    }
    std::vector<bool> kept(n);
    kept[0] = kept[far] = true;
    std::vector<std::pair<std::size_t, std::size_t>> pieces = {{0, far}, {far, n}};
    while (!pieces.empty()) {
        const auto [from, to] = pieces.back();
        pieces.pop_back();
        double most = tolerance_mm;
        std::size_t at_most = from;
        for (std::size_t i = from + 1; i < to; ++i) {
            const double away = distance_to_piece(points_mm[i], points_mm[from], points_mm[to % n]);
            if (away > most) {
                most = away;
                at_most = i;
            }
        }
        if (at_most != from) {
            kept[at_most] = true;
            pieces.emplace_back(from, at_most);
            pieces.emplace_back(at_most, to);
        }
    }
    std::vector<Vec3> result;
    for (std::size_t i = 0; i < n; ++i) {
        if (kept[i]) {
            result.push_back(points_mm[i]);
        }
    }
    return result;
}

double distance_to_loop_mm(const Vec3& place_mm, const std::vector<Vec3>& loop_mm) {
    double nearest = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < loop_mm.size(); ++i) {
        nearest = std::min(
            nearest, distance_to_piece(place_mm, loop_mm[i], loop_mm[(i + 1) % loop_mm.size()]));
    }
    return nearest;
}

}  // namespace cavigram
