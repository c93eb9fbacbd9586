// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/sections.h"

#include <cmath>
#include <numbers>
#include <vector>

#include <CGAL/Polygon_mesh_slicer.h>

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"

#include "support/cgal_surface.h"
#include "support/near.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

Section section(const TriMesh& mesh, const Vec3& at, const Vec3& normal) {
    return sections(mesh, at, normal, std::vector<double>{0.0}).front();
}

// A circle of n sides: area and moment as shares of the round one's (docs/checks.md G-16; the
// moment of a regular polygon is R^4 n/8 sin(2 pi/n) (2 + cos(2 pi/n))/3, a handbook's value).
double area_share(int n) {
    return n / (2.0 * pi) * std::sin(2.0 * pi / n);
}
double moment_share(int n) {
    return area_share(n) * (2.0 + std::cos(2.0 * pi / n)) / 3.0;
}

Mat3 some_rotation() {
    return Eigen::AngleAxisd(0.7, Vec3(1, 2, -0.4).normalized()).toRotationMatrix();
}

}  // namespace

TEST_CASE("a box across, and tilted by 30 degrees: handbook values") {
    const TriMesh box = box_solid(100, 60, 40).mesh;
    const Section across = section(box, {37, 30, 20}, Vec3::UnitX());
    CHECK_NEAR(across.moments.area_mm2, 2400.0, 1e-14);
    // frame_along(x) has y and z across.
    CHECK_NEAR(across.moments.second_mm4(0, 0), 40.0 * 60 * 60 * 60 / 12, 1e-13);
    CHECK_NEAR(across.moments.second_mm4(1, 1), 60.0 * 40 * 40 * 40 / 12, 1e-13);
    CHECK(std::abs(across.moments.second_mm4(0, 1)) < 1e-8);
    CHECK((across.place_mm(across.moments.centroid_mm) - Vec3(37, 30, 20)).norm() < 1e-12);

    // Tilted about y the rectangle is 40/cos 30 high.
    const double c = std::cos(pi / 6);
    const Section tilted = section(box, {50, 30, 20}, Vec3(c, 0, std::sin(pi / 6)));
    CHECK_NEAR(tilted.moments.area_mm2, 2400.0 / c, 1e-13);
    CHECK_NEAR(tilted.moments.second_mm4.trace(), 2400.0 / c * (60 * 60 + 1600 / (c * c)) / 12,
               1e-13);
}

TEST_CASE("G-16: cylinder and cone at all heights, to the flatness of their sides") {
    constexpr int kSides = 64;
    const TriMesh cone = cone_solid(30, 90, kSides).mesh;
    const std::vector<double> heights = {10, 45, 80};
    const std::vector<Section> cuts = sections(cone, Vec3::Zero(), Vec3::UnitZ(), heights);
    for (std::size_t i = 0; i < heights.size(); ++i) {
        const double r = 30.0 * (1.0 - heights[i] / 90.0);
        CHECK_NEAR(cuts[i].moments.area_mm2, pi * r * r * area_share(kSides), 1e-12);
        CHECK_NEAR(cuts[i].moments.second_mm4(0, 0), pi / 4 * std::pow(r, 4) * moment_share(kSides),
                   1e-12);
    }
    // An oblique cut of a cylinder is an ellipse: half axes 20 and 20/cos.
    const TriMesh cylinder = cylinder_solid(20, 300, 512).mesh;
    const double c = std::cos(0.5);
    const Section oblique = section(cylinder, {0, 0, 150}, {std::sin(0.5), 0, c});
    CHECK_NEAR(oblique.moments.area_mm2, pi * 400 / c, 5e-5);
    const Eigen::Matrix2d second = oblique.moments.second_mm4;
    CHECK_NEAR(second.trace(), pi / 4 * (std::pow(20, 4) / c + std::pow(20, 4) / (c * c * c)),
               1e-4);
}

