// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/adjacency.h"

#include <algorithm>

#include "cavigram/core/large_array.h"

namespace cavigram {

namespace {

std::int32_t from_vertex(const TriMesh& mesh, std::int32_t h) {
    return mesh.triangles[static_cast<std::size_t>(h / 3)][static_cast<std::size_t>(h % 3)];
}

// Groups longer than this are sorted before they are paired; the apex of a fan of a million
// triangles must not cost a million squared.
constexpr std::uint32_t kLongGroup = 32;

// One side of an edge, filed under the edge's lower vertex. The lowest bit of `key` is 1 where it
// runs downward, from the higher vertex; the rest is the higher vertex.
struct Side {
    std::uint32_t key = 0;
    std::int32_t halfedge = 0;
};

Side side_of(std::int32_t from, std::int32_t to, std::int32_t halfedge) {
    const bool down = from > to;
    const auto higher = static_cast<std::uint32_t>(down ? from : to);
    return {2 * higher + (down ? 1U : 0U), halfedge};
}

// All sides by their lower vertex, by counting (compressed rows), in order of halfedges.
struct SidesByVertex {
    std::vector<std::uint32_t> first;  // one more than vertices
    std::vector<Side> sides;
};

SidesByVertex sides_by_vertex(const TriMesh& mesh) {
    SidesByVertex by;
    // Counted two places ahead, so that after the sums place v + 1 is where v's sides begin, and
    // after filing where they end: no second copy of the rows is needed.
    resize_large(by.first, mesh.vertices.size() + 2);
    for (const Triangle& t : mesh.triangles) {
        ++by.first[static_cast<std::size_t>(std::min(t[0], t[1])) + 2];
        ++by.first[static_cast<std::size_t>(std::min(t[1], t[2])) + 2];
        ++by.first[static_cast<std::size_t>(std::min(t[2], t[0])) + 2];
    }
    for (std::size_t v = 2; v < by.first.size(); ++v) {
        by.first[v] += by.first[v - 1];
    }
    resize_large(by.sides, 3 * mesh.triangles.size());
    std::int32_t h = 0;
    for (const Triangle& t : mesh.triangles) {
        for (std::size_t i = 0; i < 3; ++i, ++h) {
            const std::int32_t a = t[i];
            const std::int32_t b = t[i == 2 ? 0 : i + 1];
            by.sides[by.first[static_cast<std::size_t>(std::min(a, b)) + 1]++] = side_of(a, b, h);
        }
    }
    return by;
}

// The sides filed under one vertex: sorted by their edges where they are many.
struct SideGroup {
    Side* begin = nullptr;
    Side* end = nullptr;
    bool sorted = false;

    [[nodiscard]] static bool one_edge(const Side& s, const Side& t) {
        return s.key / 2 == t.key / 2;
    }
    void sort_if_long() {
        sorted = end - begin > kLongGroup;
        if (sorted) {
            std::stable_sort(begin, end,
                             [](const Side& s, const Side& t) { return s.key / 2 < t.key / 2; });
        }
    }
    // Shows `visit` the sides of the edge of `s` behind it.
    template <class Visit>
    void others_of(const Side* s, const Visit& visit) const {
        for (const Side* t = s + 1; t != end && (!sorted || one_edge(*t, *s)); ++t) {
            if (one_edge(*t, *s)) {
                visit(*t);
            }
        }
    }
};

// Pairs a side with the one across, or finds that its edge is a border or irregular.
void settle(const Side& s, const SideGroup& group, std::uint32_t vertex, Adjacency& result) {
    // The other sides of this edge lie behind this one. A triangle that names a vertex twice has an
    // edge from it to itself, which is never regular.
    std::size_t others = s.key / 2 == vertex ? 1 : 0;
    const Side* other = nullptr;
    group.others_of(&s, [&](const Side& t) {
        ++others;
        other = &t;
    });
    if (others == 0) {
        ++result.border_halfedges;
        return;
    }
    if (others == 1 && other != nullptr && s.key != other->key) {
        result.twin[static_cast<std::size_t>(s.halfedge)] = other->halfedge;
        result.twin[static_cast<std::size_t>(other->halfedge)] = s.halfedge;
        return;
    }
    const auto make_irregular = [&](const Side& t) {
        result.twin[static_cast<std::size_t>(t.halfedge)] = Adjacency::kIrregular;
        ++result.irregular_halfedges;
    };
    make_irregular(s);
    group.others_of(&s, make_irregular);
}

}  // namespace

Adjacency adjacency(const TriMesh& mesh) {
    SidesByVertex by = sides_by_vertex(mesh);
    Adjacency result;
    resize_large(result.twin, 3 * mesh.triangles.size(), Adjacency::kBorder);
    for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
        SideGroup group{by.sides.data() + by.first[v], by.sides.data() + by.first[v + 1]};
        group.sort_if_long();
        for (const Side* s = group.begin; s != group.end; ++s) {
            // Otherwise settled from another side of the edge.
            if (result.twin[static_cast<std::size_t>(s->halfedge)] == Adjacency::kBorder) {
                settle(*s, group, static_cast<std::uint32_t>(v), result);
            }
        }
    }
    return result;
}

Shells shells(const TriMesh& mesh, const Adjacency& adjacency) {
    Shells result;
    resize_large(result.of_triangle, mesh.triangles.size(), -1);
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
