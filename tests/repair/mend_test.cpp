// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/mend.h"

#include <random>
#include <string>

#include "cavigram/core/error.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"

#include "support/damage.h"
#include "support/findings.h"
#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

namespace {

double volume(const Mended& mended) {
    return mass_properties(mended.part.mesh()).volume_mm3;
}

bool did(const Mended& mended, const std::string& action) {
    for (const RepairStep& step : mended.part.steps()) {
        if (to_text(step.action) == action) {
            return true;
        }
    }
    return false;
}

std::string refusal(const TriMesh& mesh, const MendOptions& options = {}) {
    return refusal_of<UnusableInput>([&] { return mend(mesh, options); });
}

}  // namespace

TEST_CASE("a sound file stays as it is, welded or not") {
    const Solid torus = torus_solid(50, 15, 60);
    for (const TriMesh& mesh : {torus.mesh, damage::exploded(torus.mesh)}) {
        const Mended mended = mend(mesh);
        CHECK(mended.part.verdict() == Verdict::sound);
        CHECK(mended.part.mesh().triangles.size() == torus.mesh.triangles.size());
        CHECK_NEAR(volume(mended), torus.volume_mm3, 1e-13);
        CHECK(mended.part.volume_above_mm3() == 0.0);
    }
}

TEST_CASE("an inside-out file is turned, and that is said") {
    const Solid torus = torus_solid(50, 15, 60);
    const Mended mended = mend(flipped(torus.mesh));
    CHECK(mended.part.verdict() == Verdict::repaired);
    CHECK(did(mended, "turn_shells"));
    CHECK_NEAR(volume(mended), torus.volume_mm3, 1e-13);
}

TEST_CASE("a part's neighbors belong to its mesh, also where shells were turned") {
    for (const TriMesh& mesh : {flipped(torus_solid(50, 15, 60).mesh), box_solid(2, 3, 4).mesh,
                                damage::exploded(flipped(box_solid(2, 3, 4).mesh))}) {
        const Mended mended = mend(mesh);
        CHECK(mended.part.adjacent().twin == adjacency(mended.part.mesh()).twin);
    }
}

TEST_CASE("flips, repeats, folds and order do no harm: the volume comes back to 1e-12") {
    const Solid solid = revolved_solid({{0, 0}, {30, 5}, {12, 40}, {25, 60}, {0, 55}}, 48);
    std::mt19937 random(5);  // fixed seed
    for (int round = 0; round < 5; ++round) {
        TriMesh mesh = damage::part_flipped(
            solid.mesh, [&](const Vec3& c) { return c.x() + 0.3 * c.z() > 20 + round; });
        for (int i = 0; i < 20; ++i) {
            mesh.triangles.push_back(mesh.triangles[random() % solid.mesh.triangles.size()]);
        }
        std::shuffle(mesh.triangles.begin(), mesh.triangles.end(), random);
        const Mended mended = mend(damage::exploded(mesh));
        CHECK(mended.part.verdict() == Verdict::repaired);
        CHECK(did(mended, "drop_repeated"));
        CHECK(did(mended, "turn_faces"));
        CHECK_NEAR(volume(mended), solid.volume_mm3, 1e-12);
    }
}

TEST_CASE("holes, a scrap and flips together; the truth lies in the range") {
    const Solid sphere = sphere_solid(30, 64);
    TriMesh mesh = damage::holed(sphere.mesh, [](const Vec3& c) {
        return (c - Vec3(0, 0, 30)).norm() < 6 || (c - Vec3(30, 0, 0)).norm() < 4;
    });
    mesh = damage::part_flipped(mesh, [](const Vec3& c) { return c.y() > 20; });
    TriMesh scrap;
    scrap.vertices = {{50, 0, 0}, {50.1, 0, 0}, {50, 0.1, 0}};
    scrap.triangles = {{0, 1, 2}};
    const Mended mended = mend(joined(mesh, scrap));
    CHECK(did(mended, "drop_scraps"));
    CHECK(did(mended, "close_holes"));
    CHECK(did(mended, "turn_faces"));
    CHECK(sphere.volume_mm3 >= volume(mended) - mended.part.volume_below_mm3());
    CHECK(sphere.volume_mm3 <= volume(mended) + mended.part.volume_above_mm3());
    CHECK_NEAR(volume(mended), sphere.volume_mm3, 2e-3);
}