TEST_CASE("a torus: two discs, a ring of two loops, and Villarceau's circles") {
    const TriMesh torus = torus_solid(50, 15, 512).mesh;
    const Section discs = section(torus, {0, 0, 0.01}, Vec3(0.3, 1, 0));
    // 256 sides around the tube; between two of the 512 around the ring the chord is nearer by up
    // to 1 - cos(pi/512) = 1.9e-5 of 50 mm.
    CHECK_NEAR(discs.moments.area_mm2, 2 * pi * 225 * area_share(256), 4e-5);
    REQUIRE(regions(discs).size() == 2);
    const AreaMoments one = area_moments(regions(discs)[0]);
    const AreaMoments other = area_moments(regions(discs)[1]);
    CHECK_NEAR(one.area_mm2, pi * 225 * area_share(256), 4e-5);
    CHECK_NEAR(one.second_mm4(0, 0), pi / 4 * std::pow(15, 4) * moment_share(256), 8e-5);
    const AreaMoments both = joined(one, other);
    CHECK((both.second_mm4 - discs.moments.second_mm4).norm() <
          1e-9 * discs.moments.second_mm4.norm());

    // Off the vertices' planes: a ring between 50 - r and 50 + r.
    const double z = 3.0;
    const double r = std::sqrt(225.0 - z * z);
    const Section ring = section(torus, {0, 0, z}, Vec3::UnitZ());
    CHECK_NEAR(ring.moments.area_mm2, pi * ((50 + r) * (50 + r) - (50 - r) * (50 - r)), 1e-3);
    const auto parts = regions(ring);
    REQUIRE(parts.size() == 1);  // the hole belongs to the outer loop
    CHECK_NEAR(area_moments(parts[0]).area_mm2, ring.moments.area_mm2, 1e-12);
    CHECK(within(parts[0], Vec2(50, 0)));
    CHECK_FALSE(within(parts[0], Vec2(0, 0)));
    CHECK_FALSE(within(parts[0], Vec2(80, 0)));

    // The plane that touches it twice, at asin(15/50), cuts two circles as wide as the ring
    // (Villarceau 1848), of radius 50, their centers 15 to either side: a lens-shaped crossing
    // counts once, so 2 pi R^2 less twice the lens.
    const double tilt = std::asin(15.0 / 50.0);
    const Section villarceau = section(torus, Vec3::Zero(), {std::sin(tilt), 0, std::cos(tilt)});
    const double lens = 2 * 2500 * std::acos(15.0 / 50) - 2 * 15 * std::sqrt(2500.0 - 225);
    CHECK_NEAR(villarceau.moments.area_mm2, 2 * (pi * 2500 - lens), 1e-3);
}

TEST_CASE("G-17: turned with the part, a section's moments turn as a tensor does") {
    const TriMesh mesh = revolved_solid({{0, 0}, {30, 5}, {12, 40}, {25, 60}, {0, 55}}, 37).mesh;
    const Mat3 R = some_rotation();
    const Vec3 at(3, -2, 30);
    const Vec3 normal = Vec3(0.4, -0.2, 1).normalized();
    const Section plain = section(mesh, at, normal);
    const Section turned = section(rotated(mesh, R), R * at, R * normal);
    CHECK_NEAR(turned.moments.area_mm2, plain.moments.area_mm2, 1e-12);
    const auto in_space = [](const Section& s) -> Mat3 {
        Eigen::Matrix<double, 3, 2> axes;
        axes << s.frame.x, s.frame.y;
        return axes * s.moments.second_mm4 * axes.transpose();
    };
    CHECK((in_space(turned) - R * in_space(plain) * R.transpose()).norm() <
          1e-11 * in_space(plain).norm());
    CHECK((turned.place_mm(turned.moments.centroid_mm) -
           R * plain.place_mm(plain.moments.centroid_mm))
              .norm() < 1e-11);
}

TEST_CASE("areas add up to the volume, and area times height to the first moment") {
    // Between the heights of vertices the area is a quadratic of the height and area times height a
    // cubic: Simpson's rule is exact for both.
    const std::vector<Vec2> profile = {{0, 0}, {30, 5}, {12, 40}, {25, 60}, {0, 75}};
    const TriMesh mesh = revolved_solid(profile, 19).mesh;
    const MassProperties mass = mass_properties(mesh);
    double volume = 0.0;
    double first = 0.0;
    for (std::size_t i = 1; i < profile.size(); ++i) {
        const double low = profile[i - 1].y();
        const double high = profile[i].y();
        // A hair off the ends, where a plane would take the other side.
        const std::vector<double> heights = {low + 1e-9, 0.5 * (low + high), high - 1e-9};
        const std::vector<Section> cuts = sections(mesh, Vec3::Zero(), Vec3::UnitZ(), heights);
        const double weight[] = {1.0, 4.0, 1.0};
        for (std::size_t k = 0; k < 3; ++k) {
            const double share = weight[k] / 6.0 * (high - low) * cuts[k].moments.area_mm2;
            volume += share;
            first += share * heights[k];
        }
    }
    CHECK_NEAR(volume, mass.volume_mm3, 1e-9);
    CHECK_NEAR(first / volume, mass.centroid_mm.z(), 1e-9);
}

