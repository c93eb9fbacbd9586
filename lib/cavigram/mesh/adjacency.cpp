// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/adjacency.h"

#include <algorithm>

namespace cavigram {

namespace {

std::int32_t from_vertex(const TriMesh& mesh, std::int32_t h) {
    return mesh.triangles[static_cast<std::size_t>(h / 3)][static_cast<std::size_t>(h % 3)];
}

std::int32_t to_vertex(const TriMesh& mesh, std::int32_t h) {
    return from_vertex(mesh, next_halfedge(h));
}

// Rows longer than this are sorted and searched by halving; the apex of a fan of a million
// triangles must not cost a million squared.
constexpr std::int32_t kLongRow = 32;

// Halfedges listed by the vertex that they leave (compressed rows).
struct Outgoing {
    std::vector<std::int32_t> first;  // one more than vertices
    std::vector<std::int32_t> halfedges;
};

Outgoing outgoing_halfedges(const TriMesh& mesh) {
    Outgoing out;
    out.first.assign(mesh.vertices.size() + 1, 0);
    for (const Triangle& triangle : mesh.triangles) {
        for (const std::int32_t v : triangle) {
            ++out.first[static_cast<std::size_t>(v) + 1];
        }
    }
    for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
        out.first[v + 1] += out.first[v];
    }
    out.halfedges.resize(3 * mesh.triangles.size());
    std::vector<std::int32_t> fill(out.first.begin(), out.first.end() - 1);
    for (std::size_t h = 0; h < out.halfedges.size(); ++h) {
        const std::int32_t v = mesh.triangles[h / 3][h % 3];
        out.halfedges[static_cast<std::size_t>(fill[static_cast<std::size_t>(v)]++)] =
            static_cast<std::int32_t>(h);
    }
    for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
        if (out.first[v + 1] - out.first[v] > kLongRow) {
            std::stable_sort(out.halfedges.begin() + out.first[v],
                             out.halfedges.begin() + out.first[v + 1],
                             [&](std::int32_t g, std::int32_t h) {
                                 return to_vertex(mesh, g) < to_vertex(mesh, h);
                             });
        }
    }
    return out;
}

}  // namespace

Adjacency adjacency(const TriMesh& mesh) {
    const Outgoing out = outgoing_halfedges(mesh);
    Adjacency result;
    result.twin.assign(3 * mesh.triangles.size(), Adjacency::kBorder);
    // Number of halfedges a->b, and the last of them.
    const auto find = [&](std::int32_t a, std::int32_t b, std::int32_t& last) {
        auto begin = out.halfedges.begin() + out.first[static_cast<std::size_t>(a)];
        auto end = out.halfedges.begin() + out.first[static_cast<std::size_t>(a) + 1];
        if (end - begin > kLongRow) {
            begin = std::lower_bound(begin, end, b, [&](std::int32_t g, std::int32_t v) {
                return to_vertex(mesh, g) < v;
            });
            end = std::upper_bound(begin, end, b, [&](std::int32_t v, std::int32_t g) {
                return v < to_vertex(mesh, g);
            });
        }
        int count = 0;
        for (auto g = begin; g != end; ++g) {
            if (to_vertex(mesh, *g) == b) {
                ++count;
                last = *g;
            }
        }
        return count;
    };
    for (std::size_t i = 0; i < result.twin.size(); ++i) {
        const auto h = static_cast<std::int32_t>(i);
        const std::int32_t a = from_vertex(mesh, h);
        const std::int32_t b = to_vertex(mesh, h);
        if (a > b && result.twin[i] != Adjacency::kBorder) {
            continue;  // already settled from its other side
        }
        std::int32_t along = h;
        std::int32_t against = Adjacency::kBorder;
        const int along_count = find(a, b, along);
        const int against_count = find(b, a, against);
        if (along_count > 1 || against_count > 1) {
            result.twin[i] = Adjacency::kIrregular;
            ++result.irregular_halfedges;
        } else if (against_count == 0) {
            ++result.border_halfedges;
        } else {
            result.twin[i] = against;
            if (a < b) {
                result.twin[static_cast<std::size_t>(against)] = h;
            }
        }
    }
    return result;
}

Shells shells(const TriMesh& mesh, const Adjacency& adjacency) {
    Shells result;
    result.of_triangle.assign(mesh.triangles.size(), -1);
    std::vector<std::int32_t> pending;
    for (std::size_t seed = 0; seed < mesh.triangles.size(); ++seed) {
        if (result.of_triangle[seed] >= 0) {
            continue;
        }
        const std::int32_t shell = result.count++;
        result.of_triangle[seed] = shell;
        pending.push_back(static_cast<std::int32_t>(seed));
        while (!pending.empty()) {
            const std::int32_t t = pending.back();
            pending.pop_back();
            for (std::int32_t h = 3 * t; h < 3 * t + 3; ++h) {
                const std::int32_t twin = adjacency.twin[static_cast<std::size_t>(h)];
                if (twin >= 0 && result.of_triangle[static_cast<std::size_t>(twin / 3)] < 0) {
                    result.of_triangle[static_cast<std::size_t>(twin / 3)] = shell;
                    pending.push_back(twin / 3);
                }
            }
        }
    }
    return result;
}

std::vector<std::vector<std::int32_t>> border_loops(const TriMesh& mesh,
                                                    const Adjacency& adjacency) {
    std::vector<std::vector<std::int32_t>> loops;
    std::vector<bool> seen(adjacency.twin.size(), false);
    // The border halfedge that follows h: turn around h's end until there is nothing across.
    const auto follow = [&](std::int32_t h) {
        std::int32_t k = next_halfedge(h);
        while (adjacency.twin[static_cast<std::size_t>(k)] >= 0) {
            k = next_halfedge(adjacency.twin[static_cast<std::size_t>(k)]);
        }
        return k;
    };
    for (std::size_t i = 0; i < adjacency.twin.size(); ++i) {
        if (adjacency.twin[i] != Adjacency::kBorder || seen[i]) {
            continue;
        }
        std::vector<std::int32_t> loop;
        auto h = static_cast<std::int32_t>(i);
        while (!seen[static_cast<std::size_t>(h)] &&
               adjacency.twin[static_cast<std::size_t>(h)] == Adjacency::kBorder) {
            seen[static_cast<std::size_t>(h)] = true;
            loop.push_back(from_vertex(mesh, h));
            h = follow(h);
        }
        loops.push_back(std::move(loop));
    }
    return loops;
}

}  // namespace cavigram