TEST_CASE("cracks along every edge are closed within their bound") {
    const Solid torus = torus_solid(50, 15, 60);
    const Mended mended = mend(damage::cracked(torus.mesh, 0.003, 17));
    CHECK(did(mended, "close_cracks"));
    CHECK(mended.part.shells().count == 1);
    CHECK(std::abs(volume(mended) - torus.volume_mm3) <= mended.part.volume_above_mm3());
    CHECK_NEAR(volume(mended), torus.volume_mm3, 1e-3);
}

TEST_CASE(
    "a shell within is solid or hollow as it looks; two solids apart add up, two that touch") {
    const Solid outer = box_solid(40, 40, 40);
    const Solid inner = box_solid(10, 10, 10);
    const TriMesh inside = transformed(inner.mesh, 1.0, Vec3(15, 15, 15));
    const Mended within = mend(joined(outer.mesh, inside));
    CHECK_NEAR(volume(within), 64000.0, 1e-13);
    CHECK(within.part.shells().count == 1);
    CHECK(within.part.volume_below_mm3() == doctest::Approx(1000.0));
    REQUIRE(within.findings.size() == 1);
    CHECK(has_finding(within.findings, "solid_within"));
    CHECK(
        refusal(joined(outer.mesh, inside), {.level = MendLevel::off}).find("looks the same way") !=
        std::string::npos);
    // The same file inside out means the same.
    const Mended turned = mend(flipped(joined(outer.mesh, inside)));
    CHECK_NEAR(volume(turned), 64000.0, 1e-13);
    CHECK_NEAR(volume(mend(joined(flipped(outer.mesh), inside))), 63000.0, 1e-13);
    // Whoever says that all is filled need not be told.
    const Mended filled = mend(joined(outer.mesh, inside), {.hollows = Hollows::fill});
    CHECK_NEAR(volume(filled), 64000.0, 1e-13);
    CHECK(filled.findings.empty());
    const Mended stated = mend(joined(outer.mesh, flipped(inside)));
    CHECK(stated.part.verdict() == Verdict::sound);
    CHECK_NEAR(volume(stated), 63000.0, 1e-13);

    CHECK_NEAR(volume(mend(joined(outer.mesh, transformed(inner.mesh, 1.0, Vec3(60, 0, 0))))),
               65000.0, 1e-13);
    const Mended touching = mend(joined(outer.mesh, transformed(outer.mesh, 1.0, Vec3(40, 40, 0))));
    CHECK_NEAR(volume(touching), 128000.0, 1e-13);
    CHECK(touching.part.shells().count == 2);
}

TEST_CASE("what encloses nothing is refused with a sentence") {
    CHECK(refusal(TriMesh{}).find("no triangles") != std::string::npos);
    TriMesh one;
    one.vertices = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}};
    one.triangles = {{0, 1, 2}};
    CHECK(refusal(one) != "accepted");
    TriMesh point = one;
    point.vertices = {{1, 1, 1}, {1, 1, 1}, {1, 1, 1}};
    CHECK(refusal(point).find("two corners in the same place") != std::string::npos);
    TriMesh folded = one;
    folded.triangles.push_back({0, 2, 1});
    CHECK(refusal(folded).find("folded flat") != std::string::npos);
    const TriMesh bowl =
        damage::holed(sphere_solid(30, 32).mesh, [](const Vec3& c) { return c.z() > -25; });
    CHECK(refusal(bowl).find("the largest gap") != std::string::npos);
    const TriMesh hole =
        damage::holed(sphere_solid(30, 64).mesh, [](const Vec3& c) { return c.z() > 28; });
    CHECK(refusal(hole, {.largest_hole_mm = 5.0}).find("near x ") != std::string::npos);
    CHECK(refusal(hole) == "accepted");
}

TEST_CASE("the same bytes every time") {
    const TriMesh hole = damage::holed(sphere_solid(30, 64).mesh,
                                       [](const Vec3& c) { return c.z() > 28 || c.x() > 27; });
    const Mended a = mend(hole);
    const Mended b = mend(hole);
    CHECK(a.part.mesh().vertices == b.part.mesh().vertices);
    CHECK(a.part.mesh().triangles == b.part.mesh().triangles);
}

