// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/density_map.h"

#include <cmath>

#include "cavigram/core/error.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/spatial/triangle_bvh.h"

#include "support/near.h"

using namespace cavigram;

namespace {

const SkinOnCore kStep{SkinProfile::step, 1.5, 600.0, 130.0};
const SkinOnCore kFading{SkinProfile::exponential, 1.5, 600.0, 130.0};

ThicknessMap thickness_of(const TriMesh& mesh, std::size_t samples = 20'000) {
    return thickness_map(mesh, adjacency(mesh), TriangleBvh(mesh),
                         {.cap_mm = least_cap_mm({}), .samples = samples});
}

}  // namespace

TEST_CASE("the mean down to a depth is the integral of the density") {
    // The midpoint rule over the density itself shares nothing with the closed forms.
    for (const SkinOnCore& foam : {kStep, kFading}) {
        for (const double depth : {0.001, 0.7, 1.5, 3.0, 20.0}) {
            const int steps = 30'000;
            double sum = 0.0;
            for (int i = 0; i < steps; ++i) {
                sum += density_at_kg_m3(foam, (i + 0.5) * depth / steps);
            }
            CHECK_NEAR(mean_density_down_to_kg_m3(foam, depth), sum / steps, 1e-4);
        }
        CHECK(mean_density_down_to_kg_m3(foam, 0.0) == 600.0);
    }
    SkinOnCore bare = kStep;
    bare.skin_thickness_mm = 0.0;
    CHECK(mean_density_down_to_kg_m3(bare, 0.0) == 130.0);
    CHECK(mean_density_down_to_kg_m3(bare, 5.0) == 130.0);
    // Both profiles weigh the same on a deep flat wall: t * surplus.
    CHECK_NEAR(mean_density_down_to_kg_m3(kStep, 1000.0),
               mean_density_down_to_kg_m3(kFading, 1000.0), 1e-12);
}

TEST_CASE("on a plate the map gives the mean through its half") {
    // A plate of 10 mm: 5 mm down, of which 1.5 are skin: 130 + 470 * 0.3.
    const TriMesh plate = box_solid(200.0, 200.0, 10.0).mesh;
    const DensityMap density = density_map(plate, thickness_of(plate), kStep);
    CHECK_NEAR(density.median_kg_m3, 271.0, 1e-6);
    CHECK_NEAR(density.p10_kg_m3, 271.0, 1e-6);
    CHECK(density.all_skin_area_mm2 == 0.0);
    CHECK_NEAR(density.area_mm2, 88'000.0, 1e-9);
    // Only the rim, 4 * 200 * 10 of 88,000 mm2 and 5 mm beside it, is held by edges.
    CHECK(density.edge_area_mm2 < 0.1 * density.area_mm2);
    CHECK(density.most_kg_m3 <= 600.0);
    CHECK_NEAR(density_map(plate, thickness_of(plate), kFading).median_kg_m3,
               130.0 + 470.0 * 0.3 * (1.0 - std::exp(-5.0 / 1.5)), 1e-6);
}

TEST_CASE("all skin is what is thinner than twice the skin, but not the edges of a block") {
    const TriMesh sheet = box_solid(100.0, 100.0, 2.9).mesh;
    const DensityMap thin = density_map(sheet, thickness_of(sheet), kStep);
    CHECK(thin.all_skin_area_mm2 > 0.97 * 20'000.0);
    CHECK(thin.median_kg_m3 == 600.0);
    const TriMesh sheet_with_core = box_solid(100.0, 100.0, 3.1).mesh;
    CHECK(density_map(sheet_with_core, thickness_of(sheet_with_core), kStep).all_skin_area_mm2 <
          0.01 * 20'000.0);
    const TriMesh block = box_solid(60.0, 60.0, 60.0).mesh;
    const DensityMap thick = density_map(block, thickness_of(block), kStep);
    CHECK(thick.all_skin_area_mm2 == 0.0);
    // Farther than 20 mm from the edges the ball is larger than what is felt: 20 mm deep.
    CHECK_NEAR(thick.least_kg_m3, 130.0 + 470.0 * 1.5 / 20.0, 1e-9);
    // On a face the ball at x from the nearest edge has radius x, so the skin's share is t/x; the
    // area nearer than x is 1 - (1 - 2x/60)^2 of the face. Half of it lies nearer than 8.787 mm.
    const double x = 30.0 * (1.0 - std::sqrt(0.5));
    CHECK_NEAR(thick.median_kg_m3, 130.0 + 470.0 * 1.5 / x, 0.02);
}

TEST_CASE("along the line to the middle depth is the distance gone, so the means are exact") {
    // Held against the true depth (nearest point of the surface) every fraction of the way down.
    for (const TriMesh& mesh : {sphere_solid(12.0, 48).mesh, torus_solid(30.0, 6.0, 48).mesh,
                                cone_solid(20.0, 30.0, 64, 4).mesh}) {
        const TriangleBvh surface(mesh);
        const ThicknessMap map = thickness_of(mesh, 500);
        const DensityMap density = density_map(mesh, map, kFading);
        double worst = 0.0;
        double sum = 0.0;
        for (std::size_t s = 0; s < map.samples.size(); ++s) {
            const ThicknessSample& sample = map.samples[s];
            const double down = 0.5 * sample.thickness_mm;
            double mean = 0.0;
            const int steps = 200;
            for (int i = 0; i < steps; ++i) {
                const Vec3 at = sample.at_mm + (i + 0.5) * down / steps * sample.inward;
                mean += density_at_kg_m3(kFading, surface.nearest(at).distance_mm) / steps;
            }
            const double off = std::abs(density.per_sample_kg_m3[s] / mean - 1.0);
            worst = std::max(worst, off);
            sum += off;
        }
        // The ball may be cut into by 6 % of its radius (ThicknessOptions::relaxation).
        CHECK(worst < 0.03);
        CHECK(sum / static_cast<double>(map.samples.size()) < 0.004);
    }
}

TEST_CASE("triangles and vertices take over from the samples, also where there is none") {
    const TriMesh mesh = subdivided(box_solid(40.0, 40.0, 2.0).mesh, 5);
    const DensityMap density = density_map(mesh, thickness_of(mesh, 500), kStep);
    REQUIRE(density.per_triangle_kg_m3.size() == mesh.triangles.size());
    REQUIRE(density.per_vertex_kg_m3.size() == mesh.vertices.size());
    for (const double value : density.per_vertex_kg_m3) {
        CHECK_NEAR(value, 600.0, 1e-12);
    }
    double flagged_mm2 = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3 a = mesh.corner(t, 0);
        flagged_mm2 += density.triangle_all_skin[t] == 0
                           ? 0.0
                           : 0.5 * (mesh.corner(t, 1) - a).cross(mesh.corner(t, 2) - a).norm();
    }
    CHECK(flagged_mm2 > 0.9 * 3200.0);  // the two broad sides
    CHECK(flagged_mm2 < 1.05 * 3200.0);
}

TEST_CASE("a core denser than the skin, an empty part and a depth of nothing") {
    SkinOnCore heavy = kStep;
    heavy.core_density_kg_m3 = 700.0;
    const TriMesh plate = box_solid(200.0, 200.0, 10.0).mesh;
    const DensityMap density = density_map(plate, thickness_of(plate), heavy);
    CHECK_NEAR(density.median_kg_m3, 700.0 - 100.0 * 0.3, 1e-6);
    CHECK(density_map({}, {}, kStep).area_mm2 == 0.0);
    CHECK_THROWS_AS(density_map(plate, {}, kStep, {.deepest_mm = 0.0}), InvalidInput);
}
