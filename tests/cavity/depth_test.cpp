// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/cavity/depth.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <functional>
#include <numbers>
#include <random>
#include <string>

#include "cavigram/core/error.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

Mat3 rotation(double angle) {
    return Eigen::AngleAxisd(angle, Vec3(1.0, 2.0, 3.0).normalized()).toRotationMatrix();
}

// A body and its skin volume in closed form.
struct Case {
    std::string name;
    TriMesh mesh;
    std::function<double(double)> skin_mm3;
    std::vector<double> depths_mm;
};

double plus(double x) {
    return std::max(x, 0.0);
}

Case box_case() {
    // Inner parallel body (a-2t)(b-2t)(c-2t); docs/checks.md S1, G-6.
    return {"box 100x60x40",
            box_solid(100.0, 60.0, 40.0).mesh,
            [](double t) {
                return 240000.0 -
                       plus(100.0 - 2.0 * t) * plus(60.0 - 2.0 * t) * plus(40.0 - 2.0 * t);
            },
            {0.5, 2.0, 10.0}};
}

Case prism_case(int sides) {
    // A regular prism's inner body is a regular prism about the smaller inscribed circle: exact for
    // the mesh. S5, G-6 in the limit.
    const double apothem = 20.0 * std::cos(pi / sides);
    const double k = sides * std::tan(pi / sides);
    return {"cylinder R20 L300",
            cylinder_solid(20.0, 300.0, sides).mesh,
            [=](double t) {
                return k * (apothem * apothem * 300.0 -
                            plus(apothem - t) * plus(apothem - t) * plus(300.0 - 2.0 * t));
            },
            {1.0, 2.0, 5.0}};
}

// A body whose faces all touch one ball of radius r = 3V/A shrinks like V (1 - t/r)^3;
// docs/checks.md G-7.
Case ball_touching_case(const std::string& name, const TriMesh& mesh) {
    const MassProperties whole = mass_properties(mesh);
    const double r = 3.0 * whole.volume_mm3 / whole.area_mm2;
    return {name,
            mesh,
            [=](double t) { return whole.volume_mm3 * (1.0 - std::pow(plus(1.0 - t / r), 3.0)); },
            {1.0, 2.0, 5.0}};
}

TriMesh tetrahedron() {
    TriMesh mesh;
    mesh.vertices = {{1, 1, 1}, {1, -1, -1}, {-1, 1, -1}, {-1, -1, 1}};
    for (Vec3& v : mesh.vertices) {
        v *= 50.0 / std::sqrt(8.0);
    }
    mesh.triangles = {{0, 1, 2}, {0, 3, 1}, {0, 2, 3}, {1, 3, 2}};
    return mesh;
}

Case hollow_case() {
    // A cube with a cube-shaped hollow: from the hollow the skin grows outwards, by Steiner's
    // formula.
    const TriMesh mesh =
        joined(box_solid(60.0, 60.0, 60.0).mesh,
               flipped(transformed(box_solid(20.0, 20.0, 20.0).mesh, 1.0, Vec3(20.0, 20.0, 20.0))));
    return {"cube with a cube-shaped hollow",
            mesh,
            [](double t) {
                const double around =
                    8000.0 + 2400.0 * t + 60.0 * pi * t * t + 4.0 / 3.0 * pi * t * t * t;
                return 208000.0 - (std::pow(60.0 - 2.0 * t, 3.0) - around);
            },
            {1.0, 2.0, 5.0}};
}

std::size_t node_of(const DepthVolume& curve, double depth) {
    for (std::size_t i = 0; i < curve.depth_mm.size(); ++i) {
        if (std::abs(curve.depth_mm[i] - depth) < 1e-9) {
            return i;
        }
    }
    FAIL("no node at ", depth);
    return 0;
}

// A smooth body without symmetry, concave in places.
TriMesh lump(int segments) {
    TriMesh mesh = sphere_solid(1.0, segments).mesh;
    for (Vec3& v : mesh.vertices) {
        const Vec3 d = v;
        const double r = 30.0 * (1.0 + 0.2 * std::sin(3.0 * d.x() + 1.0) * std::cos(4.0 * d.y()) +
                                 0.1 * std::sin(5.0 * d.z()));
        v = r * d.cwiseProduct(Vec3(1.4, 1.0, 0.7));
    }
    return mesh;
}

}  // namespace

