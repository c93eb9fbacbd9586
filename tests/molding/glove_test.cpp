// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/glove.h"

#include <cmath>
#include <numbers>

#include "molding/shapes.h"
#include "support/near.h"

using namespace cavigram;

namespace {

const Vec3 kUp = Vec3::UnitZ();

std::optional<GloveMold> glove(const TriMesh& mesh, const std::vector<Vec3>& ways,
                               const GloveOptions& options = {}) {
    return glove_mold(parting_surface(mesh), ways, options);
}

}  // namespace

// From the stem's circle to the cap's: 30 / 20 - 1 (docs/checks.md R2).
TEST_CASE("over the cap of a mushroom: half as much again, or slit up the stem") {
    const TriMesh mesh = subdivided(mushroom(96).mesh, 1);
    const auto stretched = glove(mesh, {kUp}, {.stretch_limit = 0.6, .across = 192});
    REQUIRE(stretched.has_value());
    CHECK_NEAR(stretched->stretch, 0.5, 0.02);
    CHECK_NEAR(stretched->open_mm2, polygon_share(96) * std::numbers::pi * 400, 1e-6);
    // It would come off as it is, and easier with a slit.
    REQUIRE(stretched->slit.has_value());
    CHECK(stretched->slit_stretch == 0.0);
    CHECK_NEAR(stretched->slit->length_mm, 30.0, 0.02);
    const auto slit = glove(mesh, {kUp}, {.stretch_limit = 0.3});
    REQUIRE(slit.has_value());
    CHECK(slit->slit.has_value());
    CHECK(slit->slit_stretch <= 0.3);
    // The other way it needs neither, and that is taken.
    const auto free = glove(mesh, {kUp, -kUp}, {.stretch_limit = 0.3});
    REQUIRE(free.has_value());
    CHECK(free->pull == Vec3(-kUp));
    CHECK(free->stretch == 0.0);
    CHECK_FALSE(free->slit.has_value());
}

TEST_CASE("no glove for what has no flat side, for a ring, for a plug that no slit frees") {
    CHECK_FALSE(glove(sphere_solid(30, 48).mesh, {kUp}).has_value());
    CHECK_FALSE(glove(torus_solid(30, 10, 48).mesh, {kUp}).has_value());
    // Down off the dovetail block: 24 / 16 - 1 = 0.5 behind its mouth.
    CHECK_FALSE(glove(dovetail(16, 24), {kUp}, {.stretch_limit = 0.3}).has_value());
    CHECK(glove(dovetail(16, 24), {kUp}, {.stretch_limit = 0.6}).has_value());
}
