// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/column_tree.h"

#include <cmath>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

TEST_CASE("columns that fit the cubes give the very volumes") {
    struct Row {
        Solid solid;
        int columns;  // a whole number to each cube
        std::vector<double> pieces;
    };
    const std::vector<Row> rows = {
        {two_towers(), 192, {4.0, 3.0}}, {u_arms(), 120, {54.0, 36.0}}, {stalagmite(), 160, {}}};
    for (const Row& row : rows) {
        const ColumnTree tree = column_tree(row.solid.mesh, Vec3::UnitZ(), {row.columns});
        CHECK_NEAR(tree.volume_mm3, row.solid.volume_mm3, 1e-12);
        const AirTreeBuilder solid(row.solid.mesh);
        const TreeComparison with = compare(solid, solid.build(Vec3::UnitZ()), tree, 0.01);
        CHECK(with.only_exact == 0);
        CHECK(with.only_columns == 0);
        CHECK(with.largest_mm3 < 1e-9);
        REQUIRE(with.pairs.size() == (row.pieces.empty() ? 2 : row.pieces.size()));
        for (std::size_t i = 0; i < row.pieces.size(); ++i) {
            CHECK_NEAR(with.pairs[i].column_mm3, row.pieces[i], 1e-11);
        }
    }
}

TEST_CASE("the column tree converges to the surface tree") {
    const TriMesh mesh = bumpy_ball(50, 5, 9, 0.15, 0.0, 1);
    const AirTreeBuilder solid(mesh);
    for (const Vec3& up : {Vec3(0.2, -0.3, 0.9), Vec3(-0.5, 0.6, 0.1)}) {
        const AirTree exact = solid.build(up);
        std::vector<double> largest;
        for (const int n : {32, 64, 128, 256}) {
            const TreeComparison with = compare(solid, exact, column_tree(mesh, up, {n}), 100.0);
            MESSAGE("columns ", n, ": largest difference ", with.largest_mm3, " mm3, volume ",
                    with.volume_mm3, " mm3, pieces ", with.pairs.size(), ", unmatched ",
                    with.only_exact + with.only_columns);
            if (n >= 128) {
                CHECK(with.only_exact == 0);
                CHECK(with.only_columns == 0);
                CHECK(with.pairs.size() >= 2);
            }
            largest.push_back(with.largest_mm3);
        }
        // First order at least: from 32 to 256 columns the spacing falls by 8.
        CHECK(largest.back() < largest.front() / 8);
        CHECK(largest.back() < 1e-3 * exact.volume_mm3);
    }
}

TEST_CASE("shells that overlap count once, hollows not at all") {
    const TriMesh box = box_solid(2, 2, 2).mesh;
    const TriMesh both = joined(box, transformed(box, 1.0, Vec3(1, 0, 0)));
    const ColumnTree tree = column_tree(both, Vec3::UnitZ(), {120});
    CHECK(tree.roots.size() == 1);
    CHECK_NEAR(tree.volume_mm3, 12.0, 1e-12);
    const TriMesh hollow = joined(transformed(box, 2.0, Vec3(-1, -1, -1)), flipped(box));
    CHECK_NEAR(column_tree(hollow, Vec3::UnitX(), {120}).volume_mm3, 64.0 - 8.0, 1e-12);
    CHECK(column_tree(joined(box, transformed(box, 1.0, Vec3(5, 0, 0))), Vec3::UnitZ(), {70})
              .roots.size() == 2);
}

TEST_CASE("the same bytes for any number of threads; refusals") {
    const TriMesh mesh = bumpy_ball(50, 5, 9, 0.15, 0.01, 2);
    RunContext context;
    context.threads = 1;
    const ColumnTree alone = column_tree(mesh, Vec3(0.1, 0.2, 1), {100}, context);
    for (const int threads : {2, 5}) {
        context.threads = threads;
        const ColumnTree tree = column_tree(mesh, Vec3(0.1, 0.2, 1), {100}, context);
        CHECK(tree.volume_mm3 == alone.volume_mm3);
        REQUIRE(tree.arcs.size() == alone.arcs.size());
        for (std::size_t i = 0; i < alone.arcs.size(); ++i) {
            CHECK(tree.arcs[i].volume_mm3 == alone.arcs[i].volume_mm3);
            CHECK(tree.arcs[i].saddle_height_mm == alone.arcs[i].saddle_height_mm);
            CHECK(tree.peak_mm[i] == alone.peak_mm[i]);
        }
    }
    CHECK_THROWS_AS(column_tree(mesh, Vec3::Zero()), InvalidInput);
    CHECK_THROWS_AS(column_tree(mesh, Vec3::UnitZ(), {1}), InvalidInput);
    CHECK_THROWS_AS(column_tree(TriMesh{}, Vec3::UnitZ()), UnusableInput);
    std::stop_source stop;
    stop.request_stop();
    context.stop = stop.get_token();
    CHECK_THROWS_AS(column_tree(mesh, Vec3::UnitZ(), {}, context), Cancelled);
}