TEST_CASE("skin volumes agree with the closed forms, turned any way") {
    std::vector<Case> cases{box_case(), prism_case(128), hollow_case(),
                            ball_touching_case("cone R30 H90", cone_solid(30.0, 90.0, 96).mesh),
                            ball_touching_case("tetrahedron 50", tetrahedron())};
    for (const Case& body : cases) {
        for (const double angle : {0.0, 0.5}) {
            const TriMesh mesh = rotated(body.mesh, rotation(angle));
            const TriangleBvh surface(mesh);
            for (const double depth : body.depths_mm) {
                const DepthVolume curve = depth_volume(mesh, surface, {.depths_mm = {depth}});
                const double exact = body.skin_mm3(depth);
                CAPTURE(body.name);
                CAPTURE(angle);
                CAPTURE(depth);
                CHECK_NEAR(curve.skin_volume_mm3(depth), exact, 0.0015);
                CHECK(curve.error_mm3(depth) <= 0.003 * exact);
                CHECK(std::abs(curve.skin_volume_mm3(depth) - exact) <= curve.error_mm3(depth));
                const std::size_t node = node_of(curve, depth);
                CHECK(curve.at_least_mm3[node] <= exact * (1.0 + 1e-9));
                CHECK(curve.at_most_mm3[node] >= exact * (1.0 - 1e-9));
                // Away from the wanted depth too, less sharply: the whole curve comes from one
                // pass.
                for (const double other : {0.1, 0.5, 1.3}) {
                    CHECK_NEAR(curve.skin_volume_mm3(other * depth), body.skin_mm3(other * depth),
                               0.006);
                }
            }
        }
    }
}

TEST_CASE("the values of docs/checks.md come out") {
    const auto skin_ml = [](const TriMesh& mesh, double depth) {
        return depth_volume(mesh, TriangleBvh(mesh), {.depths_mm = {depth}})
                   .skin_volume_mm3(depth) /
               1000.0;
    };
    const auto core_ml = [](const TriMesh& mesh, double depth) {
        return depth_volume(mesh, TriangleBvh(mesh), {.depths_mm = {depth}})
                   .core_volume_mm3(depth) /
               1000.0;
    };
    const TriMesh box = rotated(box_solid(100.0, 60.0, 40.0).mesh, rotation(1.0));
    CHECK_NEAR(skin_ml(box, 2.0), 46.464, 0.002);         // S1
    CHECK_NEAR(core_ml(box, 10.0), 64.0, 0.003);          // G-6
    const TriMesh sphere = sphere_solid(30.0, 160).mesh;  // 0.1 % below the round one, see G-16
    CHECK_NEAR(skin_ml(sphere, 2.0), 4.0 / 3.0 * pi * 5.048, 0.002);  // S3: 30^3 - 28^3 = 5048 mm3
    CHECK_NEAR(core_ml(sphere, 10.0), 33.510322, 0.003);              // G-6
    const TriMesh cylinder = cylinder_solid(20.0, 300.0, 256).mesh;
    // S5: 376.991118 mL; (84.587759 g - 0.130 * 376.991118) / 0.470 = 75.698 mL of skin
    CHECK_NEAR(skin_ml(cylinder, 2.0), 75.698122, 0.002);
    CHECK_NEAR(core_ml(cylinder, 5.0), 204.988921, 0.002);  // G-6
    const TriMesh cone = cone_solid(30.0, 90.0, 256).mesh;
    CHECK_NEAR(core_ml(cone, 5.0), 38.538070, 0.003);         // G-7
    CHECK_NEAR(skin_ml(cone, 2.0), 21.427181, 0.002);         // G-7
    CHECK_NEAR(core_ml(tetrahedron(), 5.0), 1.955307, 0.01);  // G-8
    // Torus (solid of G-9): 2 pi^2 R (r^2 - (r-t)^2)
    const TriMesh torus = torus_solid(50.0, 15.0, 160).mesh;
    CHECK_NEAR(skin_ml(torus, 2.0), 2.0 * pi * pi * 50.0 * (225.0 - 169.0) / 1000.0, 0.003);
}

