// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/line_views.h"

#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>

#include "cavigram/mesh/solids.h"
#include "cavigram/mesh/tri_mesh.h"

#include "molding/shapes.h"
#include "support/near.h"
#include "support/refusal.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

const Vec3 kUp = Vec3::UnitZ();

LineViews views_of(const TriMesh& mesh, const Parting& parted,
                   const LineViewOptions& options = {}) {
    return line_views(mesh, TriangleBvh(mesh), parted, options);
}

// A line around a box on its four walls, whose height is `height` of the place.
template <class Height>
Parting around_box(const TriMesh& box, double length, double width, const Height& height) {
    const TriangleBvh index(box);
    Parting parted;
    parted.pull = kUp;
    PartingLoop loop;
    const double x = 0.5 * length;
    const double y = 0.5 * width;
    const std::vector<Vec2> corners = {{-x, -y}, {x, -y}, {x, y}, {-x, y}};
    constexpr int kPieces = 8;
    for (std::size_t i = 0; i < 4; ++i) {
        for (int k = 0; k < kPieces; ++k) {
            const Vec2 p = corners[i] + k / double{kPieces} * (corners[(i + 1) % 4] - corners[i]);
            loop.points_mm.emplace_back(p.x(), p.y(), height(p.x(), p.y()));
        }
    }
    for (std::size_t i = 0; i < loop.points_mm.size(); ++i) {
        const Vec3 to = loop.points_mm[(i + 1) % loop.points_mm.size()];
        loop.faces.push_back(index.nearest(0.5 * (loop.points_mm[i] + to)).triangle);
        loop.length_mm += (to - loop.points_mm[i]).norm();
    }
    parted.length_mm = loop.length_mm;
    parted.line.loops = {loop};
    return parted;
}

TriMesh centered_box(double length, double width, double height) {
    TriMesh box = box_solid(length, width, height).mesh;
    const Vec3 middle = bounds(box).center();
    for (Vec3& v : box.vertices) {
        v -= middle;
    }
    return box;
}

}  // namespace

TEST_CASE("a line that climbs along a box: heights by the straight line's equation") {
    const TriMesh box = centered_box(100, 60, 40);
    // z = x/5 + y/10: from 7 mm above the table at one corner to 33 at the other.
    const Parting parted =
        around_box(box, 100, 60, [](double x, double y) { return 0.2 * x + 0.1 * y; });
    const LineViews all = views_of(box, parted);
    CHECK(all.table_mm == doctest::Approx(-20.0));
    CHECK(all.spacing_mm == 10.0);
    CHECK(all.unseen_mm == doctest::Approx(0.0).epsilon(0.01));
    // A box is widest across its diagonal: the front shows two walls, the back the other two.
    REQUIRE(all.views.size() == 2);
    const double whole_mm = 2.0 * std::hypot(100.0, 20.0) + 2.0 * std::hypot(60.0, 6.0);
    for (const LineView& view : all.views) {
        CHECK_NEAR(view.seen_mm, 0.5 * whole_mm, 3.0);
        double left_mm = 0.0;
        for (const Vec3& v : box.vertices) {
            left_mm = std::min(left_mm, view.view.right.dot(v));
        }
        int on_grid = 0;
        for (const HeightMark& mark : view.marks) {
            CHECK_NEAR(mark.height_mm, 20.0 + 0.2 * mark.at_mm.x() + 0.1 * mark.at_mm.y(), 1e-9);
            const double across = (view.view.right.dot(mark.at_mm) - left_mm) / 10.0;
            on_grid += std::abs(across - std::round(across)) < 1e-9 ? 1 : 0;
        }
        // One at each whole multiple of 10 mm from the left end: hypot(100, 60) = 116.6 holds 11.
        CHECK(on_grid == 11);
        CHECK(view.view.up.isApprox(kUp));
    }
    CHECK(all.views.front().side == LineSide::front);
    CHECK(all.views.back().side == LineSide::back);
}

TEST_CASE("stretches make the whole line, and join where it passes out of sight") {
    const TriMesh box = centered_box(100, 60, 40);
    const Parting parted =
        around_box(box, 100, 60, [](double x, double y) { return 0.1 * x + 0.1 * y; });
    for (const LineView& view : views_of(box, parted).views) {
        double length = 0.0;
        double seen = 0.0;
        for (const LineStretch& stretch : view.stretches) {
            REQUIRE(stretch.points_mm.size() >= 2);
            for (std::size_t i = 1; i < stretch.points_mm.size(); ++i) {
                const double piece = (stretch.points_mm[i] - stretch.points_mm[i - 1]).norm();
                length += piece;
                seen += stretch.seen ? piece : 0.0;
            }
        }
        CHECK_NEAR(length, parted.length_mm, 1e-9);
        CHECK_NEAR(seen, view.seen_mm, 1e-9);
    }
}

