// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/split.h"

#include <cmath>
#include <numbers>

#include "molding/shapes.h"
#include "support/findings.h"
#include "support/near.h"
#include "support/refusal.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

Split split(const TriMesh& mesh, const SplitOptions& options) {
    return split_mold(mesh, TriangleBvh(mesh), options);
}

const Vec3 kUp = Vec3::UnitZ();

}  // namespace

TEST_CASE("a dumbbell, pulled along its axis, is caught at its neck") {
    const Split found = split(subdivided(dumbbell(96).mesh, 1), {.pull = 5.0 * kUp});
    CHECK(found.parting.pull == kUp);
    CHECK_FALSE(found.search.has_value());
    REQUIRE(found.places.size() == 1);
    CHECK_NEAR(found.stretch, 0.5, 0.05);
    CHECK_NEAR(found.stretch_coarse, 0.5, 0.1);
    CHECK_NEAR(found.places[0].pocket.lateral_mm, 10.0, 0.1);
    CHECK(found.places[0].where.find("from") != std::string::npos);
    // Rubber 10 thick that bends aside by 10 over 20 at least.
    CHECK(found.places[0].bent.high <= 1.8 * 1.5 * 10 * 10.7 / 400);
    CHECK(found.parting.upper_height_mm + found.parting.lower_height_mm >= 60.0 - 1e-9);
    // Just over or under a limit.
    CHECK_FALSE(has_finding(split(dumbbell(96).mesh, {.pull = kUp, .stretch_limit = 0.6}).findings,
                            "stretch_over_limit"));
    const Split over = split(dumbbell(96).mesh, {.pull = kUp, .stretch_limit = 0.4});
    const Finding* const finding = finding_of(over.findings, "stretch_over_limit");
    REQUIRE(finding != nullptr);
    CHECK(finding->severity == Severity::warning);
    CHECK(finding->at_mm.size() == 1);
}

TEST_CASE("the half that owns a slot's rubber is the one it opens to") {
    const Split up = split(subdivided(dovetail(16, 24), 2), {.pull = kUp});
    REQUIRE(up.places.size() == 2);
    CHECK(up.places[0].upper);
    const Split down = split(subdivided(dovetail(16, 24), 2), {.pull = Vec3(-kUp)});
    CHECK_FALSE(down.places.at(0).upper);
    CHECK_NEAR(up.stretch, down.stretch, 1e-9);
}

TEST_CASE("rings: a shut-off where one lies, slits where it stands; searched for it lies") {
    const TriMesh ring = torus_solid(30, 10, 96).mesh;
    const Split lying = split(ring, {.pull = kUp});
    REQUIRE(lying.shut_offs.size() == 1);
    CHECK(lying.shut_offs[0].at_mm.norm() < 0.5);
    CHECK_NEAR(lying.shut_offs[0].area_mm2, std::numbers::pi * 400, 0.01);
    CHECK(has_finding(lying.findings, "shut_off_needed"));
    CHECK_FALSE(has_finding(lying.findings, "mold_needs_slits"));
    const Split standing = split(ring, {.pull = Vec3(Vec3::UnitX())});
    const Finding* const slits = finding_of(standing.findings, "mold_needs_slits");
    REQUIRE(slits != nullptr);
    CHECK(slits->at_mm.size() == 2);
    CHECK_FALSE(standing.glove.has_value());
    const Split searched = split(ring, {.directions = 200});
    REQUIRE(searched.search.has_value());
    CHECK(std::abs(searched.parting.pull.z()) > 0.99);
}

TEST_CASE("a mushroom comes off in one piece, stretched over its cap; a ball has no flat side") {
    const Split found = split(subdivided(mushroom(96).mesh, 1), {.pull = kUp});
    REQUIRE(found.glove.has_value());
    CHECK(has_finding(found.findings, "one_piece_mold"));
    // Upside down, open on the cap's top, it need not stretch at all.
    CHECK(found.glove->pull == Vec3(-kUp));
    CHECK(found.glove->stretch == 0.0);
    CHECK_NEAR(found.glove->open_mm2, std::numbers::pi * 900, 0.01);
    CHECK_FALSE(split(sphere_solid(30, 48).mesh, {.pull = kUp}).glove.has_value());
}

TEST_CASE("a spiky block locks whichever way it is pulled") {
    // Three T-slots that cross: each face of the block has undercuts.
    const Solid block = blocks(9, 9, 9, [](int x, int y, int z) {
        const auto in = [](int a, int b) {
            return (a == 1 && b >= 2 && b <= 6) || (a == 0 && b == 4);
        };
        const auto out = [&](int a, int b) { return in(a, b) || in(8 - a, b); };
        return !(out(x, y) || out(y, z) || out(z, x));
    });
    // Ten times as large: mouths of 1 would be filled on the master.
    const Split found =
        split(transformed(block.mesh, 10.0, Vec3(Vec3::Zero())), {.directions = 300});
    REQUIRE(found.search.has_value());
    CHECK(found.search->free_directions == 0);
    CHECK(has_finding(found.findings, "every_pull_locks"));
    REQUIRE_FALSE(found.places.empty());
    CHECK(found.places[0].stretch.ring > 0.1);
    CHECK(found.places[0].stretch.bridge);
}

