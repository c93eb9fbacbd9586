// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/thin_arrival.h"

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/pour/orientations.h"
#include "cavigram/spatial/triangle_bvh.h"

#include "support/near.h"

using namespace cavigram;

namespace {

std::vector<ThinSample> thin_of(const Solid& solid, double share) {
    const TriangleBvh surface(solid.mesh);
    return thin_samples(
        thickness_map(solid.mesh, adjacency(solid.mesh), surface, {.samples = 20'000}),
        solid.volume_mm3, share);
}

}  // namespace

// A block of 6 x 6 x 3 with a fin of 1 x 6 x 6 on it, a quarter of the whole. By hand: a level of
// foam gets to the fin's middle when the block and half of the fin are full, 7/8, and upside down
// when half of the fin is, 1/8. Edges of the fin, where it is thinner yet, cost some hundredths.
TEST_CASE("a fin fills last on top and first below") {
    constexpr int kSide = 6;
    constexpr int kHigh = 9;
    std::vector<bool> filled;
    for (int z = 0; z < kHigh; ++z) {
        for (int y = 0; y < kSide; ++y) {
            for (int x = 0; x < kSide; ++x) {
                filled.push_back(z < 3 || x == 3);
            }
        }
    }
    const Solid finned = polycube_solid(filled, kSide, kSide, kHigh);
    const std::vector<ThinSample> thin = thin_of(finned, 0.1);
    double volume = 0.0;
    for (const ThinSample& place : thin) {
        volume += place.volume_mm3 / finned.volume_mm3;
        CHECK(place.at_mm.x() > 2.5);
        CHECK(place.at_mm.x() < 4.5);
    }
    CHECK(volume > 0.1);
    CHECK(volume < 0.3);
    const double top = arrival_share(HeightVolume(finned.mesh, Vec3::UnitZ()), thin).value();
    const double below = arrival_share(HeightVolume(finned.mesh, -Vec3::UnitZ()), thin).value();
    MESSAGE("fin on top ", top, ", below ", below);
    CHECK_NEAR(top, 0.875, 0.03);
    CHECK_NEAR(below, 0.125, 0.03);
    CHECK_NEAR(top + below, 1.0, 1e-9);
}

// Of a wall of one thickness all places count, so the mean is that of the whole: 1/2 any way up.
TEST_CASE("one thickness: half, any way up") {
    const Solid plate = box_solid(40.0, 60.0, 2.0);
    const std::vector<ThinSample> thin = thin_of(plate, 0.1);
    for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, 1, 0), Vec3(1, 0, 0), Vec3(1, 2, 0.5)}) {
        CHECK_NEAR(arrival_share(HeightVolume(plate.mesh, up), thin).value(), 0.5, 0.01);
    }
    CHECK(!arrival_share(HeightVolume(plate.mesh, Vec3::UnitZ()), {}).has_value());
}

// Weighed alone it turns a fin down, which nothing else would ask for.
TEST_CASE("a weight on arrival turns thin places down") {
    std::vector<bool> filled;
    for (int z = 0; z < 9; ++z) {
        for (int y = 0; y < 6; ++y) {
            for (int x = 0; x < 6; ++x) {
                filled.push_back(z < 3 || x == 3);
            }
        }
    }
    const Solid finned = polycube_solid(filled, 6, 6, 9);
    OrientationOptions options;
    options.directions = 60;
    options.asked = Vec3::UnitZ();
    options.weights = parse_way_weights("arrival=1", "--weights");
    const AirTreeBuilder builder(finned.mesh);
    const Orientations found = orientations(builder, options);
    for (std::size_t i = 1; i < found.rows.size(); ++i) {
        CHECK(*found.rows[i - 1].thin_arrival_share <= *found.rows[i].thin_arrival_share);
        CHECK(found.rows[i - 1].score <= found.rows[i].score);
    }
    CHECK(found.rows.front().score == 0.0);
    CHECK(found.rows.back().score == 1.0);
    CHECK(found.rows.back().asked);
    CHECK_NEAR(*found.rows.back().thin_arrival_share, 0.875, 0.03);
}