TEST_CASE("faces, edges and vertices in the plane: the section is that just below it") {
    // Two cubes on three: the plane at 1 lies in faces of both layers.
    std::vector<bool> filled(3 * 1 * 2, false);
    filled[0] = filled[1] = filled[2] = true;  // below
    filled[3] = filled[5] = true;              // above
    const TriMesh cubes = polycube_solid(filled, 3, 1, 2).mesh;
    const std::vector<double> heights = {0.0, 0.5, 1.0, 1.5, 2.0};
    const std::vector<Section> cuts = sections(cubes, Vec3::Zero(), Vec3::UnitZ(), heights);
    const double areas[] = {0, 3, 3, 2, 2};
    for (std::size_t i = 0; i < heights.size(); ++i) {
        CHECK(cuts[i].moments.area_mm2 == doctest::Approx(areas[i]).epsilon(1e-14));
    }
    CHECK(regions(cuts[1]).size() == 1);
    CHECK(regions(cuts[3]).size() == 2);
}

TEST_CASE("a missing triangle costs no more than its crossing makes with the middle") {
    TriMesh torus = torus_solid(50, 15, 64).mesh;
    const Section whole = section(torus, {0, 0, 1}, Vec3::UnitZ());
    torus.triangles.erase(torus.triangles.begin() + 1234);
    for (double z = -14.0; z < 14.0; z += 0.7) {
        const Section open = section(torus, {0, 0, z}, Vec3::UnitZ());
        const double chord = 2 * pi * 65 / 64;
        CHECK(std::abs(open.moments.area_mm2 -
                       section(torus_solid(50, 15, 64).mesh, {0, 0, z}, Vec3::UnitZ())
                           .moments.area_mm2) <= 0.5 * chord * 65);
    }
    CHECK(whole.moments.area_mm2 > 0.0);
}

TEST_CASE("the same outline as CGAL's Polygon_mesh_slicer") {
    const TriMesh mesh = rotated(torus_solid(50, 15, 96).mesh, some_rotation());
    const auto surface = cgal_side::surface_of(mesh);
    CGAL::Polygon_mesh_slicer<cgal_side::Surface, cgal_side::Kernel> slicer(surface);
    for (const double height : {-38.0, -20.0, 1.0, 27.0}) {
        const Section ours = section(mesh, {0, 0, height}, Vec3::UnitZ());
        std::vector<std::vector<cgal_side::Kernel::Point_3>> lines;
        slicer(cgal_side::Kernel::Plane_3(0, 0, 1, -height), std::back_inserter(lines));
        // Without orientation: add up by the depth of nesting.
        double area = 0.0;
        for (const auto& line : lines) {
            double doubled = 0.0;
            for (std::size_t i = 1; i < line.size(); ++i) {
                doubled += line[i - 1].x() * line[i].y() - line[i].x() * line[i - 1].y();
            }
            int nested = 0;
            for (const auto& other : lines) {
                if (&other == &line) {
                    continue;
                }
                std::vector<SectionPiece> pieces;
                double turn = 0.0;
                for (std::size_t i = 1; i < other.size(); ++i) {
                    pieces.push_back(
                        {{other[i - 1].x(), other[i - 1].y()}, {other[i].x(), other[i].y()}});
                    turn += other[i - 1].x() * other[i].y() - other[i].x() * other[i - 1].y();
                }
                if (turn < 0.0) {
                    for (SectionPiece& piece : pieces) {
                        std::swap(piece.from_mm, piece.to_mm);
                    }
                }
                nested += within(pieces, {line[0].x(), line[0].y()}) ? 1 : 0;
            }
            area += (nested % 2 == 0 ? 0.5 : -0.5) * std::abs(doubled);
        }
        CHECK_NEAR(ours.moments.area_mm2, area, 1e-12);
        std::size_t pieces = 0;
        for (const auto& line : lines) {
            pieces += line.size() - 1;
        }
        CHECK(ours.pieces.size() == pieces);
    }
}

TEST_CASE("the same bytes for any number of threads, and nothing where a plane misses") {
    const TriMesh mesh = rotated(torus_solid(50, 15, 400).mesh, some_rotation());
    const std::vector<double> heights = {-200, -20, 0, 20, 200};
    RunContext one;
    one.threads = 1;
    RunContext many;
    many.threads = 5;
    const std::vector<Section> a = sections(mesh, Vec3::Zero(), Vec3(1, 2, 3), heights, one);
    const std::vector<Section> b = sections(mesh, Vec3::Zero(), Vec3(1, 2, 3), heights, many);
    for (std::size_t i = 0; i < heights.size(); ++i) {
        CHECK(a[i].moments.area_mm2 == b[i].moments.area_mm2);
        CHECK(a[i].moments.second_mm4 == b[i].moments.second_mm4);
    }
    CHECK(a.front().pieces.empty());
    CHECK(a.back().moments.area_mm2 == 0.0);
    CHECK(regions(a.front()).empty());
}