TEST_CASE("an exponential profile can be integrated over the curve") {
    // S4: sphere R30, lambda 2: excess volume 4 pi [lambda R^2 - 2 lambda^2 R + 2 lambda^3 (1 -
    // e^{-R/lambda})].
    const double R = 30.0;
    const double L = 2.0;
    const double expected =
        4.0 * pi * (L * R * R - 2.0 * L * L * R + 2.0 * L * L * L * (1.0 - std::exp(-R / L)));
    const TriMesh mesh = sphere_solid(R, 160).mesh;
    const DepthVolume curve =
        depth_volume(mesh, TriangleBvh(mesh), {.depths_mm = {0.5 * L, L, 2.0 * L}});
    double excess = 0.0;
    const int steps = 20000;
    for (int i = 0; i < steps; ++i) {
        const double a = curve.deepest.depth_mm * i / steps;
        const double b = curve.deepest.depth_mm * (i + 1) / steps;
        excess +=
            std::exp(-0.5 * (a + b) / L) * (curve.skin_volume_mm3(b) - curve.skin_volume_mm3(a));
    }
    CHECK_NEAR(excess, expected, 0.002);
}

TEST_CASE("the error goes down with the square of the cells' edge or faster") {
    // Root mean square over turns, so that luck on one grid does not count as convergence.
    for (const Case& body :
         {box_case(), prism_case(8), ball_touching_case("cone", cone_solid(30.0, 90.0, 6).mesh)}) {
        const double depth = 5.0;
        std::vector<double> errors;
        std::vector<double> estimates;
        for (const double cell : {5.0, 2.5, 1.25}) {
            double sum = 0.0;
            double estimate = 0.0;
            for (int turn = 0; turn < 8; ++turn) {
                const TriMesh mesh = rotated(body.mesh, rotation(0.3 + 0.7 * turn));
                const DepthVolume curve =
                    depth_volume(mesh, TriangleBvh(mesh), {.depths_mm = {depth}, .cell_mm = cell});
                sum += std::pow(curve.skin_volume_mm3(depth) - body.skin_mm3(depth), 2.0);
                estimate += std::pow(curve.error_mm3(depth), 2.0);
            }
            errors.push_back(std::sqrt(sum));
            estimates.push_back(std::sqrt(estimate));
        }
        INFO(body.name, ": errors ", errors[0], " ", errors[1], " ", errors[2], ", estimated ",
             estimates[0], " ", estimates[1], " ", estimates[2]);
        CHECK(std::log2(errors[0] / errors[2]) / 2.0 >= 1.8);
        CHECK(std::log2(estimates[0] / estimates[2]) / 2.0 >= 1.8);
        for (std::size_t i = 0; i < 3; ++i) {
            CHECK(errors[i] <= estimates[i]);
        }
    }
}

TEST_CASE("a body without a closed form agrees with exact distances at random points") {
    const TriMesh mesh = lump(96);
    const TriangleBvh surface(mesh);
    const std::vector<double> depths{1.0, 3.0, 8.0};
    const DepthVolume curve = depth_volume(mesh, surface, {.depths_mm = depths});
    const Box3 box = surface.bounds_mm();
    std::mt19937 random(31);  // fixed seed
    std::uniform_real_distribution<double> unit(0.0, 1.0);
    // One point in each cube of a grid: less scatter than points anywhere.
    constexpr int kSide = 60;
    std::vector<int> within(depths.size(), 0);
    for (int i = 0; i < kSide * kSide * kSide; ++i) {
        const Vec3 share((i % kSide + unit(random)) / kSide,
                         (i / kSide % kSide + unit(random)) / kSide,
                         (i / kSide / kSide + unit(random)) / kSide);
        const double depth = depth_at(surface, box.min() + share.cwiseProduct(box.sizes()));
        for (std::size_t k = 0; k < depths.size(); ++k) {
            within[k] += depth > 0.0 && depth < depths[k] ? 1 : 0;
        }
    }
    const double each = box.sizes().prod() / (kSide * kSide * kSide);
    for (std::size_t k = 0; k < depths.size(); ++k) {
        CAPTURE(depths[k]);
        CHECK_NEAR(curve.skin_volume_mm3(depths[k]), within[k] * each, 0.006);
    }
}

