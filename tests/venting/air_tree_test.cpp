// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/air_tree.h"

#include <algorithm>
#include <array>
#include <memory>
#include <numbers>

#include "cavigram/core/error.h"
#include "cavigram/repair/mend.h"
#include "cavigram/venting/column_tree.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

// The volumes of all pieces that end at a saddle and have any, least first: what is caught when
// only the highest place is open, side by side.
std::vector<double> side_volumes(const AirTree& tree) {
    std::vector<double> volumes;
    for (const AirTree::Arc& arc : tree.arcs) {
        if (arc.parent < 0 || arc.peak_vertex == tree.arcs[std::size_t(arc.parent)].peak_vertex) {
            continue;
        }
        if (arc.peak_height_mm > arc.saddle_height_mm + 1e-9) {
            volumes.push_back(arc.volume_mm3);
        }
    }
    std::sort(volumes.begin(), volumes.end());
    return volumes;
}

void check_volumes(const AirTree& tree, std::vector<double> expected) {
    const std::vector<double> volumes = side_volumes(tree);
    REQUIRE(volumes.size() == expected.size());
    std::sort(expected.begin(), expected.end());
    for (std::size_t i = 0; i < expected.size(); ++i) {
        CHECK_NEAR(volumes[i], expected[i], 1e-12);
    }
}

// What must hold in any tree.
void check_sound(const AirTree& tree, double volume_mm3) {
    CHECK_NEAR(tree.volume_mm3, volume_mm3, 1e-11);
    CHECK(tree.lost_rays == 0);
    double own = 0.0;
    for (std::size_t i = 0; i < tree.arcs.size(); ++i) {
        const AirTree::Arc& arc = tree.arcs[i];
        own += arc.own_mm3;
        CHECK(arc.own_mm3 > -1e-9 * volume_mm3);
        CHECK(arc.peak_height_mm >= arc.top_height_mm);
        CHECK(arc.top_height_mm >= arc.saddle_height_mm);
        if (arc.parent >= 0) {
            CHECK(arc.parent > static_cast<std::int32_t>(i));
            CHECK(tree.arcs[std::size_t(arc.parent)].top_height_mm == arc.saddle_height_mm);
        }
    }
    CHECK_NEAR(own, volume_mm3, 1e-11);
}

// Volumes of the pieces above a level, least first, from the tree.
std::vector<double> pieces(const AirTreeBuilder& solid, const AirTree& tree, double level) {
    std::vector<double> volumes;
    for (std::size_t i = 0; i < tree.arcs.size(); ++i) {
        const AirTree::Arc& arc = tree.arcs[i];
        const bool cut = arc.saddle_height_mm < level && level < arc.top_height_mm;
        if (cut || (arc.parent < 0 && arc.saddle_height_mm >= level)) {
            volumes.push_back(solid.volume_above_mm3(tree, static_cast<std::int32_t>(i), level));
        }
    }
    std::sort(volumes.begin(), volumes.end());
    return volumes;
}

// The same by flooding the grid: cubes that share a face hang together, those of the layer that the
// level cuts count half. Heights run along `axis`, downward when `sign` is -1.
std::vector<double> grid_pieces(const std::vector<bool>& filled, int n, int axis, int sign,
                                double level) {
    std::vector<bool> seen(filled.size(), false);
    const auto index = [n](const std::array<int, 3>& p) {
        return std::size_t(p[0] + n * (p[1] + n * p[2]));
    };
    // Share of a cube above the level.
    const auto share = [&](const std::array<int, 3>& p) {
        const double low = sign > 0 ? p[std::size_t(axis)] : -p[std::size_t(axis)] - 1;
        return std::clamp(low + 1.0 - level, 0.0, 1.0);
    };
    std::vector<double> volumes;
    for (int z = 0; z < n; ++z) {
        for (int y = 0; y < n; ++y) {
            for (int x = 0; x < n; ++x) {
                std::vector<std::array<int, 3>> pending{{x, y, z}};
                double volume = 0.0;
                while (!pending.empty()) {
                    const std::array<int, 3> p = pending.back();
                    pending.pop_back();
                    if (*std::min_element(p.begin(), p.end()) < 0 ||
                        *std::max_element(p.begin(), p.end()) >= n || !filled[index(p)] ||
                        seen[index(p)] || share(p) == 0.0) {
                        continue;
                    }
                    seen[index(p)] = true;
                    volume += share(p);
                    for (std::size_t k = 0; k < 3; ++k) {
                        for (const int step : {-1, 1}) {
                            std::array<int, 3> q = p;
                            q[k] += step;
                            pending.push_back(q);
                        }
                    }
                }
                if (volume > 0.0) {
                    volumes.push_back(volume);
                }
            }
        }
    }
    std::sort(volumes.begin(), volumes.end());
    return volumes;
}

}  // namespace

