// SPDX-License-Identifier: GPL-3.0-or-later
#include <filesystem>

#include "cavigram/core/text.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/weld.h"

#include "corruption_run.h"

using namespace corruption;

TEST_CASE("the corruption bench: exact solids and closed scans, five seeds") {
    std::vector<Body> bodies = exact_bodies();
    const std::filesystem::path data = CAVIGRAM_REFERENCE_DATA;
    for (const char* name :
         {"libcgal-demo/data/meshes/bear.off", "libcgal-demo/data/meshes/camel.off",
          "libcgal-demo/data/meshes/man.off", "bunny/bunny.off"}) {
        if (!std::filesystem::exists(data / name)) {
            MESSAGE("left out, not there: " << std::string(name));
            continue;
        }
        TriMesh mesh = cavigram::weld_exact(cavigram::read_mesh(data / name).mesh).mesh;
        mesh = transformed(std::move(mesh), 100.0 / bounds(mesh).size().maxCoeff(), Vec3::Zero());
        const bool sound = oracle::is_halfedge_mesh(mesh) && oracle::cgal_is_closed(mesh) &&
                           oracle::cgal_self_intersections(mesh).empty();
        if (!sound || oracle::cgal_volume(mesh) <= 0.0) {
            MESSAGE("left out, not sound to begin with: " << std::string(name));
            continue;
        }
        bodies.push_back(
            {std::filesystem::path(name).stem().string(), mesh, oracle::cgal_volume(mesh), false});
    }
    const Row total = run(bodies, 5);
    CHECK(total.mended >= 0.98 * total.cases);
    CHECK(median(total.errors) < 0.01);
    CHECK(total.held >= 0.95 * total.cases);
}