// A ball is parted along its equator: r above the table all around, half of it seen from any side,
// so that two sides show it all.
TEST_CASE("the equator of a ball") {
    const PartingSurface surface = parting_surface(sphere_solid(30, 48).mesh);
    const TriangleBvh index(surface.mesh_mm);
    const Parting parted = parting(surface, index, kUp);
    REQUIRE(parted.line.loops.size() == 1);
    const LineViews all = line_views(surface.mesh_mm, index, parted);
    REQUIRE(all.views.size() == 2);
    CHECK(all.views.back().side == LineSide::back);
    for (const LineView& view : all.views) {
        CHECK_NEAR(view.seen_mm, 0.5 * parted.length_mm, 0.05 * parted.length_mm);
        for (const HeightMark& mark : view.marks) {
            CHECK_NEAR(mark.height_mm, 30.0, 1.0);
        }
        // Half a turn is 60 mm across; level, it takes fewer marks than one each 5 mm.
        CHECK(view.marks.size() >= 2);
        CHECK(view.marks.size() <= 12);
    }
    CHECK_NEAR(all.unseen_mm, 0.0, 0.03 * parted.length_mm);
}

// The line within a ring's hole is seen from no side, but from above, where the halves meet.
TEST_CASE("the line in a hole is shown from above") {
    const PartingSurface surface = parting_surface(torus_solid(30, 10, 48).mesh);
    const TriangleBvh index(surface.mesh_mm);
    const Parting parted = parting(surface, index, kUp);
    REQUIRE(parted.line.loops.size() == 2);
    const LineViews all = line_views(surface.mesh_mm, index, parted);
    const auto from = [&](LineSide side) {
        return std::any_of(all.views.begin(), all.views.end(),
                           [&](const LineView& view) { return view.side == side; });
    };
    CHECK((from(LineSide::above) || from(LineSide::below)));
    CHECK_NEAR(all.unseen_mm, 0.0, 0.03 * parted.length_mm);
}

// Against every triangle one by one: what is said to be seen has nothing before it.
TEST_CASE("seen and hidden against all triangles of an uneven ball") {
    const PartingSurface surface = parting_surface(bumpy_ball(30, 3, 4, 0.3, 0.1, 3));
    const TriangleBvh index(surface.mesh_mm);
    const Parting parted = parting(surface, index, kUp);
    int wrong = 0;
    int places = 0;
    for (const LineView& view : line_views(surface.mesh_mm, index, parted).views) {
        for (const LineStretch& stretch : view.stretches) {
            // The stretch's ends are where it changes; within it, every fifth place.
            for (std::size_t i = 3; i + 3 < stretch.points_mm.size(); i += 5) {
                const Vec3 eye = stretch.points_mm[i] + 0.1 * view.view.toward;
                bool hidden = false;
                for (std::size_t t = 0; t < surface.mesh_mm.triangles.size() && !hidden; ++t) {
                    // Moller & Trumbore, J. Graphics Tools 2 (1997) 21.
                    const Vec3 a = surface.mesh_mm.corner(t, 0);
                    const Vec3 u = surface.mesh_mm.corner(t, 1) - a;
                    const Vec3 v = surface.mesh_mm.corner(t, 2) - a;
                    const Vec3 p = view.view.toward.cross(v);
                    const double det = u.dot(p);
                    if (std::abs(det) < 1e-12) {
                        continue;
                    }
                    const Vec3 s = eye - a;
                    const double b = s.dot(p) / det;
                    const double c = view.view.toward.dot(s.cross(u)) / det;
                    hidden = b >= 0.0 && c >= 0.0 && b + c <= 1.0 && v.dot(s.cross(u)) / det > 0.0;
                }
                ++places;
                wrong += hidden == stretch.seen ? 1 : 0;
            }
        }
    }
    REQUIRE(places > 100);
    // Where the line runs along the very edge of sight a hair decides.
    CHECK(wrong < places / 25);
}

TEST_CASE("no line, no views; a spacing of nothing is refused") {
    const TriMesh box = centered_box(10, 10, 10);
    CHECK(views_of(box, {}).views.empty());
    CHECK(refusal_of([&] { return views_of(box, {}, {.spacing_mm = 0.0}); }) ==
          "The marks of the parting line need a spacing above 0.");
}
