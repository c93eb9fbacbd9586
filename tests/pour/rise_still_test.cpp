// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_still.h"

#include <cmath>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/repair/part.h"
#include "cavigram/spatial/triangle_bvh.h"
#include "cavigram/venting/pockets.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

RiseGrid grid_of(const TriMesh& mesh, double volume_mm3, const Vec3& up, std::size_t cells) {
    const TriangleBvh surface(mesh);
    return rise_grid(mesh, up, thickness_map(mesh, adjacency(mesh), surface, {.samples = 5'000}),
                     volume_mm3, {.cells = cells});
}

}  // namespace

TEST_CASE("a box fills from below") {
    const Solid box = box_solid(20, 20, 40);
    const RiseGrid grid = grid_of(box.mesh, box.volume_mm3, Vec3::UnitZ(), 8'000);
    const CellFinder finder(grid);
    const StillRise rise = still_rise(grid, {{finder.nearest(Vec3(10, 10, 40)), 1.0}}, 10.0);
    CHECK(rise.sealed.empty());
    REQUIRE(rise.room_mm3.size() == 1);
    CHECK_NEAR(rise.room_mm3[0], 16'000.0, 1e-9);
    for (std::size_t c = 0; c < grid.size(); ++c) {
        // What is below the middle of a layer.
        CHECK(std::abs(rise.arrival_mm3[c] - 400.0 * grid.height_mm(c)) < 400.0 * grid.spacing_mm);
    }
}

// Two independent methods: cells, and the join tree of the surface.
TEST_CASE("air that stays equals the air tree's pockets") {
    struct Case {
        const char* name;
        Solid solid;
        std::vector<Vec3> holes;
    };
    const std::vector<Case> cases = {
        {"u arms", u_arms(), {Vec3(1, 1.5, 10)}},
        {"two towers", two_towers(), {Vec3(0.5, 0.5, 5)}},
        {"stalagmite", stalagmite(), {Vec3(0.5, 0.5, 10)}},
        {"bowl", bowl(30, 24, 48), {Vec3(27, 0, 0)}},
        {"bent tube", bent_tube(40, 8, 0.3, 2.6, 24), {}},
        {"torus", torus_solid(40, 12, 64), {}},
        {"ball", sphere_solid(30, 48), {}},
    };
    for (const Case& one : cases) {
        for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, 0, -1), Vec3(1, 0, 0), Vec3(0.6, 0.3, 0.7)}) {
            const Part part = part_from_closed(one.solid.mesh);
            const AirTreeBuilder builder(part);
            const AirTree tree = builder.build(up);
            Openings openings;
            openings.pour_holes_mm = one.holes;
            const AirPockets pockets = air_pockets(builder, tree, openings);
            const RiseGrid grid = grid_of(one.solid.mesh, one.solid.volume_mm3, up, 40'000);
            const CellFinder finder(grid);
            std::vector<RiseOpening> holes;
            for (const Opening& opening : pockets.openings) {
                holes.push_back({finder.nearest(opening.place_mm), 1.0});
            }
            const StillRise rise = still_rise(grid, holes, 0.0);
            double air = 0.0;
            for (const SealedAir& sealed : rise.sealed) {
                air += sealed.volume_mm3;
            }
            INFO(one.name, " up ", up.x(), " ", up.y(), " ", up.z(), ": cells ", air, ", tree ",
                 pockets.unvented.total_mm3);
            // A layer of cells over each pocket's and each ceiling's section is what they can't
            // tell.
            CHECK(std::abs(air - pockets.unvented.total_mm3) < 0.05 * one.solid.volume_mm3);
        }
    }
}