TEST_CASE("the curve rises from nothing to the whole volume, starts with the area, and scales") {
    const TriMesh mesh = lump(48);
    const DepthVolume curve = depth_volume(mesh, TriangleBvh(mesh));
    const MassProperties whole = mass_properties(mesh);
    CHECK(curve.skin_volume_mm3(0.0) == 0.0);
    CHECK(curve.skin_volume_mm3(-1.0) == 0.0);
    CHECK(curve.skin_volume_mm3(curve.deepest.depth_mm) == whole.volume_mm3);
    CHECK(curve.skin_volume_mm3(1e9) == whole.volume_mm3);
    CHECK(curve.core_volume_mm3(1e9) == 0.0);
    CHECK_NEAR(curve.skin_volume_mm3(1e-3) / 1e-3, whole.area_mm2, 1e-3);
    double before = 0.0;
    for (int i = 1; i <= 2000; ++i) {
        const double skin = curve.skin_volume_mm3(curve.deepest.depth_mm * i / 2000.0);
        CHECK(skin >= before);
        before = skin;
    }
    for (std::size_t i = 0; i < curve.depth_mm.size(); ++i) {
        CHECK(curve.at_least_mm3[i] <= curve.skin_mm3[i]);
        CHECK(curve.at_most_mm3[i] >= curve.skin_mm3[i]);
    }
    const TriMesh larger = transformed(mesh, 4.0, Vec3(1000.0, -2000.0, 500.0));
    const DepthVolume scaled = depth_volume(larger, TriangleBvh(larger));
    CHECK_NEAR(scaled.skin_volume_mm3(8.0), 64.0 * curve.skin_volume_mm3(2.0), 1e-3);
}

TEST_CASE("a plate thinner than twice the depth is all skin") {
    const TriMesh plate = box_solid(80.0, 60.0, 3.0).mesh;
    const DepthVolume curve = depth_volume(plate, TriangleBvh(plate), {.depths_mm = {2.0}});
    CHECK_NEAR(curve.skin_volume_mm3(2.0), 14400.0, 1e-12);
    CHECK(curve.core_volume_mm3(2.0) == 0.0);
}

TEST_CASE("a surface that overlaps itself can be given its true volume") {
    // Two boxes that overlap by 10 x 20 x 20: the signed volume counts that twice.
    const TriMesh box = box_solid(40.0, 20.0, 20.0).mesh;
    const TriMesh mesh = joined(box, transformed(box, 1.0, Vec3(30.0, 0.0, 0.0)));
    const DepthVolume curve =
        depth_volume(mesh, TriangleBvh(mesh), {.depths_mm = {2.0}, .volume_mm3 = 28000.0});
    CHECK(curve.volume_mm3 == 28000.0);
    CHECK(curve.skin_volume_mm3(100.0) == 28000.0);
    // The walls inside count as surface: two sheets in the middle. Depth 2 leaves bodies of 26, 6
    // and 26 mm by 16 x 16.
    CHECK_NEAR(curve.core_volume_mm3(2.0), (26.0 + 6.0 + 26.0) * 256.0, 0.01);
}

TEST_CASE("any number of threads gives the same bytes") {
    const TriMesh mesh = lump(64);
    const TriangleBvh surface(mesh);
    std::vector<DepthVolume> curves;
    for (const int threads : {1, 2, 5}) {
        RunContext context;
        context.threads = threads;
        curves.push_back(depth_volume(mesh, surface, {.depths_mm = {1.5}}, context));
    }
    for (const DepthVolume& other : curves) {
        CHECK(other.depth_mm == curves[0].depth_mm);
        CHECK(other.skin_mm3 == curves[0].skin_mm3);
        CHECK(other.estimated_mm3 == curves[0].estimated_mm3);
        CHECK(other.at_least_mm3 == curves[0].at_least_mm3);
        CHECK(other.slope_mm2 == curves[0].slope_mm2);
        CHECK(other.deepest.at_mm == curves[0].deepest.at_mm);
    }
}

TEST_CASE("what can't be done is refused in words") {
    const TriMesh box = box_solid(100.0, 60.0, 40.0).mesh;
    const TriangleBvh surface(box);
    CHECK_THROWS_AS(static_cast<void>(depth_volume(box, surface, {.depths_mm = {0.0}})),
                    InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(depth_volume(
                        box, surface, {.depths_mm = {2.0}, .wanted_relative_error = 0.0})),
                    InvalidInput);
    CHECK_THROWS_AS(
        static_cast<void>(depth_volume(box, surface, {.depths_mm = {2.0}, .cell_mm = -1.0})),
        InvalidInput);
    // Too fine: the message names a size that then fits.
    const std::string text = refusal_of([&] {
        return depth_volume(box, surface,
                            {.depths_mm = {2.0}, .cell_mm = 0.01, .max_cells = 200000});
    });
    const std::size_t at = text.find("use ");
    REQUIRE(at != std::string::npos);
    const double fits = std::stod(text.substr(at + 4));
    const DepthVolume fitting =
        depth_volume(box, surface, {.depths_mm = {2.0}, .cell_mm = fits, .max_cells = 200000});
    CHECK(fitting.cells <= 200000);
    const TriMesh inside_out = flipped(box);
    CHECK_THROWS_AS(static_cast<void>(depth_volume(inside_out, TriangleBvh(inside_out))),
                    UnusableInput);
    std::stop_source source;
    source.request_stop();
    RunContext stopped;
    stopped.stop = source.get_token();
    CHECK_THROWS_AS(static_cast<void>(depth_volume(box, surface, {}, stopped)), Cancelled);
}

