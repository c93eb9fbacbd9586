// SPDX-License-Identifier: GPL-3.0-or-later
// The self-crossing verdict on every mesh that tools/dev/fetch_models.sh fetched, against CGAL's
// PMP::self_intersections or, where the mesh can't be a halfedge structure, CGAL's boxes and exact
// predicates.
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <vector>

#include <doctest/doctest.h>

#include "cavigram/core/error.h"
#include "cavigram/io/mesh_format.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/weld.h"
#include "cavigram/repair/crossings.h"

#include "support/oracles.h"

using namespace cavigram;
namespace fs = std::filesystem;

namespace {

std::vector<fs::path> surface_files(const fs::path& folder) {
    std::vector<fs::path> files;
    for (const auto& entry : fs::recursive_directory_iterator(folder)) {
        if (entry.is_regular_file() &&
            format_of({}, entry.path().extension().string()) != nullptr) {
            files.push_back(entry.path());
        }
    }
    std::sort(files.begin(), files.end());
    return files;
}

}  // namespace

TEST_CASE("the same pairs cross as CGAL says, on every mesh of the packages") {
    const fs::path folder = CAVIGRAM_REFERENCE_DATA;
    if (!fs::is_directory(folder)) {
        MESSAGE("SKIPPED: no folder ", folder.string(), "; make it with tools/dev/fetch_models.sh");
        return;
    }
    std::size_t by_halfedges = 0;
    std::size_t by_boxes = 0;
    std::size_t crossing = 0;
    std::size_t unreadable = 0;
    for (const fs::path& file : surface_files(folder)) {
        TriMesh mesh;
        try {
            mesh = weld_exact(read_mesh(file).mesh).mesh;
        } catch (const UnusableInput&) {
            ++unreadable;
            continue;
        }
        if (mesh.triangles.empty()) {
            continue;
        }
        INFO(file.string());
        const bool halfedges = oracle::is_halfedge_mesh(mesh);
        const Adjacency adjacent = adjacency(mesh);
        auto expected = halfedges ? oracle::cgal_self_intersections(mesh)
                                  : oracle::crossing_pairs_by_boxes(mesh);
        std::vector<CrossingPair> ours = crossing_pairs(mesh, adjacent);
        CHECK(crosses_itself(mesh, adjacent) == !ours.empty());
        // CGAL reports a triangle with its corners in line as crossing itself and nothing else;
        // here such a triangle is a segment that may cross others. They are compared without.
        const std::vector<bool> flat = oracle::is_degenerate(mesh);
        const auto has_flat = [&](const CrossingPair& pair) {
            return flat[std::size_t(pair[0])] || flat[std::size_t(pair[1])];
        };
        std::erase_if(expected, has_flat);
        std::erase_if(ours, has_flat);
        CHECK(ours.size() == expected.size());
        CHECK(std::equal(ours.begin(), ours.end(), expected.begin(), expected.end()));
        ++(halfedges ? by_halfedges : by_boxes);
        crossing += expected.empty() ? 0 : 1;
    }
    std::printf(
        "crossings: %zu meshes against CGAL's self_intersections, %zu against its boxes and "
        "predicates; %zu cross themselves; %zu files hold no surface\n",
        by_halfedges, by_boxes, crossing, unreadable);
    CHECK(by_halfedges > 200);
    CHECK(crossing > 20);
}
