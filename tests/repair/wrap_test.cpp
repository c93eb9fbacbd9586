// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/wrap.h"

#include <cmath>

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/repair/arrangement.h"

#include "support/damage.h"
#include "support/near.h"

using namespace cavigram;

TEST_CASE("the winding volume of a closed solid is its volume, and of one with a hole nearly so") {
    const Solid sphere = sphere_solid(30, 64);
    // 1,000 points in a box of 60^3 mm, of which a share p lies inside: three standard deviations
    // are 3 sqrt(p (1 - p) / 1000) of the box.
    const double box = 60.0 * 60 * 60;
    const double p = sphere.volume_mm3 / box;
    const double three_sigma = 3.0 * std::sqrt(p * (1.0 - p) / 1000.0) * box;
    CHECK(std::abs(winding_volume_mm3(sphere.mesh) - sphere.volume_mm3) < three_sigma);
    const TriMesh open = damage::holed(sphere.mesh, [](const Vec3& c) { return c.z() > 27; });
    CHECK(std::abs(winding_volume_mm3(open) - sphere.volume_mm3) < 1.1 * three_sigma);
}

TEST_CASE("a wrap is closed, holds the solid, and comes back onto it") {
    const Solid sphere = sphere_solid(30, 64);
    const std::optional<Wrap> wrap = wrap_around(sphere.mesh, sphere.volume_mm3);
    REQUIRE(wrap);
    CHECK(adjacency(wrap->mesh).closed());
    CHECK(wrap->raw_volume_mm3 > sphere.volume_mm3);
    CHECK_NEAR(mass_properties(wrap->mesh).volume_mm3, wrap->volume_mm3, 1e-9);
    CHECK_NEAR(wrap->volume_mm3, sphere.volume_mm3, 0.02);
    CHECK(sphere.volume_mm3 >= wrap->volume_mm3 - wrap->volume_below_mm3);
    CHECK(sphere.volume_mm3 <= wrap->volume_mm3 + wrap->volume_above_mm3);
}

TEST_CASE("a thin wall is not bridged: the gap width follows the thinnest place") {
    // A trough of 2 mm walls, open above; its inside must not be filled.
    const TriMesh block = subdivided(box_solid(60, 40, 30).mesh, 4);
    const TriMesh room = transformed(subdivided(box_solid(56, 36, 40).mesh, 4), 1.0, Vec3(2, 2, 2));
    const TriMesh both = joined(block, flipped(room));
    const Arrangement trough = arrange(both, std::vector<std::int32_t>(both.triangles.size(), 0));
    REQUIRE(trough.solved);
    const double truth = 60.0 * 40 * 30 - 56.0 * 36 * 28;
    CHECK_NEAR(mass_properties(trough.mesh).volume_mm3, truth, 1e-12);
    const std::optional<Wrap> wrap = wrap_around(trough.mesh, truth);
    REQUIRE(wrap);
    CHECK(wrap->alpha_mm <= 1.0);
    CHECK(truth >= wrap->volume_mm3 - wrap->volume_below_mm3);
    CHECK(truth <= wrap->volume_mm3 + wrap->volume_above_mm3);
    CHECK(wrap->volume_below_mm3 < 0.3 * truth);
}
