// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_pool.h"

#include <algorithm>
#include <numeric>
#include <string>
#include <vector>

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

namespace {

// A picture in x and z, rows from above; '#' is cavity.
RiseGrid picture(const std::vector<std::string>& rows) {
    RiseVoxels voxels;
    voxels.count = {static_cast<std::int32_t>(rows[0].size()), 1,
                    static_cast<std::int32_t>(rows.size())};
    for (auto row = rows.rbegin(); row != rows.rend(); ++row) {
        for (const char c : *row) {
            voxels.share.push_back(c == '#' ? 1.0 : 0.0);
            voxels.permeability_mm2.push_back(1.0);
        }
    }
    return voxel_grid(voxels);
}

std::vector<std::string> shown(const RiseGrid& grid, const LiquidStart& start) {
    std::vector<std::string> rows(static_cast<std::size_t>(grid.count[2]),
                                  std::string(static_cast<std::size_t>(grid.count[0]), ' '));
    for (std::size_t c = 0; c < grid.size(); ++c) {
        const double share = start.liquid_mm3[c] / grid.volume_mm3[c];
        rows[static_cast<std::size_t>(grid.count[2] - 1 - grid.place[c][2])]
            [static_cast<std::size_t>(grid.place[c][0])] = share > 0.999   ? 'o'
                                                           : share > 0.001 ? '-'
                                                                           : '.';
    }
    return rows;
}

double sum(const LiquidStart& start) {
    return std::accumulate(start.liquid_mm3.begin(), start.liquid_mm3.end(), 0.0);
}

}  // namespace

TEST_CASE("liquid fills its basin and runs over the lowest sill") {
    const RiseGrid grid = picture({
        "########",
        "##    ##",
        "##    ##",
    });
    const CellFinder finder(grid);
    // Three go into the left basin, where it lands.
    const LiquidStart left = liquid_at_rest(grid, finder, {3.0, Vec3(0.5, 0.5, 0.5), 0.0});
    CHECK(shown(grid, left) == std::vector<std::string>{"........", "--    ..", "oo    .."});
    CHECK_NEAR(sum(left), 3.0, 1e-12);
    // Ten: both basins, and something over the sill.
    const LiquidStart both = liquid_at_rest(grid, finder, {10.0, Vec3(7.5, 0.5, 0.5), 0.0});
    CHECK(shown(grid, both)[2] == "oo    oo");
    CHECK(shown(grid, both)[1] == "oo    oo");
    CHECK_NEAR(sum(both), 10.0, 1e-12);
    CHECK(both.unreached_mm3 == 0.0);
}

TEST_CASE("a surface is level") {
    const RiseGrid grid = picture({"######", "######"});
    const CellFinder finder(grid);
    const LiquidStart start = liquid_at_rest(grid, finder, {3.0, Vec3(2.5, 0.5, 0.5), 0.0});
    for (std::size_t c = 0; c < 6; ++c) {
        CHECK_NEAR(start.liquid_mm3[c], 0.5, 1e-12);
    }
}

TEST_CASE("a film on the walls, the rest below") {
    const RiseGrid grid = picture({"####", "####", "####", "####"});
    const CellFinder finder(grid);
    const LiquidStart start = liquid_at_rest(grid, finder, {6.0, {}, 0.1});
    CHECK_NEAR(sum(start), 6.0, 1e-12);
    for (const double liquid : start.liquid_mm3) {
        CHECK(liquid > 0.0);
        CHECK(liquid <= 1.0 + 1e-12);
    }
    // Less liquid than the film would take: all of it is film.
    const LiquidStart little = liquid_at_rest(grid, finder, {0.5, {}, 0.1});
    CHECK_NEAR(sum(little), 0.5, 1e-12);
    CHECK(*std::min_element(little.liquid_mm3.begin(), little.liquid_mm3.end()) > 0.0);
}

TEST_CASE("solids share the liquid, scraps get none") {
    std::vector<std::string> rows(10, std::string(12, '#'));
    for (std::string& row : rows) {
        row[8] = ' ';
        row[10] = ' ';
        row[11] = ' ';
    }
    for (std::size_t i = 1; i < rows.size(); ++i) {
        rows[i][9] = ' ';
    }
    const RiseGrid grid = picture(rows);
    const CellFinder finder(grid);
    const LiquidStart start = liquid_at_rest(grid, finder, {20.0, Vec3(1.5, 0.5, 0.5), 0.0});
    CHECK_NEAR(start.unreached_mm3, 1.0, 1e-12);
    CHECK(start.piece_liquid_mm3.size() == 1);
    CHECK(std::count(start.unreached.begin(), start.unreached.end(), 1) == 1);
    CHECK_NEAR(sum(start), 20.0, 1e-12);
    const RiseGrid two = picture({"## ####", "## ####"});
    const CellFinder finder_two(two);
    const LiquidStart shared = liquid_at_rest(two, finder_two, {3.0, Vec3(4.0, 0.5, 0.5), 0.0});
    REQUIRE(shared.piece_liquid_mm3.size() == 2);
    CHECK_NEAR(shared.piece_liquid_mm3[1], 2.0, 1e-12);
    CHECK(shared.piece[0] == 0);
    CHECK(shared.piece[2] == 1);
    CHECK_NEAR(shared.liquid_mm3[0] + shared.liquid_mm3[1], 1.0, 1e-12);
}

TEST_CASE("more liquid than room is refused") {
    const RiseGrid grid = picture({"##"});
    const CellFinder finder(grid);
    CHECK_THROWS_AS(static_cast<void>(liquid_at_rest(grid, finder, {3.0, {}, 0.0})), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(liquid_at_rest(grid, finder, {0.0, {}, 0.0})), InvalidInput);
}