TEST_CASE("solids that can be checked by hand") {
    // Design values, by counting cubes.
    check_volumes(air_tree(two_towers().mesh, Vec3::UnitZ()), {3.0});
    check_volumes(air_tree(two_towers().mesh, -Vec3::UnitZ()), {});
    check_volumes(air_tree(u_arms().mesh, Vec3::UnitZ()), {36.0});
    check_volumes(air_tree(u_arms().mesh, -Vec3::UnitZ()), {});  // an arch
    const AirTree pillar = air_tree(stalagmite().mesh, Vec3::UnitZ());
    check_volumes(pillar, {24.0});
    CHECK(pillar.rays == 1);
    // A closed hollow catches nothing; nor does one with a shaft to the outside.
    for (const bool shaft : {false, true}) {
        const Solid box = blocks(5, 5, 5, [&](int x, int y, int z) {
            const bool hollow = x > 0 && x < 4 && y > 0 && y < 4 && z > 0 && z < 4;
            return !hollow && !(shaft && x == 2 && y == 2 && z == 4);
        });
        for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, 0, -1), Vec3(1, 0, 0), Vec3(1, 2, 3)}) {
            const AirTree tree = air_tree(box.mesh, up);
            check_volumes(tree, {});
            check_sound(tree, box.volume_mm3);
        }
    }
    // A cup: upright, upside down, askew.
    const Solid cup = blocks(5, 5, 5, [](int x, int y, int z) {
        return z == 0 || x == 0 || x == 4 || y == 0 || y == 4;
    });
    for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, 0, -1), Vec3(1, 1, 1)}) {
        check_volumes(air_tree(cup.mesh, up), {});
        check_sound(air_tree(cup.mesh, up), cup.volume_mm3);
    }
}

TEST_CASE("towers askew, in closed form") {
    // The two towers turned about y: up = (sin, 0, cos). Above height c a tower of the unit square
    // holds the integral of (top - (c - s x)/k)+ where the level is the plane s x + k z = c.
    const double angle = 0.15;
    const double s = std::sin(angle);
    const double k = std::cos(angle);
    const AirTree tree = air_tree(two_towers().mesh, Vec3(s, 0, k));
    // With r = s/k the right tower (x from 2 to 3, top z = 4) parts at the left tower's inner foot,
    // the point x = 1, z = 1. There the level is z = 1 - (x - 1) r. Above it lie a wedge of the
    // plate, r/2 between x = 1 and 2, and 3 + 3r/2 from 2 to 3; it stays above the plate's bottom.
    check_volumes(tree, {3.0 + 2.0 * s / k});
    // Turned far, the right tower is the higher one: from its top x = 3, z = 4 the left tower, with
    // x = 1, z = 1 at its inner foot, holds 4 + integral over x of (x - 1) s/k = 4 - s/2k.
    const double steep = 0.6;
    const double ratio = std::tan(steep);
    check_volumes(air_tree(two_towers().mesh, Vec3(std::sin(steep), 0, std::cos(steep))),
                  {4.0 - 0.5 * ratio});
}

