// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/column_tree.h"

#include <stop_token>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

TEST_CASE("columns that fit the cubes give the very volume and pieces") {
    // A tower of 3 that parts from the plate at z = 1; 192 columns are 64 to a cube.
    const ColumnTree tree = column_tree(two_towers().mesh, Vec3::UnitZ(), {192});
    CHECK_NEAR(tree.volume_mm3, two_towers().volume_mm3, 1e-12);
    CHECK_NEAR(tree.spacing_mm, 3.0 / 192, 1e-14);
    CHECK(tree.roots.size() == 1);
    bool found = false;
    for (std::size_t i = 0; i < tree.arcs.size(); ++i) {
        const AirTree::Arc& arc = tree.arcs[i];
        if (arc.parent >= 0 && arc.peak_height_mm == 4.0 && arc.saddle_height_mm == 1.0) {
            CHECK_NEAR(arc.volume_mm3, 3.0, 1e-12);
            CHECK(tree.peak_mm[i].z() == 4.0);
            CHECK(tree.peak_mm[i].x() > 2.0);
            found = true;
        }
    }
    CHECK(found);
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
    CHECK_THROWS_AS(static_cast<void>(column_tree(mesh, Vec3::Zero())), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(column_tree(mesh, Vec3::UnitZ(), {1})), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(column_tree(TriMesh{}, Vec3::UnitZ())), UnusableInput);
    std::stop_source stop;
    stop.request_stop();
    context.stop = stop.get_token();
    CHECK_THROWS_AS(static_cast<void>(column_tree(mesh, Vec3::UnitZ(), {}, context)), Cancelled);
}
