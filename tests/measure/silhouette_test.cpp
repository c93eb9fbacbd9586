// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/silhouette.h"

#include <numbers>

#include "cavigram/core/error.h"
#include "cavigram/geom/directions.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

const View kTop = view_from(Vec3::UnitZ(), Vec3::UnitY());

double area_of(const Silhouette& shadow) {
    double twice = 0.0;
    for (const auto& loop : shadow.loops) {
        for (std::size_t i = 0; i < loop.size(); ++i) {
            const Vec2& p = loop[i];
            const Vec2& q = loop[(i + 1) % loop.size()];
            twice += p.x() * q.y() - p.y() * q.x();
        }
    }
    return 0.5 * twice;
}

}  // namespace

TEST_CASE("a box from above is its base, with four corners") {
    const Silhouette shadow = silhouette(box_solid(100, 60, 40).mesh, kTop);
    REQUIRE(shadow.loops.size() == 1);
    CHECK(shadow.cell_mm == doctest::Approx(0.05));
    CHECK(shadow.loops[0].size() <= 8);
    // No point is farther than a cell off: perimeter times cell bounds the area's error.
    CHECK(std::abs(area_of(shadow) - 6000.0) < 320.0 * shadow.cell_mm);
    CHECK(std::abs(shadow.area_mm2 - 6000.0) < 320.0 * shadow.cell_mm);
    for (const Vec2& p : shadow.loops[0]) {
        const double x = std::min(std::abs(p.x()), std::abs(p.x() - 100));
        const double y = std::min(std::abs(p.y()), std::abs(p.y() - 60));
        CHECK(std::min(x, y) <= shadow.cell_mm);
    }
}

TEST_CASE("a torus from above has a hole, from the side none") {
    const TriMesh torus = torus_solid(50, 15, 720).mesh;
    const Silhouette above = silhouette(torus, kTop);
    REQUIRE(above.loops.size() == 2);
    // The ring between R - r and R + r. Each stretch of outline is at most half a cell off on
    // average, so half a cell times the perimeter bounds the area's error.
    CHECK(std::abs(area_of(above) - pi * (65.0 * 65 - 35.0 * 35)) <
          0.5 * above.cell_mm * 2 * pi * (65 + 35));
    // Each point within a cell of one of the two circles.
    for (const auto& loop : above.loops) {
        for (const Vec2& p : loop) {
            CHECK(std::min(std::abs(p.norm() - 65), std::abs(p.norm() - 35)) <= above.cell_mm);
        }
    }
    const Silhouette beside = silhouette(torus, view_from(-Vec3::UnitY(), Vec3::UnitZ()));
    REQUIRE(beside.loops.size() == 1);
    // A stadium: a rectangle of 2R x 2r and two half circles of r.
    CHECK(std::abs(area_of(beside) - (100.0 * 30 + pi * 15 * 15)) <
          0.5 * beside.cell_mm * (2 * 100 + 2 * pi * 15));
}

TEST_CASE("Cauchy's formula: the mean shadow of a convex body is a quarter of its area") {
    // Cauchy 1832; e.g. Klain & Rota, Introduction to Geometric Probability (1997), theorem 5.5.2.
    const Solid box = box_solid(100, 60, 40);
    double sum = 0.0;
    const std::vector<Vec3> directions = sphere_directions(200);
    for (const Vec3& d : directions) {
        sum += silhouette(box.mesh, view_from(d, Vec3::UnitZ()), {.cells = 400}).area_mm2;
    }
    // 200 even directions give the mean of |cos| over the sphere to about 1/400.
    CHECK_NEAR(sum / static_cast<double>(directions.size()), box.area_mm2 / 4.0, 4e-3);
}

TEST_CASE("two parts that touch across a corner are two shadows") {
    const TriMesh two = joined(box_solid(10, 10, 10).mesh,
                               transformed(box_solid(10, 10, 10).mesh, 1.0, Vec3(10.5, 10.5, 0)));
    CHECK(silhouette(two, kTop, {.cells = 205}).loops.size() == 2);
}

TEST_CASE("refused: too few cells, too many, a stop") {
    const TriMesh box = box_solid(1, 1, 1).mesh;
    CHECK_THROWS_AS(static_cast<void>(silhouette(box, kTop, {.cells = 4})), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(silhouette(box, kTop, {.cells = 30'000})), InvalidInput);
    std::stop_source source;
    source.request_stop();
    RunContext context;
    context.stop = source.get_token();
    CHECK_THROWS_AS(static_cast<void>(silhouette(box, kTop, {}, context)), Cancelled);
}