TEST_CASE("a convex body has one peak, whichever way is up") {
    // checks.md section 7: "convex body -> exactly 1 pocket top (any orientation in general
    // position)".
    for (const Solid& solid : {box_solid(3, 4, 5), sphere_solid(20, 24), cone_solid(10, 30, 17),
                               cylinder_solid(8, 12, 13)}) {
        const AirTreeBuilder builder(solid.mesh);
        for (const Vec3& up : sphere_directions(60)) {
            const AirTree tree = builder.build(up);
            check_sound(tree, solid.volume_mm3);
            CHECK(side_volumes(tree).empty());
            CHECK(tree.roots.size() == 1);
            CHECK(tree.rays == 0);
        }
        for (int axis = 0; axis < 3; ++axis) {
            CHECK(side_volumes(builder.build(Vec3::Unit(axis))).empty());
            CHECK(side_volumes(builder.build(-Vec3::Unit(axis))).empty());
        }
    }
}

TEST_CASE("bowls and rings catch nothing at their highest place, tubes their lower arms") {
    for (const Solid& solid : {bowl(30, 24, 32), torus_solid(30, 8, 32)}) {
        const AirTreeBuilder builder(solid.mesh);
        // Upright, upside down, on edge, a little askew.
        for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, 0, -1), Vec3(1, 0, 0), Vec3(0.02, 0.01, 1)}) {
            const AirTree tree = builder.build(up);
            check_sound(tree, solid.volume_mm3);
            check_volumes(tree, {});
        }
    }
    // A W of square tubes: arms of 6, 9 and 4 on a base of 1.
    const Solid w = blocks(5, 1, 9, [](int x, int, int z) {
        return z == 0 || (x == 0 && z < 6) || x == 2 || (x == 4 && z < 4);
    });
    check_volumes(air_tree(w.mesh, Vec3::UnitZ()), {5.0, 3.0});
    check_volumes(air_tree(w.mesh, -Vec3::UnitZ()), {});
}

// A round tube bent to a U: arms at x = -R and R, the bend below z = 0. Air in the lower arm is cut
// off when the level passes the bend's inner side, z = -(R - r). Above it lie the arm, pi r^2 H,
// and of the quarter ring on its side what is higher: at a distance s = R + u from the bend's axis,
// where the tube is 2 sqrt(r^2 - u^2) wide, the arc from the horizontal down to asin((R - r)/s). So
//   V = pi r^2 H + integral from -r to r of 2 sqrt(r^2 - u^2) s asin((R - r)/s) du. [derived here]
TEST_CASE("a round U tube keeps its lower arm and part of the bend, in closed form") {
    const double big = 40.0;
    const double small = 10.0;
    const double low = 50.0;
    const double high = 80.0;
    double closed = pi * small * small * low;
    constexpr int kSteps = 200000;
    for (int i = 0; i < kSteps; ++i) {
        const double u = small * std::sin(pi * ((i + 0.5) / kSteps - 0.5));
        const double chord = std::sqrt(small * small - u * u);
        const double s = big + u;
        // du = chord d(angle), the angle from -90 to 90 degrees.
        closed += 2.0 * chord * s * std::asin((big - small) / s) * chord * pi / kSteps;
    }
    double last = 0.0;
    for (const int n : {16, 32, 64}) {
        const Solid tube = bent_tube(big, small, low, high, n);
        const AirTreeBuilder builder(tube.mesh);
        const std::vector<double> sides = side_volumes(builder.build(Vec3::UnitZ()));
        REQUIRE(sides.size() == 1);
        const double error = std::abs(sides[0] / closed - 1.0);
        CAPTURE(error);
        if (last > 0.0) {
            CHECK(error < 0.3 * last);  // second order in the facets
        }
        last = error;
        CHECK(side_volumes(builder.build(-Vec3::UnitZ())).empty());
    }
    CHECK(last < 0.004);
}

TEST_CASE("two cones on a plate: the lower tip's cone is the pocket") {
    // A5, with the cone of n flat sides: (n/2) sin(2 pi/n) R^2 H/3. Smooth: 84.823 002 mL.
    for (const int n : {16, 256}) {
        const TriMesh mesh = two_cones(30, 90, n);
        const double cone = 0.5 * n * std::sin(2 * pi / n) * 30 * 30 * 90 / 3;
        check_volumes(air_tree(mesh, Vec3::UnitZ()), {cone});
        if (n == 256) {
            CHECK_NEAR(cone, 84823.002, 2.0 * pi * pi / 3.0 / n / n * 1.01);
        }
    }
}

