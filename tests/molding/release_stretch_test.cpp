// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/release_stretch.h"

#include <cmath>

#include "cavigram/measure/mass_properties.h"

#include "molding/shapes.h"
#include "support/near.h"

using namespace cavigram;

namespace {

struct Found {
    LockedSpace space;
    ReleaseStretch stretch;
};

Found found(const TriMesh& mesh, const Vec3& pull, int across, bool one_piece = false) {
    const ColumnCut cut = cut_columns(mesh, pull, {.across = across});
    Found result{locked_space(cut, {.one_piece = one_piece}), {}};
    result.stretch = release_stretch(cut, result.space);
    return result;
}

const Vec3 kUp = Vec3::UnitZ();

}  // namespace

// docs/checks.md R2: (perimeter over perimeter) - 1, of circles their diameters'.
TEST_CASE("rings of rubber around a neck, below a cap and in a groove") {
    for (const int across : {96, 192}) {
        const double column = 60.0 / across;  // a diameter errs by no more
        const Found neck = found(dumbbell(256).mesh, kUp, across);
        CHECK(std::abs(neck.stretch.most - 0.5) < 1.5 * column / 40);
        CHECK(neck.stretch.pockets.at(0).plug == 0.0);
        // A glove that comes off over the cap; two halves need not stretch.
        const Found glove = found(mushroom(256).mesh, kUp, across, true);
        CHECK(std::abs(glove.stretch.most - 0.5) < 1.5 * column / 40);
        CHECK(found(mushroom(256).mesh, kUp, across).stretch.most == 0.0);
        const Found groove = found(ring_groove(256).mesh, kUp, across);
        CHECK(std::abs(groove.stretch.most - 20.0 / 18.0 + 1.0) < 1.5 * column / 36);
    }
}

TEST_CASE("a mouth narrower than rubber can fill is told apart") {
    const ColumnCut cut = cut_columns(t_slot(), kUp, {.across = 96});  // its mouth is 12 wide
    const LockedSpace space = locked_space(cut);
    for (const double least_mm : {11.0, 13.0}) {
        const ReleaseStretch stretch = release_stretch(cut, space, {.least_mouth_mm = least_mm});
        const bool narrow = least_mm > 12.0;
        CHECK((stretch.pockets.at(0).plug == 0.0) == narrow);
        CHECK(std::abs(stretch.pockets.at(0).narrow_mm - (narrow ? 12.0 : 0.0)) < 1.0);
    }
}

TEST_CASE(
    "plugs of rubber in a dovetail, a T-slot and a barrel-shaped hole: width behind over mouth") {
    for (const int across : {96, 192}) {
        const double column = 48.0 / across;
        // The lowest of nine levels lies 5/9 mm above the foot of the slot.
        const Found wedge = found(dovetail(16, 24), kUp, across);
        const double behind = 16 + (24 - 16) * 17.0 / 18.0;
        CHECK(std::abs(wedge.stretch.most - (behind / 16 - 1)) < 3 * column / 16);
        CHECK(std::abs(wedge.stretch.pockets.at(0).mouth_mm - 16) < 2 * column);
        const Found t = found(t_slot(), kUp, across);
        CHECK(std::abs(t.stretch.most - (28.0 / 12.0 - 1)) < 3 * column * 28 / 144);
        CHECK(std::abs(t.stretch.pockets.at(0).behind_mm - 28) < 2 * column);
        const double round = 80.0 / across;
        const Found barrel = found(barrel_hole(256).mesh, kUp, across);
        CHECK(std::abs(barrel.stretch.most - 0.6) < 3 * round * 32 / 400);
        CHECK(barrel.stretch.pockets.at(0).ring == 0.0);
    }
}

TEST_CASE("what nothing holds need not stretch; an upright ring holds by its hole alone") {
    CHECK(found(sphere_solid(30, 96).mesh, Vec3(1, 2, 3), 96).stretch.most == 0.0);
    CHECK(found(torus_solid(30, 10, 96).mesh, kUp, 96).stretch.most == 0.0);
    const Found ring = found(torus_solid(30, 10, 96).mesh, Vec3::UnitX(), 96);
    CHECK(ring.space.volume_mm3 > 30000.0);
    CHECK(ring.stretch.pockets.at(0).ring < 0.03);
}

TEST_CASE("between the turns of a coil rubber closes around the part; in necks and slots not") {
    // Two turns of a square bar.
    TriMesh coil;
    const int steps = 96;
    for (int i = 0; i <= 2 * steps; ++i) {
        const double a = 8 * std::atan(1.0) * i / steps;
        const Vec3 out(std::cos(a), std::sin(a), 0);
        const Vec3 rise(0, 0, 30.0 * i / steps);
        for (const auto& [r, z] : {std::pair(20, 0), {30, 0}, {30, 10}, {20, 10}}) {
            coil.vertices.emplace_back(r * out + rise + z * kUp);
        }
        for (std::int32_t k = 0; k < 4 && i < 2 * steps; ++k) {
            const std::int32_t p = 4 * i + k;
            const std::int32_t q = 4 * i + (k + 1) % 4;
            coil.triangles.push_back({p, q, q + 4});
            coil.triangles.push_back({p, q + 4, p + 4});
        }
    }
    const std::int32_t last = 8 * steps;
    for (const Triangle& t :
         {Triangle{0, 2, 1}, Triangle{0, 3, 2}, Triangle{last, last + 1, last + 2},
          Triangle{last, last + 2, last + 3}}) {
        coil.triangles.push_back(t);
    }
    const TriMesh outward = mass_properties(coil).volume_mm3 > 0.0 ? coil : flipped(coil);
    const Found turns = found(outward, kUp, 192);
    CHECK(turns.space.volume_mm3 > 1000.0);
    CHECK(turns.stretch.pockets.at(0).bridge);
    CHECK_FALSE(found(dumbbell(128).mesh, kUp, 192).stretch.pockets.at(0).bridge);
    CHECK_FALSE(found(t_slot(), kUp, 192).stretch.pockets.at(0).bridge);
    CHECK_FALSE(found(barrel_hole(128).mesh, kUp, 192).stretch.pockets.at(0).bridge);
}

TEST_CASE("a tongue that bends aside") {
    // Deflection F l3 / 3 E I and root strain F l w / 2 E I, for F = 1, E I = 1.
    const double w = 8;
    const double l = 40;
    const double aside = l * l * l / 3;
    const double strain = l * w / 2;
    const StretchRange range = tongue_stretch(w, aside, l);
    CHECK_NEAR(range.low, 0.8 * strain, 1e-12);
    CHECK_NEAR(range.high, 1.8 * strain, 1e-12);
}

// The neck holds 20 pi (900 - 400) = 31,416 mm3.
TEST_CASE("pockets that are too small to matter are not measured") {
    const ColumnCut cut = cut_columns(dumbbell(64).mesh, kUp, {.across = 96});
    const LockedSpace space = locked_space(cut);
    CHECK(release_stretch(cut, space, {.least_mm3 = 30000}).most > 0.4);
    CHECK(release_stretch(cut, space, {.least_mm3 = 33000}).most == 0.0);
}