namespace {

std::size_t faults_of(const Mended& mended, const std::string& kind) {
    for (const Fault& fault : mended.part.faults()) {
        if (to_text(fault.kind) == kind) {
            return fault.count;
        }
    }
    return 0;
}

}  // namespace

TEST_CASE("faults are counted and placed") {
    const Solid sphere = sphere_solid(30, 64);
    TriMesh mesh = damage::holed(sphere.mesh, [](const Vec3& c) {
        return (c - Vec3(0, 0, 30)).norm() < 6 || (c - Vec3(30, 0, 0)).norm() < 4;
    });
    mesh.triangles.push_back(mesh.triangles[100]);
    const Mended mended = mend(mesh);
    CHECK(faults_of(mended, "hole") == 2);
    CHECK(faults_of(mended, "duplicate") == 1);
    CHECK(faults_of(mended, "crossing") == 0);
    for (const Fault& fault : mended.part.faults()) {
        if (fault.kind == FaultKind::hole) {
            REQUIRE(fault.sizes_mm.size() == 2);
            // The rims lie near circles of radius 6 and 4; steps along the grid lengthen them by up
            // to 4/pi.
            CHECK(fault.sizes_mm[0] > 2 * 3.14159 * 5.0);
            CHECK(fault.sizes_mm[0] < 2 * 3.14159 * 7.0 * 1.3);
        }
    }
    CHECK(mend(sphere.mesh).part.faults().empty());
}

TEST_CASE("levels of mending: off takes only what is sound, gentle invents nothing to speak of") {
    const Solid box = box_solid(40, 40, 40);
    CHECK(refusal(damage::exploded(box.mesh), {.level = MendLevel::off}) == "accepted");
    CHECK(refusal(flipped(box.mesh), {.level = MendLevel::off}).find("inside out") !=
          std::string::npos);
    TriMesh open = subdivided(box.mesh, 3);
    open.triangles.resize(open.triangles.size() - 40);
    CHECK(refusal(open, {.level = MendLevel::off}).find("mending is off") != std::string::npos);
    CHECK(refusal(open, {.level = MendLevel::gentle}).find("mend full") != std::string::npos);
    CHECK(refusal(open) == "accepted");
}

TEST_CASE("hollows are kept or filled; the two skins of one wall are told from a cavity") {
    const Solid outer = sphere_solid(30, 64);
    const Solid inner = sphere_solid(26, 64);
    const TriMesh wall = joined(outer.mesh, flipped(inner.mesh));
    const Mended kept = mend(wall);
    CHECK_NEAR(volume(kept), outer.volume_mm3 - inner.volume_mm3, 1e-12);
    CHECK(faults_of(kept, "double_skin") == 1);
    CHECK(kept.part.volume_above_mm3() == doctest::Approx(inner.volume_mm3));
    CHECK_NEAR(volume(mend(wall, {.hollows = Hollows::fill})), outer.volume_mm3, 1e-12);
    const Mended cavity =
        mend(joined(outer.mesh, flipped(transformed(inner.mesh, 0.3, Vec3(5, 0, 0)))));
    CHECK(faults_of(cavity, "hollow") == 1);
    CHECK(faults_of(cavity, "double_skin") == 0);
}

TEST_CASE("crossing solids become their union, whichever way their faces look") {
    const Solid box = box_solid(40, 40, 40);
    const TriMesh shifted = transformed(box.mesh, 1.0, Vec3(20, 20, 20));
    for (const TriMesh& second : {shifted, flipped(shifted)}) {
        const Mended mended = mend(joined(box.mesh, second));
        CHECK_NEAR(volume(mended), 2 * 64000.0 - 8000.0, 1e-12);
        CHECK(mended.part.shells().count == 1);
        CHECK(mended.part.crossings().empty());
        CHECK(faults_of(mended, "overlap") == 1);
    }
    // Of which one is bored through by itself: winding numbers, not pairs of solids.
    const TriMesh twice = joined(joined(box.mesh, shifted), shifted);
    CHECK_NEAR(volume(mend(twice)), 2 * 64000.0 - 8000.0, 1e-12);
    // Hollows that meet are one hollow.
    const TriMesh big = box_solid(100, 100, 100).mesh;
    const TriMesh bubbles = transformed(joined(box.mesh, shifted), 1.0, Vec3(10, 10, 10));
    CHECK_NEAR(volume(mend(joined(big, flipped(bubbles)))), 1e6 - (2 * 64000.0 - 8000.0), 1e-12);
    // Three in a chain.
    const TriMesh three =
        joined(joined(box.mesh, shifted), transformed(box.mesh, 1.0, Vec3(40, 40, 40)));
    CHECK_NEAR(volume(mend(three)), 3 * 64000.0 - 2 * 8000.0, 1e-12);
}