TEST_CASE("turning the part and the direction together changes nothing") {
    const TriMesh mesh = bumpy_ball(50, 4, 24, 0.12, 0.01, 4);
    const AirTreeBuilder builder(mesh);
    for (std::uint32_t seed = 1; seed <= 6; ++seed) {
        const Mat3 turn = some_rotation(seed);
        const Vec3 shift(1000.0 * seed, -300.0, 20.0);
        const TriMesh moved = transformed(rotated(mesh, turn), 1.0, shift);
        for (const Vec3& up : {Vec3(0.3, -0.2, 0.9), Vec3(-0.7, 0.5, 0.1)}) {
            const AirTree plain = builder.build(up);
            const AirTree turned = air_tree(moved, turn * up);
            check_sound(turned, plain.volume_mm3);
            REQUIRE(turned.arcs.size() == plain.arcs.size());
            CHECK(plain.arcs.size() > 20);
            CHECK(turned.rays == plain.rays);
            for (std::size_t i = 0; i < plain.arcs.size(); ++i) {
                CHECK(turned.arcs[i].parent == plain.arcs[i].parent);
                CHECK(turned.arcs[i].peak_vertex == plain.arcs[i].peak_vertex);
                // Rounding of the shifted vertices, 1e-12 mm, times the surface: 1e-13 of the
                // volume.
                CHECK(std::abs(turned.arcs[i].volume_mm3 - plain.arcs[i].volume_mm3) <
                      1e-11 * plain.volume_mm3);
            }
        }
    }
}

TEST_CASE("the order of vertices and triangles does not matter, level places included") {
    const Solid towers = two_towers();
    const Solid pillar = stalagmite();
    const TriMesh ball = bumpy_ball(50, 3, 14, 0.15, 0.02, 5);
    for (const TriMesh& mesh : {towers.mesh, pillar.mesh, ball}) {
        for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, -1, 0), Vec3(0.2, 0.3, 0.9)}) {
            const AirTree plain = air_tree(mesh, up);
            for (std::uint32_t seed = 1; seed < 5; ++seed) {
                const TriMesh other = shuffled(mesh, seed);
                const AirTree tree = air_tree(other, up);
                REQUIRE(tree.arcs.size() == plain.arcs.size());
                for (std::size_t i = 0; i < plain.arcs.size(); ++i) {
                    CHECK(tree.arcs[i].parent == plain.arcs[i].parent);
                    CHECK(tree.arcs[i].peak_height_mm == plain.arcs[i].peak_height_mm);
                    CHECK(tree.arcs[i].saddle_height_mm == plain.arcs[i].saddle_height_mm);
                    CHECK(std::abs(tree.arcs[i].volume_mm3 - plain.arcs[i].volume_mm3) <
                          1e-12 * plain.volume_mm3);
                }
            }
        }
    }
}

TEST_CASE("the volume above a level is that of a cut ball, and falls from all to nothing") {
    const Solid ball = sphere_solid(20, 32);
    const AirTreeBuilder builder(ball.mesh);
    const AirTree tree = builder.build(Vec3::UnitZ());
    const std::int32_t root = tree.roots.front();
    const std::vector<Vec2> profile = arc_profile(20, 32);
    CHECK_NEAR(builder.volume_above_mm3(tree, root, -100.0), ball.volume_mm3, 1e-12);
    CHECK(builder.volume_above_mm3(tree, root, 20.0) == 0.0);
    for (double z = -19.0; z < 20.0; z += 1.7) {
        CHECK_NEAR(builder.volume_above_mm3(tree, root, z), revolved_between(profile, 32, z, 20.0),
                   1e-11);
    }
}

