// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/parting_loops.h"

#include <algorithm>
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
        patch.handles =
            static_cast<int>((2.0 - patch.outer - patch.through - euler[p]) / 2.0 + 0.5);
        line.slits += std::max(0, patch.outer - 1) + patch.handles;
        line.valid = line.valid && patch.outer == 1 && patch.handles == 0;
    }
}

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
    const TriMesh& mesh = surface.mesh_mm;
    const auto& twin = surface.adjacent.twin;
    const auto halfedges = static_cast<std::int32_t>(twin.size());
    const auto border = [&](std::int32_t h) {
        return upper_face[at(face_of(h))] && !upper_face[at(face_of(twin[at(h)]))];
    };
    UnionFind joined(mesh.triangles.size());
    for (std::int32_t h = 0; h < halfedges; ++h) {
        if (upper_face[at(face_of(h))] == upper_face[at(face_of(twin[at(h)]))]) {
            joined.join(face_of(h), face_of(twin[at(h)]));
        }
    }
    PartingLine line;
    line.patch_of = joined.numbered();
    std::vector<double> euler;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        if (at(line.patch_of[t]) == line.patches.size()) {
            line.patches.push_back({upper_face[t], surface.shells.of_triangle[t], 0, 0, 0});
            euler.push_back(0.0);
        }
        euler[at(line.patch_of[t])] -= 0.5;
    }
    // V - E + F with every corner at the border by itself, as many as border edges: inner vertices
    // - F / 2 + border / 2.
    std::vector<bool> at_border(mesh.vertices.size());
    for (std::int32_t h = 0; h < halfedges; ++h) {
        if (border(h)) {
            euler[at(line.patch_of[at(face_of(h))])] += 0.5;
            euler[at(line.patch_of[at(face_of(twin[at(h)]))])] += 0.5;
            at_border[at(start_of(surface, h))] = true;
        }
    }
    std::vector<bool> counted = at_border;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        for (const std::int32_t v : mesh.triangles[t]) {
            euler[at(line.patch_of[t])] += counted[at(v)] ? 0.0 : 1.0;
            counted[at(v)] = true;
        }
    }
    const Frame frame = frame_along(pull);
    std::vector<bool> walked(twin.size());
    for (std::int32_t first = 0; first < halfedges; ++first) {
        if (walked[at(first)] || !border(first)) {
            continue;
        }
        PartingLoop loop;
        loop.shell = surface.shells.of_triangle[at(face_of(first))];
        loop.upper_patch = line.patch_of[at(face_of(first))];
        loop.lower_patch = line.patch_of[at(face_of(twin[at(first)]))];
        for (std::int32_t h = first; !walked[at(h)];) {
            walked[at(h)] = true;
            loop.points_mm.push_back(mesh.vertices[at(start_of(surface, h))]);
            loop.faces.push_back(face_of(h));
            // Around the end through the faces of this side.
            for (h = next_halfedge(h); !border(h);) {
                h = next_halfedge(twin[at(h)]);
            }
        }
        measure(loop, frame);
        line.loops.push_back(std::move(loop));
    }
    judge(line, euler, surface);
    return line;
}

PartingLine line_across_faces(const PartingSurface& surface, const std::vector<double>& field,
                              const Vec3& pull) {
    const TriMesh& mesh = surface.mesh_mm;
    const auto& twin = surface.adjacent.twin;
    const auto halfedges = static_cast<std::int32_t>(twin.size());
    const auto upper = [&](std::int32_t v) { return field[at(v)] >= 0.0; };
    const auto down = [&](std::int32_t h) {
        return upper(start_of(surface, h)) && !upper(end_of(surface, h));
    };
    UnionFind joined(mesh.vertices.size());
    for (std::int32_t h = 0; h < halfedges; ++h) {
        if (upper(start_of(surface, h)) == upper(end_of(surface, h))) {
            joined.join(start_of(surface, h), end_of(surface, h));
        }
    }
    // Patches are what the vertices of one side span with the edges and faces between them.
    PartingLine line;
    line.patch_of = joined.numbered();
    std::vector<double> euler;
    std::vector<bool> used(mesh.vertices.size());
    std::vector<std::int32_t> shell(mesh.vertices.size());
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        for (const std::int32_t v : mesh.triangles[t]) {
            used[at(v)] = true;
            shell[at(v)] = surface.shells.of_triangle[t];
        }
    }
    for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
        if (at(line.patch_of[v]) == line.patches.size()) {
            line.patches.push_back({field[v] >= 0.0, shell[v], 0, 0, 0});
            euler.push_back(0.0);
        }
        euler[at(line.patch_of[v])] += used[v] ? 1.0 : 0.0;
    }
    for (std::int32_t h = 0; h < halfedges; ++h) {
        const std::int32_t a = start_of(surface, h);
        euler[at(line.patch_of[at(a)])] -= upper(a) == upper(end_of(surface, h)) ? 0.5 : 0.0;
    }
    for (const Triangle& t : mesh.triangles) {
        const bool alike = upper(t[0]) == upper(t[1]) && upper(t[1]) == upper(t[2]);
        euler[at(line.patch_of[at(t[0])])] += alike ? 1.0 : 0.0;
    }
    const Frame frame = frame_along(pull);
    std::vector<bool> walked(twin.size());
    for (std::int32_t first = 0; first < halfedges; ++first) {
        if (walked[at(first)] || !down(first)) {
            continue;
        }
        PartingLoop loop;
        loop.shell = surface.shells.of_triangle[at(face_of(first))];
        loop.upper_patch = line.patch_of[at(start_of(surface, first))];
        loop.lower_patch = line.patch_of[at(end_of(surface, first))];
        // A face is entered where the field falls along its edge, and left where it rises: so the
        // upper corners stay on the left.
        for (std::int32_t h = first; !walked[at(h)];) {
            walked[at(h)] = true;
            const std::int32_t a = start_of(surface, h);
            const std::int32_t b = end_of(surface, h);
            const double share = field[at(a)] / (field[at(a)] - field[at(b)]);
            loop.points_mm.emplace_back((1.0 - share) * mesh.vertices[at(a)] +
                                        share * mesh.vertices[at(b)]);
            loop.faces.push_back(face_of(h));
            const std::int32_t next = next_halfedge(h);
            const bool rises = !upper(start_of(surface, next)) && upper(end_of(surface, next));
            h = twin[at(rises ? next : next_halfedge(next))];
        }
        measure(loop, frame);
        line.loops.push_back(std::move(loop));
    }
    judge(line, euler, surface);
    return line;
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

}  // namespace cavigram
