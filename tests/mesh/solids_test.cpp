// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/solids.h"

#include <numbers>
#include <random>

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"

#include "support/near.h"

using namespace cavigram;
using std::numbers::pi;

TEST_CASE("each solid is closed and its stated volume and area are its mesh's") {
    const std::vector<Vec2> cup = {{0, 0}, {20, 0}, {20, 40}, {17, 40}, {17, 3}, {0, 3}};
    for (const Solid& solid :
         {box_solid(1, 2, 3), sphere_solid(30, 64), cylinder_solid(20, 300, 17, 5),
          cone_solid(30, 90, 48, 4), torus_solid(50, 15, 90), revolved_solid(cup, 31)}) {
        const MassProperties measured = mass_properties(solid.mesh);
        CHECK(adjacency(solid.mesh).closed());
        CHECK_NEAR(measured.volume_mm3, solid.volume_mm3, 1e-13);
        CHECK_NEAR(measured.area_mm2, solid.area_mm2, 1e-13);
    }
}

TEST_CASE("G-16: an inscribed n-gon prism has n sin(2 pi/n) / 2 pi of the cylinder's volume") {
    // docs/checks.md G-16, exact prediction
    const double ratio[4][2] = {
        {16, 0.9744954}, {32, 0.9935869}, {64, 0.9983944}, {128, 0.9995985}};
    for (const auto& row : ratio) {
        const Solid prism = cylinder_solid(20, 300, static_cast<int>(row[0]));
        CHECK_NEAR(mass_properties(prism.mesh).volume_mm3 / (pi * 400 * 300), row[1], 1e-7);
    }
}

TEST_CASE("random polycubes are closed manifolds with one unit of volume a cube") {
    std::mt19937 random(11);  // fixed seed
    for (int round = 0; round < 50; ++round) {
        std::vector<bool> filled(4 * 5 * 6);
        for (std::size_t i = 0; i < filled.size(); ++i) {
            filled[i] = random() % 2 == 0;
        }
        const Solid solid = polycube_solid(filled, 4, 5, 6);
        CHECK(adjacency(solid.mesh).closed());
        CHECK_NEAR(mass_properties(solid.mesh).volume_mm3, solid.volume_mm3, 1e-13);
        CHECK_NEAR(mass_properties(solid.mesh).area_mm2, solid.area_mm2, 1e-13);
    }
}

TEST_CASE("subdividing changes neither volume nor area") {
    const Solid cone = cone_solid(30, 90, 12);
    const TriMesh finer = subdivided(cone.mesh, 3);
    CHECK(finer.triangles.size() == 64 * cone.mesh.triangles.size());
    CHECK(adjacency(finer).closed());
    CHECK_NEAR(mass_properties(finer).volume_mm3, cone.volume_mm3, 1e-13);
    CHECK_NEAR(mass_properties(finer).area_mm2, cone.area_mm2, 1e-13);
}
