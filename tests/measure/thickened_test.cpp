// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/thickened.h"

#include "cavigram/core/error.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/spatial/triangle_bvh.h"

#include "support/near.h"

using namespace cavigram;

namespace {

struct Listed {
    ThicknessMap map;
    ThinRegions regions;
};

// A plate of the given thickness, under a limit of 4 mm and a skin of 1.5 mm.
Listed plate(double thickness_mm) {
    const TriMesh mesh = box_solid(100, 60, thickness_mm).mesh;
    const Adjacency adjacent = adjacency(mesh);
    const TriangleBvh surface(mesh);
    Listed listed;
    ThinOptions options;
    options.limit_mm = 4.0;
    options.skin_mm = 1.5;
    ThicknessOptions sampling;
    sampling.cap_mm = 12.0;
    sampling.samples = 20'000;
    listed.map = thickness_map(mesh, adjacent, surface, sampling);
    listed.regions = thin_regions(adjacent, listed.map, options);
    return listed;
}

}  // namespace

TEST_CASE("a plate of 2 mm leaves a limit of 4 mm once it has gained 2 mm, and not before") {
    const Listed p = plate(2.0);
    REQUIRE(p.regions.regions.size() == 1);
    const double area = p.regions.regions[0].area_mm2;
    const Thickened little = thickened(p.map, p.regions, 1.9);
    CHECK(little.places_leaving == 0);
    CHECK(little.places_left == 1);
    CHECK(little.area_leaving_mm2 == 0.0);
    CHECK_NEAR(little.area_left_mm2, area, 1e-12);
    // Half the area, as both sides are counted, times the gain.
    CHECK_NEAR(little.volume_added_mm3, 0.5 * area * 1.9, 1e-12);
    const Thickened enough = thickened(p.map, p.regions, 2.001);
    CHECK(enough.places_leaving == 1);
    CHECK(enough.places_left == 0);
    // But for the strip along the edges whose balls the edge holds, within half the thickness.
    const double strip = 1.0 * 4 * 160;
    CHECK(enough.area_leaving_mm2 > area - strip);
    CHECK(enough.area_left_mm2 < strip);
    CHECK_NEAR(enough.area_leaving_mm2 + enough.area_left_mm2, area, 1e-12);
    // Half of the area on each side, 2 mm between: what leaves is 1.999 mm thick or more.
    CHECK_NEAR(enough.volume_leaving_mm3, 0.5 * enough.area_leaving_mm2 * 2.0, 1e-3);
}

TEST_CASE("all skin below 3 mm: a plate of 2 mm gets a core with 1 mm more") {
    const Listed p = plate(2.0);
    const double area = p.regions.regions[0].area_mm2;
    const Thickened little = thickened(p.map, p.regions, 0.9);
    CHECK(little.all_skin_leaving_mm2 == 0.0);
    CHECK(little.all_skin_left_mm2 == area);
    const Thickened enough = thickened(p.map, p.regions, 1.001);
    CHECK(enough.all_skin_leaving_mm2 == area);
    CHECK(enough.all_skin_left_mm2 == 0.0);
}

TEST_CASE("nothing thin, nothing leaves; a gain of nothing is refused") {
    const Listed p = plate(10.0);
    const Thickened none = thickened(p.map, p.regions, 1.0);
    CHECK(none.places_leaving == 0);
    CHECK(none.area_leaving_mm2 == 0.0);
    CHECK_THROWS_AS(static_cast<void>(thickened(p.map, p.regions, 0.0)), InvalidInput);
}