TEST_CASE("progress rises to the end, and a stop from within it leaves nothing") {
    const TriMesh mesh = lump(48);
    const TriangleBvh surface(mesh);
    std::vector<double> shares;
    RunContext listening;
    listening.progress = [&](std::string_view, double share) { shares.push_back(share); };
    static_cast<void>(depth_volume(mesh, surface, {.depths_mm = {2.0}}, listening));
    REQUIRE(shares.size() >= 3);
    CHECK(std::is_sorted(shares.begin(), shares.end()));
    CHECK(shares.back() == 1.0);
    for (std::size_t stop_at = 0; stop_at + 1 < shares.size(); ++stop_at) {
        std::stop_source source;
        std::size_t heard = 0;
        RunContext stopping;
        stopping.stop = source.get_token();
        stopping.progress = [&](std::string_view, double) {
            if (heard++ == stop_at) {
                source.request_stop();
            }
        };
        CHECK_THROWS_AS(
            static_cast<void>(depth_volume(mesh, surface, {.depths_mm = {2.0}}, stopping)),
            Cancelled);
    }
}

// Not a check: prints the table of the docs. Run with: cavity_test --no-skip --test-case="table*"
TEST_CASE("table of skin volumes against closed forms" * doctest::skip()) {
    for (const Case& body : {box_case(), prism_case(128), hollow_case(),
                             ball_touching_case("cone R30 H90", cone_solid(30.0, 90.0, 96).mesh),
                             ball_touching_case("tetrahedron 50", tetrahedron())}) {
        const TriMesh mesh = rotated(body.mesh, rotation(0.5));
        const TriangleBvh surface(mesh);
        for (const double depth : body.depths_mm) {
            const DepthVolume curve = depth_volume(mesh, surface, {.depths_mm = {depth}});
            const double exact = body.skin_mm3(depth);
            std::printf("| %s | %g | %.1f | %.1f | %+.3f %% | %.2f %% | %.2f | %zu |\n",
                        body.name.c_str(), depth, exact, curve.skin_volume_mm3(depth),
                        100.0 * (curve.skin_volume_mm3(depth) / exact - 1.0),
                        100.0 * curve.error_mm3(depth) / exact, curve.cell_mm, curve.cells);
        }
    }
}

// Not a check: prints times. Run with: cavity_test --no-skip --test-case="times*"
TEST_CASE("times for skin volumes of a part of 834,482 triangles" * doctest::skip()) {
    using Clock = std::chrono::steady_clock;
    const TriMesh mesh = transformed(lump(914), 4.0, Vec3::Zero());
    const MassProperties whole = mass_properties(mesh);
    Clock::time_point start = Clock::now();
    const auto since = [&] { return std::chrono::duration<double>(Clock::now() - start).count(); };
    const TriangleBvh surface(mesh);
    std::printf("%zu triangles, %.0f cm2, %.0f cm3, index %.2f s\n", mesh.triangles.size(),
                whole.area_mm2 / 100.0, whole.volume_mm3 / 1000.0, since());
    for (const double depth : {0.5, 1.0, 2.0, 4.0}) {
        start = Clock::now();
        const DepthVolume curve = depth_volume(mesh, surface, {.depths_mm = {depth}});
        const double seconds = since();
        const DepthVolume fine = depth_volume(
            mesh, surface,
            {.depths_mm = {depth}, .cell_mm = 0.35 * curve.cell_mm, .max_cells = 100'000'000});
        std::printf("| %g | %.1f | %.2f %% | %.3f %% | %.2f | %zu | %.2f s |\n", depth,
                    curve.skin_volume_mm3(depth) / 1000.0,
                    100.0 * curve.error_mm3(depth) / curve.skin_volume_mm3(depth),
                    100.0 * (curve.skin_volume_mm3(depth) / fine.skin_volume_mm3(depth) - 1.0),
                    curve.cell_mm, curve.cells, seconds);
    }
}