TEST_CASE("a loose solid is wrapped; flash on the show side is said") {
    const TriMesh ball = sphere_solid(30, 48).mesh;
    const Split seen = split(ball, {.pull = kUp, .show = ShowSide{.toward = Vec3::UnitX()}});
    CHECK_NEAR(seen.show_share, 1.0 / 3.0, 0.1);  // within 60 degrees of it: a third of the equator
    CHECK(has_finding(seen.findings, "line_on_show_side"));
    const Split hidden = split(ball, {.pull = kUp, .show = ShowSide{.toward = kUp}});
    CHECK_FALSE(has_finding(hidden.findings, "line_on_show_side"));
    // Two slabs one above the other, with a ball between them: what lies between is hidden from
    // both sides, so that whichever half has it runs around each.
    const TriMesh slab = box_solid(60, 60, 10).mesh;
    const TriMesh slabs = joined(slab, transformed(slab, 1.0, Vec3(0, 0, 40)));
    const TriMesh between =
        joined(slabs, transformed(sphere_solid(8, 24).mesh, 1.0, Vec3(30, 30, 25)));
    const Split wrapped = split(between, {.pull = kUp});
    CHECK(wrapped.parting.line.wrapped == 3);
    CHECK(has_finding(wrapped.findings, "wrapped_in_rubber"));
    CHECK_FALSE(has_finding(split(slabs, {.pull = Vec3::UnitX()}).findings, "wrapped_in_rubber"));
}

// A cup that is pulled sideways: the core in it would have to leave through the wall.
TEST_CASE(
    "rubber that reaches far behind the part takes a third part; along its axis a cup does not") {
    const TriMesh cup = bowl(40, 36, 96).mesh;
    const Split aside = split(cup, {.pull = Vec3(Vec3::UnitX())});
    const Finding* const far = finding_of(aside.findings, "mold_needs_slits");
    REQUIRE(far != nullptr);
    CHECK(far->text.find("third part") != std::string::npos);
    // As the crow flies, halfway between the rim's plane and the outside of the bottom, 40 below
    // it.
    CHECK_NEAR(aside.places.at(0).pocket.lateral_mm, 20.0, 0.05);
    CHECK_FALSE(has_finding(split(cup, {.pull = kUp}).findings, "mold_needs_slits"));
    CHECK(std::abs(split(cup, {.directions = 200}).parting.pull.z()) > 0.99);
}

// A tunnel of 1 x 1 along y through a block that is pulled along z: rubber in it would be a thread.
// A tunnel of 5 x 5 takes its slits.
TEST_CASE("a hole too narrow for a tongue of rubber is filled, not slit for") {
    const auto drilled = [](int from, int to) {
        return blocks(11, 9, 11,
                      [=](int x, int, int z) { return x < from || x >= to || z < from || z >= to; })
            .mesh;
    };
    const TriMesh narrow = drilled(5, 6);
    const Split found = split(narrow, {.pull = kUp});
    REQUIRE(found.tunnels.size() == 1);
    const Finding* const said = finding_of(found.findings, "narrow_for_rubber");
    REQUIRE(said != nullptr);
    CHECK(said->severity == Severity::note);
    CHECK(said->at_mm.size() == 1);
    CHECK(said->text.find("A tunnel through the part") == 0);
    CHECK_FALSE(has_finding(found.findings, "mold_needs_slits"));
    CHECK(found.parting.line.valid);
    // What is told is of the part's own triangles.
    CHECK(found.parting.upper_face.size() == narrow.triangles.size());
    CHECK(found.parting.views.size() == narrow.triangles.size());
    const Split wide = split(drilled(3, 8), {.pull = kUp});
    CHECK_FALSE(has_finding(wide.findings, "narrow_for_rubber"));
    CHECK(has_finding(wide.findings, "mold_needs_slits"));
}

TEST_CASE("what can't be asked") {
    const TriMesh ball = sphere_solid(30, 24).mesh;
    CHECK(refusal_of([&] { return split(ball, {.pull = Vec3(Vec3::Zero())}); }) ==
          "The pull direction must not be zero.");
    CHECK(refusal_of([&] { return split(ball, {.pull = kUp, .stretch_limit = 0.0}); }) ==
          "The rubber's stretch and thickness must be above zero.");
}
