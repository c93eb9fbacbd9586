// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/unite.h"

#include <algorithm>
#include <exception>
#include <map>
#include <numeric>
#include <optional>
#include <random>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/corefinement.h>
#include <CGAL/Surface_mesh.h>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/submesh_detail.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Surface = CGAL::Surface_mesh<Kernel::Point_3>;

constexpr std::size_t kChecks = 2000;  // points
constexpr double kMostDisagree =
    5e-3;  // of them: those within rounding of a surface, and thin slivers of overlap
constexpr std::size_t kGrid = 48;

std::optional<Surface> surface_of(const TriMesh& mesh) {
    Surface surface;
    for (const Vec3& p : mesh.vertices) {
        surface.add_vertex(Kernel::Point_3(p.x(), p.y(), p.z()));
    }
    for (const Triangle& t : mesh.triangles) {
        const auto vertex = [&](std::size_t i) {
            return Surface::Vertex_index(static_cast<Surface::size_type>(t[i]));
        };
        if (surface.add_face(vertex(0), vertex(1), vertex(2)) == Surface::null_face()) {
            return std::nullopt;
        }
    }
    return surface;
}

TriMesh mesh_of(Surface& surface) {
    surface.collect_garbage();
    TriMesh mesh;
    for (const Surface::Vertex_index v : surface.vertices()) {
        const auto& p = surface.point(v);
        mesh.vertices.emplace_back(p.x(), p.y(), p.z());
    }
    for (const Surface::Face_index f : surface.faces()) {
        const auto h = surface.halfedge(f);
        const auto index = [](Surface::Vertex_index v) {
            return static_cast<std::int32_t>(v.idx());
        };
        mesh.triangles.push_back({index(surface.source(h)), index(surface.target(h)),
                                  index(surface.target(surface.next(h)))});
    }
    return mesh;
}

std::optional<TriMesh> union_of(const std::vector<TriMesh>& shells) {
    try {
        std::optional<Surface> whole = surface_of(shells.front());
        for (std::size_t i = 1; whole && i < shells.size(); ++i) {
            std::optional<Surface> next = surface_of(shells[i]);
            Surface both;
            if (!next ||
                !CGAL::Polygon_mesh_processing::corefine_and_compute_union(
                    *whole, *next, both, CGAL::parameters::throw_on_self_intersection(true))) {
                return std::nullopt;
            }
            whole = std::move(both);
        }
        return whole ? std::optional(mesh_of(*whole)) : std::nullopt;
    } catch (const Cancelled&) {
        throw;
    } catch (const std::exception&) {
        return std::nullopt;  // CGAL gives up on shells that cross themselves there
    }
}

// How often the shells wind around points; each shell counts as solid by itself.
class Solids {
  public:
    explicit Solids(const std::vector<TriMesh>& shells) {
        for (const TriMesh& shell : shells) {
            trees_.emplace_back(shell);
        }
    }
    [[nodiscard]] int count(const Vec3& p) const {
        int inside = 0;
        for (const TriangleBvh& tree : trees_) {
            inside += tree.winding(p) > 0 ? 1 : 0;
        }
        return inside;
    }

  private:
    std::vector<TriangleBvh> trees_;
};

bool agrees(const TriMesh& whole, const Solids& solids, const Box3& box) {
    const TriangleBvh tree(whole);
    std::mt19937_64 random(1);  // fixed seed; the generator's bits are the same everywhere, unlike
                                // the library's distributions
    const auto unit = [&] { return static_cast<double>(random() >> 11) * 0x1p-53; };
    std::size_t wrong = 0;
    for (std::size_t i = 0; i < kChecks; ++i) {
        const Vec3 p = box.min + Vec3(unit(), unit(), unit()).cwiseProduct(box.size());
        wrong += tree.winding(p) != (solids.count(p) > 0 ? 1 : 0) ? 1 : 0;
    }
    return static_cast<double>(wrong) <= kMostDisagree * kChecks;
}

// Volume that is counted more than once, on a grid of cell centers; error as if a layer of half the
// cells at the overlap's surface were wrong by chance.
double overlap_by_grid(const Solids& solids, const Box3& box, const RunContext& context) {
    const auto sums = map_blocks<std::size_t>(kGrid, 4, context, [&](const Block& block) {
        std::size_t sum = 0;
        for (std::size_t z = block.begin; z < block.end; ++z) {
            for (std::size_t y = 0; y < kGrid; ++y) {
                for (std::size_t x = 0; x < kGrid; ++x) {
                    const Vec3 share = (Vec3(static_cast<double>(x), static_cast<double>(y),
                                             static_cast<double>(z))
                                            .array() +
                                        0.5) /
                                       kGrid;
                    const int count = solids.count(box.min + share.cwiseProduct(box.size()));
                    sum += static_cast<std::size_t>(std::max(0, count - 1));
                }
            }
        }
        return sum;
    });
    const double cells =
        static_cast<double>(std::accumulate(sums.begin(), sums.end(), std::size_t{0}));
    return cells * box.size().prod() / static_cast<double>(kGrid * kGrid * kGrid);
}