TEST_CASE("several solids have a root each, and extra edges join what crosses") {
    // Two towers stuck into a plate: three boxes that cross. Told nothing, they are three solids.
    const TriMesh plate = transformed(box_solid(5, 3, 1).mesh, 1.0, Vec3(-1, -1, 0));
    const TriMesh left = transformed(box_solid(1, 1, 4.5).mesh, 1.0, Vec3(0, 0, 0.5));
    const TriMesh right = transformed(box_solid(1, 1, 3.5).mesh, 1.0, Vec3(2, 0, 0.5));
    const TriMesh both = joined(joined(plate, left), right);
    const AirTree apart = air_tree(both, Vec3::UnitZ());
    CHECK(apart.roots.size() == 3);
    check_volumes(apart, {});
    // The towers' sides cross the plate's top, and nothing else.
    std::vector<std::array<std::int32_t, 2>> crossing;
    for (std::int32_t s = 0; s < 12; ++s) {
        for (std::int32_t t = 12; t < 36; ++t) {
            Box3 a;
            Box3 b;
            for (int i = 0; i < 3; ++i) {
                a.extend(both.corner(std::size_t(s), i));
                b.extend(both.corner(std::size_t(t), i));
            }
            if ((a.min().array() <= b.max().array()).all() &&
                (b.min().array() <= a.max().array()).all()) {
                crossing.push_back({s, t});
            }
        }
    }
    AirTreeOptions options;
    options.extra_edges = crossing_edges(both, crossing);
    const AirTree linked = air_tree(both, Vec3::UnitZ(), options);
    CHECK(linked.roots.size() == 1);
    // The right tower's 3 above the plate, as if it were one piece with it.
    check_volumes(linked, {3.0});
    // Space covered twice counts twice.
    CHECK_NEAR(linked.volume_mm3, 15.0 + 4.5 + 3.5, 1e-12);
    options.extra_edges = {{0, 24}};
    CHECK_THROWS_AS(static_cast<void>(air_tree(both, Vec3::UnitZ(), options)), InvalidInput);
}

TEST_CASE("crossings that mending left in a part are joined, and pockets agree with columns") {
    // Two balls of radius 10 with their centers 19.5 apart: above z = sqrt(10^2 - 9.75^2) they
    // part. Gentle mending leaves them crossing.
    const Solid ball = sphere_solid(10.0, 96);
    const TriMesh two = joined(ball.mesh, transformed(ball.mesh, 1.0, Vec3(19.5, 0, 0)));
    MendOptions gentle;
    gentle.level = MendLevel::gentle;
    const Mended mended = mend(two, gentle);
    REQUIRE(!mended.part.crossings().empty());
    CHECK(air_tree(mended.part.mesh(), Vec3::UnitZ()).roots.size() == 2);
    const AirTree tree = air_tree(mended.part, Vec3::UnitZ());
    REQUIRE(tree.roots.size() == 1);
    REQUIRE(tree.arcs.size() == 3);
    const ColumnTree columns = column_tree(mended.part.mesh(), Vec3::UnitZ(), {400});
    // Independent of both: the cap of a ball above the saddle, pi h^2 (3 r - h) / 3.
    const double saddle = std::sqrt(10.0 * 10.0 - 9.75 * 9.75);
    const double h = 10.0 - saddle;
    const double cap = pi * h * h * (30.0 - h) / 3.0;
    // The saddle is as unsure as the triangles are high, 10 sin(180/48 degrees) = 0.65 mm, and the
    // cap changes with it by its base's area.
    const double base = pi * (100.0 - saddle * saddle);
    std::size_t compared = 0;
    for (const AirTree::Arc& arc : tree.arcs) {
        if (arc.parent < 0) {
            continue;
        }
        CHECK(std::abs(arc.saddle_height_mm - saddle) < 0.66);
        CHECK(std::abs(arc.volume_mm3 - cap) < 0.66 * base);
        for (const AirTree::Arc& column : columns.arcs) {
            if (column.parent >= 0 && column.volume_mm3 > 100.0) {
                CHECK(std::abs(arc.volume_mm3 - column.volume_mm3) < 0.66 * base);
                ++compared;
            }
        }
    }
    CHECK(compared == 4);
}

