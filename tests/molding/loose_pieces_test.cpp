// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/loose_pieces.h"

#include "cavigram/molding/split.h"

#include "molding/shapes.h"
#include "support/findings.h"
#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

Split split(const TriMesh& mesh, const SplitOptions& options) {
    return split_mold(mesh, TriangleBvh(mesh), options);
}

}  // namespace

// A frame of 9 x 3 x 9 with a square hole of 5 along y, pulled along x: the rubber in the hole, 5 x
// 3 x 5, holds both halves. As a core of its own it touches the hole's four walls, 4 x 5 x 3,
// within two rims of 4 x 5, and slides out along y.
TEST_CASE("the core of a frame that is pulled across its hole") {
    const TriMesh frame =
        blocks(9, 3, 9, [](int x, int, int z) { return x < 2 || x >= 7 || z < 2 || z >= 7; }).mesh;
    const Split found = split(subdivided(frame, 1), {.pull = Vec3(Vec3::UnitX())});
    CHECK(has_finding(found.findings, "mold_needs_slits"));
    REQUIRE(found.loose.has_value());
    REQUIRE(found.loose->pieces.size() == 1);
    const LoosePiece& core = found.loose->pieces[0];
    CHECK_NEAR(core.volume_mm3, 75.0, 0.03);
    CHECK_NEAR(core.area_mm2, 60.0, 0.02);
    CHECK_NEAR(core.line_mm, 40.0, 0.02);
    CHECK(std::abs(core.pull.y()) == 1.0);
    CHECK(core.free_share == doctest::Approx(1.0));
    CHECK(found.loose->slits == 0);
    CHECK(found.loose->stretch == 0.0);
    CHECK(core.where.find("from") != std::string::npos);
    const Finding* const said = finding_of(found.findings, "loose_piece");
    REQUIRE(said != nullptr);
    CHECK(said->text.find("would let both halves go") != std::string::npos);
    CHECK(said->at_mm.size() == 1);
    // Along the hole nothing is caught, and no piece is spoken of.
    CHECK_FALSE(split(frame, {.pull = Vec3(Vec3::UnitY())}).loose.has_value());
}

// Around the neck of a dumbbell lies a ring of rubber: 20 x pi (30^2 - 20^2) of it. Beside it the
// halves stretch no more; itself it closes around the neck, so that no way is free for all of it.
TEST_CASE("what closes around the part must be slit, as a piece of its own, too") {
    const Split found = split(subdivided(dumbbell(96).mesh, 1),
                              {.pull = Vec3(Vec3::UnitZ()), .stretch_limit = 0.4});
    REQUIRE(found.loose.has_value());
    REQUIRE(found.loose->pieces.size() == 1);
    const LoosePiece& ring = found.loose->pieces[0];
    CHECK_NEAR(ring.volume_mm3, 20.0 * 3.14159265 * 500.0, 0.03);
    CHECK(found.loose->stretch == 0.0);
    CHECK(found.loose->slits == 0);
    CHECK(ring.free_share < 0.9);
    CHECK(finding_of(found.findings, "loose_piece")->text.find("holds the part itself") !=
          std::string::npos);
    // Neck, and the two ledges: 2 pi 20 x 20 + 2 pi (30^2 - 20^2).
    CHECK_NEAR(ring.area_mm2, 2.0 * 3.14159265 * (400.0 + 500.0), 0.05);
}

TEST_CASE("no piece where none is asked for, and none where none helps") {
    CHECK_FALSE(split(sphere_solid(30, 48).mesh, {.pull = Vec3(Vec3::UnitZ())}).loose.has_value());
    const TriMesh frame =
        blocks(9, 3, 9, [](int x, int, int z) { return x < 2 || x >= 7 || z < 2 || z >= 7; }).mesh;
    const TriangleBvh index(frame);
    const PartingSurface surface = parting_surface(frame);
    const Parting parted = parting(surface, index, Vec3::UnitX());
    const ColumnCut cut = cut_columns(frame, Vec3::UnitX(), {.across = 96});
    const LockedSpace space = locked_space(cut);
    const LoosePieces none = loose_pieces(surface, index, parted, cut, space,
                                          release_stretch(cut, space), {.most_pieces = 0});
    CHECK(none.pieces.empty());
    CHECK(none.slits > 0);
}
