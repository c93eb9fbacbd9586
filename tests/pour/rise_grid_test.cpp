// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_grid.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "cavigram/core/error.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/pour/channel_flow.h"
#include "cavigram/spatial/triangle_bvh.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

RiseGrid grid_of(const Solid& solid, std::size_t cells, const Vec3& up = Vec3::UnitZ()) {
    const TriangleBvh surface(solid.mesh);
    const ThicknessMap map =
        thickness_map(solid.mesh, adjacency(solid.mesh), surface, {.samples = 20'000});
    return rise_grid(solid.mesh, up, map, solid.volume_mm3, {.cells = cells});
}

// The share of cells, by volume, whose permeability lies within so much of what is expected.
double share_near(const RiseGrid& grid, double expected, double relative) {
    double near = 0.0;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        if (std::abs(grid.permeability_mm2[c] / expected - 1.0) < relative) {
            near += grid.volume_mm3[c];
        }
    }
    return near / grid.total_mm3();
}

// What passes from the lowest to the highest layer for a pressure that falls evenly: conductances
// of one layer's faces, by layer, the smallest and the largest.
std::array<double, 2> conductance_of_layers(const RiseGrid& grid) {
    std::vector<double> layers(static_cast<std::size_t>(grid.count[2]), 0.0);
    for (std::size_t c = 0; c < grid.size(); ++c) {
        layers[static_cast<std::size_t>(grid.place[c][2])] += grid.conductance_mm3[c][2];
    }
    // Far from both ends: the closed forms have none.
    const auto fifth = static_cast<std::ptrdiff_t>(layers.size() / 5);
    const auto [low, high] = std::minmax_element(layers.begin() + fifth, layers.end() - 1 - fifth);
    return {*low, *high};
}

}  // namespace

TEST_CASE("volume and cells of solids, whichever way up") {
    for (const Vec3& up : {Vec3(0, 0, 1), Vec3(1, 0, 0), Vec3(0.3, -0.5, 0.8)}) {
        const Solid ball = sphere_solid(30.0, 64);
        const RiseGrid grid = grid_of(ball, 20'000, up);
        CHECK_NEAR(grid.total_mm3(), ball.volume_mm3, 1e-12);
        // The edge is chosen for so many cells.
        CHECK(grid.size() > 15'000);
        CHECK(grid.size() < 26'000);
        // Whole cells are whole, before the little that slivers give to all.
        const double whole = std::pow(grid.spacing_mm, 3);
        double most = 0.0;
        for (std::size_t c = 0; c < grid.size(); ++c) {
            most = std::max(most, grid.volume_mm3[c]);
            CHECK((grid.center_mm(c)).norm() < 30.0 + 2.0 * grid.spacing_mm);
        }
        CHECK_NEAR(most, whole, 0.01);
        CHECK_NEAR(grid.height_mm(0), grid.frame.z.dot(grid.center_mm(0)), 1e-9);
        CHECK(grid.left_out_mm3 < 0.002 * ball.volume_mm3);
    }
}

TEST_CASE("neighbors and conductances agree from both sides") {
    const RiseGrid grid = grid_of(torus_solid(40, 10, 48), 10'000);
    for (std::size_t c = 0; c < grid.size(); ++c) {
        for (std::size_t side = 0; side < 6; ++side) {
            const std::int32_t n = grid.neighbor[c][side];
            if (n >= 0) {
                CHECK(grid.neighbor[static_cast<std::size_t>(n)][side ^ 1U] ==
                      static_cast<std::int32_t>(c));
                CHECK(grid.place[static_cast<std::size_t>(n)][side / 2] ==
                      grid.place[c][side / 2] + (side % 2 == 1 ? 1 : -1));
            }
        }
        for (std::size_t axis = 0; axis < 3; ++axis) {
            CHECK((grid.neighbor[c][2 * axis + 1] >= 0) == (grid.conductance_mm3[c][axis] > 0.0));
        }
    }
}

// docs/checks.md F0: a wall of 2 mm, far thinner than a cell or a few cells thick, has the
// permeability of plates 2 mm apart, and passes foam as wide as it is.
TEST_CASE("a thin wall conducts by its own thickness") {
    const Solid wall = box_solid(60, 2, 80);
    for (const std::size_t cells : {1'000UL, 20'000UL}) {
        const RiseGrid grid = grid_of(wall, cells);
        CHECK(share_near(grid, plate_permeability_mm2(2.0), 0.15) > 0.9);
        // K times section over cell: what a layer passes.
        const double expected = plate_permeability_mm2(2.0) * 60.0 * 2.0 / grid.spacing_mm;
        const auto [low, high] = conductance_of_layers(grid);
        MESSAGE(grid.size(), " cells of ", grid.spacing_mm, ": ", low / expected, " to ",
                high / expected, " of the plates'");
        CHECK_NEAR(low, expected, 0.1);
        CHECK_NEAR(high, expected, 0.1);
    }
}

// docs/checks.md F0: a tube of 10 mm, at cells of a tenth and of half its width.
TEST_CASE("a round rod conducts as a tube") {
    const Solid rod = cylinder_solid(5.0, 80.0, 48);
    for (const std::size_t cells : {1'000UL, 8'000UL}) {
        const RiseGrid grid = grid_of(rod, cells);
        const double expected =
            tube_permeability_mm2(10.0) * std::numbers::pi * 25.0 / grid.spacing_mm;
        const auto [low, high] = conductance_of_layers(grid);
        MESSAGE(grid.size(), " cells of ", grid.spacing_mm, ": ", low / expected, " to ",
                high / expected, " of the tube's");
        CHECK_NEAR(low, expected, 0.3);
        CHECK_NEAR(high, expected, 0.3);
    }
}

TEST_CASE("cells are found by place") {
    const RiseGrid grid = grid_of(box_solid(20, 20, 20), 5'000);
    const CellFinder finder(grid);
    for (std::size_t c = 0; c < grid.size(); c += 17) {
        CHECK(finder.at(grid.place[c]) == static_cast<std::int32_t>(c));
        CHECK(finder.nearest(grid.center_mm(c)) == static_cast<std::int32_t>(c));
    }
    CHECK(finder.at({-1, 0, 0}) == -1);
    CHECK(finder.nearest(Vec3(10, 10, 20.4)) >= 0);
    CHECK(finder.nearest(Vec3(10, 10, 200)) == -1);
}

TEST_CASE("what can't be cut is refused") {
    const Solid box = box_solid(20, 20, 20);
    CHECK_THROWS_AS(static_cast<void>(grid_of(box, 10)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(grid_of(box, 100'000'000)), InvalidInput);
    RiseVoxels voxels;
    voxels.count = {2, 2, 2};
    voxels.permeability_mm2.assign(7, 1.0);
    CHECK_THROWS_AS(static_cast<void>(voxel_grid(voxels)), InvalidInput);
}