TEST_CASE("the same bytes for any number of threads and for one workspace used again") {
    const TriMesh mesh = bumpy_ball(50, 4, 24, 0.12, 0.01, 6);
    const AirTreeBuilder builder(mesh);
    const std::vector<Vec3> ups = sphere_directions(25);
    AirTreeWorkspace workspace;
    for (const int threads : {1, 2, 5}) {
        RunContext context;
        context.threads = threads;
        const std::vector<AirTree> trees = builder.build(ups, context);
        REQUIRE(trees.size() == ups.size());
        for (std::size_t d = 0; d < ups.size(); ++d) {
            const AirTree alone = builder.build(ups[d], workspace);
            CHECK(trees[d].arc_of_vertex == alone.arc_of_vertex);
            REQUIRE(trees[d].arcs.size() == alone.arcs.size());
            for (std::size_t i = 0; i < alone.arcs.size(); ++i) {
                CHECK(trees[d].arcs[i].volume_mm3 == alone.arcs[i].volume_mm3);
                CHECK(trees[d].arcs[i].own_mm3 == alone.arcs[i].own_mm3);
            }
        }
    }
}

TEST_CASE("a mesh and an index that are shared give the trees of a builder with its own") {
    const auto part =
        std::make_shared<const Part>(part_from_closed(bumpy_ball(50, 4, 24, 0.12, 0.01, 6)));
    const auto index = std::make_shared<const TriangleBvh>(part->mesh());
    const AirTreeBuilder own(*part);
    const AirTreeBuilder sharing(part, index);
    CHECK(&sharing.mesh() == &part->mesh());
    CHECK(&sharing.bvh() == index.get());
    for (const Vec3& up : sphere_directions(9)) {
        const AirTree one = own.build(up);
        const AirTree other = sharing.build(up);
        CHECK(one.arc_of_vertex == other.arc_of_vertex);
        CHECK(one.volume_mm3 == other.volume_mm3);
        CHECK(one.rays == other.rays);
    }
}

TEST_CASE("what cannot be answered is refused") {
    const Solid box = box_solid(1, 1, 1);
    CHECK_THROWS_AS(static_cast<void>(air_tree(box.mesh, Vec3::Zero())), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(air_tree(box.mesh, Vec3(0, NAN, 1))), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(air_tree(TriMesh{}, Vec3::UnitZ())), UnusableInput);
    TriMesh open = box.mesh;
    open.triangles.pop_back();
    CHECK_THROWS_AS(static_cast<void>(air_tree(open, Vec3::UnitZ())), UnusableInput);
    // Two boxes that share one vertex.
    TriMesh pinched = joined(box.mesh, transformed(box.mesh, 1.0, Vec3(1, 1, 1)));
    for (Triangle& t : pinched.triangles) {
        std::replace(t.begin(), t.end(), 8, 7);
    }
    CHECK_THROWS_AS(static_cast<void>(air_tree(pinched, Vec3::UnitZ())), UnusableInput);
}