TEST_CASE("gentle mending leaves crossings, and the range holds what they count twice") {
    const Solid box = box_solid(40, 40, 40);
    const TriMesh two = joined(box.mesh, transformed(box.mesh, 1.0, Vec3(20, 20, 20)));
    const Mended mended = mend(two, {.level = MendLevel::gentle});
    CHECK(did(mended, "keep_crossings"));
    CHECK_NEAR(volume(mended), 128000.0, 1e-12);
    CHECK(mended.part.volume_below_mm3() >= 8000.0);
    CHECK(mended.part.volume_below_mm3() < 8400.0);
    CHECK(mended.part.volume_above_mm3() == 0.0);
}

TEST_CASE("a wrap holds the part, and its range the truth") {
    const Solid torus = torus_solid(50, 15, 60);
    const Mended mended = mend(torus.mesh, {.wrap = true});
    CHECK(mended.part.verdict() == Verdict::wrapped);
    CHECK(torus.volume_mm3 >= volume(mended) - mended.part.volume_below_mm3());
    CHECK(torus.volume_mm3 <= volume(mended) + mended.part.volume_above_mm3());
    CHECK_NEAR(volume(mended), torus.volume_mm3, 0.02);
    CHECK(refusal(torus.mesh, {.level = MendLevel::full, .wrap = true}) == "accepted");
}

TEST_CASE("a wrap that would fill a hollow is refused") {
    const Solid outer = box_solid(40, 40, 40);
    const TriMesh hollow = flipped(transformed(outer.mesh, 0.7, Vec3(6, 6, 6)));
    CHECK(refusal(joined(outer.mesh, hollow), {.wrap = true}).find("further apart") !=
          std::string::npos);
}

TEST_CASE("scraps go, or stay if they are closed and wanted") {
    const Solid ball = sphere_solid(30, 64);
    const Solid crumb = box_solid(0.2, 0.2, 0.2);
    const TriMesh both = joined(ball.mesh, transformed(crumb.mesh, 1.0, Vec3(40, 0, 0)));
    TriMesh torn = both;
    torn.triangles.erase(torn.triangles.begin() + 100);  // a hole, so that the surface is sewn
    CHECK(mend(torn).part.shells().count == 1);
    CHECK(mend(torn, {.keep_scraps = true}).part.shells().count == 2);
}

namespace {

bool finds(const Mended& mended, FindingCode code) {
    return has_finding(mended.findings, code);
}

}  // namespace

TEST_CASE("base_closed: a flat open side is said, a hole in the middle of a side is not a base") {
    // A box of 40 mm without its floor.
    TriMesh open = box_solid(40, 40, 40).mesh;
    std::erase_if(open.triangles, [&](const Triangle& t) {
        double top = 0.0;
        for (const std::int32_t v : t) {
            top = std::max(top, open.vertices[static_cast<std::size_t>(v)].z());
        }
        return top == 0.0;
    });
    REQUIRE(open.triangles.size() == 10);
    const Mended mended = mend(open);
    CHECK(finds(mended, "base_closed"));
    CHECK_NEAR(volume(mended), 64000.0, 1e-12);
    CHECK_FALSE(finds(mend(box_solid(40, 40, 40).mesh), "base_closed"));
    // One of many triangles of a ball.
    TriMesh ball = sphere_solid(30, 64).mesh;
    ball.triangles.erase(ball.triangles.begin() + 600);
    const Mended patched = mend(ball);
    CHECK(did(patched, "close_holes"));
    CHECK_FALSE(finds(patched, "base_closed"));
}