// Whether an inward shell is a hollow that touches its wall, rather than a solid turned inside out:
// nine of ten of its vertices lie in shells that look outward.
bool is_hollow(const TriMesh& mesh, const std::vector<std::vector<std::int32_t>>& triangles,
               const std::vector<std::size_t>& group, std::size_t self, const TriMesh& shell) {
    std::vector<TriMesh> outward;
    for (const std::size_t s : group) {
        TriMesh other = submesh(mesh, triangles[s]);
        if (s != self && signed_volume_mm3(other) > 0.0) {
            outward.push_back(std::move(other));
        }
    }
    const Solids solids(outward);
    const std::size_t stride = shell.vertices.size() / 1000 + 1;
    std::size_t tried = 0;
    std::size_t inside = 0;
    for (std::size_t v = 0; v < shell.vertices.size(); v += stride) {
        ++tried;
        inside += solids.count(shell.vertices[v]) > 0 ? 1 : 0;
    }
    return 10 * inside >= 9 * tried;
}

std::vector<std::vector<std::size_t>> crossing_groups(const Shells& shells,
                                                      const std::vector<CrossingPair>& pairs) {
    std::vector<std::size_t> first(static_cast<std::size_t>(shells.count));
    std::iota(first.begin(), first.end(), std::size_t{0});
    const auto lead = [&](std::size_t s) {
        while (first[s] != s) {
            s = first[s] = first[first[s]];
        }
        return s;
    };
    for (const CrossingPair& pair : pairs) {
        const std::size_t a =
            lead(static_cast<std::size_t>(shells.of_triangle[static_cast<std::size_t>(pair[0])]));
        const std::size_t b =
            lead(static_cast<std::size_t>(shells.of_triangle[static_cast<std::size_t>(pair[1])]));
        first[std::max(a, b)] = std::min(a, b);
    }
    std::map<std::size_t, std::vector<std::size_t>> groups;
    for (std::size_t s = 0; s < first.size(); ++s) {
        groups[lead(s)].push_back(s);
    }
    std::vector<std::vector<std::size_t>> list;
    for (auto& [leader, members] : groups) {
        if (members.size() > 1) {
            list.push_back(std::move(members));
        }
    }
    return list;
}

}  // namespace

Uniting unite_crossing(const TriMesh& mesh, const Shells& shells,
                       const std::vector<CrossingPair>& pairs, const RunContext& context) {
    Uniting result;
    const auto groups = crossing_groups(shells, pairs);
    if (groups.empty()) {
        result.mesh = mesh;
        return result;
    }
    const std::vector<std::vector<std::int32_t>> triangles = triangles_of_shells(shells);
    std::vector<bool> replaced(triangles.size(), false);
    TriMesh added;
    std::vector<Vec3> failed_places;
    for (const auto& group : groups) {
        context.report("uniting solids", 0.0);
        std::vector<TriMesh> solids;
        Box3 box;
        double sum = 0.0;
        double largest = 0.0;
        double hollow = 0.0;
        for (const std::size_t s : group) {
            TriMesh shell = submesh(mesh, triangles[s]);
            const double volume = signed_volume_mm3(shell);
            if (volume < 0.0 && is_hollow(mesh, triangles, group, s, shell)) {
                hollow -= volume;
            }
            if (volume < 0.0) {
                shell = flipped(std::move(shell));
            }
            sum += std::abs(volume);
            largest = std::max(largest, std::abs(volume));
            box.extend(bounds(shell));
            solids.push_back(std::move(shell));
        }
        Vec3 place = Vec3::Zero();
        for (const CrossingPair& pair : pairs) {
            const auto a =
                static_cast<std::size_t>(shells.of_triangle[static_cast<std::size_t>(pair[0])]);
            const auto b =
                static_cast<std::size_t>(shells.of_triangle[static_cast<std::size_t>(pair[1])]);
            if (a != b && std::binary_search(group.begin(), group.end(), a)) {
                place = mesh.corner(static_cast<std::size_t>(pair[0]), 0);
                break;
            }
        }
        if (hollow > 0.0) {
            ++result.failed;  // a hollow that breaks through its wall: no union of solids
            ++result.broken_hollows;
            result.broken_hollow_mm3 += hollow;
            failed_places.push_back(place);
            continue;
        }
        for (const std::size_t s : group) {
            replaced[s] = true;
        }
        const Solids counted(solids);
        const std::optional<TriMesh> whole = union_of(solids);
        const double volume = whole ? signed_volume_mm3(*whole) : 0.0;
        const double slack = 1e-9 * sum;
        if (whole && adjacency(*whole).closed() && volume >= largest - slack &&
            volume <= sum + slack && agrees(*whole, counted, box)) {
            ++result.groups;
            result.shells += group.size();
            result.overlap_mm3 += sum - volume;
            result.places_mm.push_back(place);
            added = joined(std::move(added), *whole);
            continue;
        }
        ++result.failed;
        failed_places.push_back(place);
        const double overlap = overlap_by_grid(counted, box, context);
        result.overlap_kept_mm3 += overlap;
        // The surface of the overlap passes through about 6 n^2 of n^3 cells of its box; half of
        // each may be miscounted, at random.
        result.overlap_error_mm3 += 0.5 * box.size().prod() / kGrid / kGrid * std::sqrt(6.0);
        for (const TriMesh& solid : solids) {
            added = joined(std::move(added), solid);
        }
    }
    result.places_mm.insert(result.places_mm.end(), failed_places.begin(), failed_places.end());
    std::vector<std::int32_t> kept;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        if (!replaced[static_cast<std::size_t>(shells.of_triangle[t])]) {
            kept.push_back(static_cast<std::int32_t>(t));
        }
    }
    result.mesh = joined(submesh(mesh, kept), added);
    return result;
}

}  // namespace cavigram