TEST_CASE("needles and folds at a peak do not mislead") {
    // The tip of a cone with an extra vertex a hair below it on an edge, and one that lies on the
    // line between two others: the fan at the tip holds triangles without area.
    TriMesh mesh = cone_solid(10, 20, 8).mesh;
    const Vec3 tip(0, 0, 20);
    const auto at_tip = std::find(mesh.vertices.begin(), mesh.vertices.end(), tip);
    REQUIRE(at_tip != mesh.vertices.end());
    const auto v = static_cast<std::int32_t>(at_tip - mesh.vertices.begin());
    // Part the edge from the tip to the first rim vertex at its middle: two flat triangles more.
    std::int32_t rim = -1;
    for (const Triangle& t : mesh.triangles) {
        if (std::find(t.begin(), t.end(), v) != t.end()) {
            rim = *std::max_element(t.begin(), t.end()) == v
                      ? t[0]
                      : *std::max_element(t.begin(), t.end());
            break;
        }
    }
    const auto middle = static_cast<std::int32_t>(mesh.vertices.size());
    mesh.vertices.push_back(0.5 * (tip + mesh.vertices[std::size_t(rim)]));
    std::vector<Triangle> parted;
    for (const Triangle& t : mesh.triangles) {
        bool cut = false;
        for (std::size_t i = 0; i < 3 && !cut; ++i) {
            const std::int32_t a = t[i];
            const std::int32_t b = t[(i + 1) % 3];
            const std::int32_t c = t[(i + 2) % 3];
            if ((a == v && b == rim) || (a == rim && b == v)) {
                // One of the halves keeps an edge past the middle: a needle a-middle-b.
                if (a == v) {
                    parted.push_back({a, middle, c});
                    parted.push_back({middle, b, c});
                } else {
                    parted.push_back({a, b, c});
                    parted.push_back({a, middle, b});
                }
                cut = true;
            }
        }
        if (!cut) {
            parted.push_back(t);
        }
    }
    mesh.triangles = parted;
    for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, 0, -1), Vec3(1, 0, 0), Vec3(0.1, 0.2, 1)}) {
        const AirTree outside = air_tree(mesh, up);
        CHECK(side_volumes(outside).empty());
        CHECK(outside.rays == 0);
        // The same as a hollow in a box: now every peak is a roof.
        const TriMesh box = transformed(box_solid(100, 100, 100).mesh, 1.0, Vec3(-50, -50, -40));
        const AirTree hollow = air_tree(joined(box, flipped(mesh)), up);
        CHECK(side_volumes(hollow).empty());
        CHECK(hollow.roots.size() == 1);
        CHECK(hollow.rays >= 1);
        CHECK(hollow.lost_rays == 0);
    }
}

TEST_CASE("random cubes equal a flooded grid, for all six ways up") {
    constexpr int n = 5;
    for (std::uint32_t seed = 0; seed < 240; ++seed) {
        std::mt19937 random(seed);
        const std::uint32_t percent = 20 + 15 * (seed % 5);
        std::vector<bool> filled(n * n * n);
        for (std::size_t i = 0; i < filled.size(); ++i) {
            filled[i] = random() % 100 < percent;
        }
        const Solid solid = polycube_solid(filled, n, n, n);
        const AirTreeBuilder builder(solid.mesh);
        for (int axis = 0; axis < 3; ++axis) {
            for (const int sign : {1, -1}) {
                CAPTURE(seed);
                CAPTURE(axis);
                CAPTURE(sign);
                const AirTree tree = builder.build(sign * Vec3::Unit(axis));
                check_sound(tree, solid.volume_mm3);
                for (int layer = 0; layer < n; ++layer) {
                    const double level = (sign > 0 ? layer : layer - n) + 0.5;
                    const auto found = pieces(builder, tree, level);
                    const auto expected = grid_pieces(filled, n, axis, sign, level);
                    REQUIRE(found.size() == expected.size());
                    for (std::size_t i = 0; i < found.size(); ++i) {
                        CHECK_NEAR(found[i], expected[i], 1e-12);
                    }
                }
            }
        }
    }
}

TEST_CASE("random cubes askew: a root for each solid, and no air lost, though most heights tie") {
    constexpr int n = 5;
    for (std::uint32_t seed = 500; seed < 560; ++seed) {
        std::mt19937 random(seed);
        const std::uint32_t percent = 20 + 15 * (seed % 5);
        std::vector<bool> filled(n * n * n);
        for (std::size_t i = 0; i < filled.size(); ++i) {
            filled[i] = random() % 100 < percent;
        }
        const Solid solid = polycube_solid(filled, n, n, n);
        const AirTreeBuilder builder(solid.mesh);
        const std::size_t solids = grid_pieces(filled, n, 2, 1, -1.0).size();
        for (const Vec3& up : {Vec3(1, 1, 0), Vec3(0, -1, 1), Vec3(1, 1, 1), Vec3(-1, 1, -1),
                               Vec3(-2, 1, 0), Vec3(1, 2, 3)}) {
            CAPTURE(seed);
            const AirTree tree = builder.build(up);
            check_sound(tree, solid.volume_mm3);
            CHECK(tree.roots.size() == solids);
        }
    }
}
