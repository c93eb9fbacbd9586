// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_seams.h"

#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

#include "support/near.h"

using namespace cavigram;

namespace {

RiseGrid box(std::int32_t nx, std::int32_t ny, std::int32_t nz, double cell_mm) {
    RiseVoxels voxels;
    voxels.count = {nx, ny, nz};
    voxels.spacing_mm = cell_mm;
    voxels.permeability_mm2.assign(
        static_cast<std::size_t>(nx) * static_cast<std::size_t>(ny) * static_cast<std::size_t>(nz),
        1.0);
    return voxel_grid(voxels);
}

std::vector<double> times(const RiseGrid& grid, const std::function<double(const Vec3&)>& at) {
    std::vector<double> arrival;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        arrival.push_back(at(grid.center_mm(c)));
    }
    return arrival;
}

}  // namespace

// Closed forms: the front of two sources meets on the plane between them.
TEST_CASE("two plane fronts meet on one plane") {
    for (const double meet_mm : {30.0, 31.0}) {  // on a face, and in the middle of a cell
        const RiseGrid grid = box(30, 10, 8, 2.0);
        const std::vector<RiseSeam> seams = meeting_seams(
            grid,
            times(grid, [&](const Vec3& p) { return 5.0 + meet_mm - std::abs(p.x() - meet_mm); }));
        REQUIRE(seams.size() == 1);
        CHECK_NEAR(seams[0].area_mm2, 20.0 * 16.0, 1e-9);
        CHECK(std::abs(seams[0].at_mm.x() - meet_mm) <= 1.0);
        CHECK(std::abs(seams[0].time_s - (5.0 + meet_mm)) <= 1.0);
    }
}

TEST_CASE("a slanting seam has the area of its plane") {
    // Fronts along (1, 1, 0) and against it meet on x + y = 40 in a box of 40 x 40 x 10.
    const RiseGrid grid = box(40, 40, 10, 1.0);
    const std::vector<RiseSeam> seams = meeting_seams(
        grid, times(grid, [](const Vec3& p) { return 100.0 - std::abs(p.x() + p.y() - 40.0); }));
    REQUIRE(seams.size() == 1);
    CHECK_NEAR(seams[0].area_mm2, 40.0 * std::numbers::sqrt2 * 10.0, 0.06);
    CHECK(std::abs(seams[0].at_mm.x() + seams[0].at_mm.y() - 40.0) <= 1.0);
}

TEST_CASE("fronts that run side by side, levels, and places without foam have no seam") {
    const RiseGrid grid = box(30, 10, 8, 1.0);
    // A level.
    CHECK(meeting_seams(grid, times(grid, [](const Vec3& p) { return p.z(); })).empty());
    // Two that meet at a right angle.
    CHECK(meeting_seams(grid,
                        times(grid, [](const Vec3& p) { return p.z() - std::abs(p.x() - 15.0); }))
              .empty());
    // One from a point.
    CHECK(meeting_seams(grid, times(grid, [](const Vec3& p) { return p.norm(); })).empty());
    CHECK(
        meeting_seams(
            grid, times(grid, [](const Vec3&) { return std::numeric_limits<double>::infinity(); }))
            .empty());
}
