// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/handling/beam.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cavigram/mesh/solids.h"

#include "support/near.h"
#include "support/swept.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

StiffLayers plain(double density_kg_m3, double young_mpa) {
    StiffLayers foam;
    foam.layers = {SkinProfile::step, 0.0, density_kg_m3, density_kg_m3};
    foam.solid_mpa = young_mpa * std::pow(kSolidPolyurethane_kg_m3 / density_kg_m3, 2);
    return foam;
}

Beam beam_of(const TriMesh& mesh, const StiffLayers& foam, double mass_g,
             const BeamOptions& options = {}) {
    const TriangleBvh surface(mesh);
    return beam(mesh, surface, mass_properties(mesh), foam, mass_g, options);
}

double mass_of(const TriMesh& mesh, double kg_m3) {
    return mass_properties(mesh).volume_mm3 * kg_m3 * 1e-6;
}

double tip(const Beam& beam, const Vec3& down, std::size_t grip, bool shear = false) {
    DroopOptions options;
    options.grip = grip;
    options.large = false;
    options.shear = shear;
    return droop(beam.elements, down, options).spans.front().droop_mm;
}

// The end at which the beam is clamped.
std::size_t end_at(const Beam& beam, const Vec3& at) {
    return (beam.node_mm(0) - at).norm() < (beam.node_mm(beam.elements.size()) - at).norm()
               ? 0
               : beam.elements.size();
}

}  // namespace

TEST_CASE("G8: a round bar with a skin, from its mesh") {
    const TriMesh bar = cylinder_solid(20, 300, 256).mesh;
    StiffLayers foam;
    foam.layers = {SkinProfile::step, 1.5, 600.0, 110.0};
    const Beam made = beam_of(bar, foam, 1.0);
    const Rigidity& middle = made.elements[made.elements.size() / 2].foam;
    // Squares of 1.25 mm: that a layer bends within a square is left out, about edge^2/(4 R t).
    CHECK_NEAR(middle.ei_n_mm2(0, 0) * 1e-6, 0.41352960, 0.013);
    CHECK_NEAR(middle.ei_n_mm2(1, 1) * 1e-6, 0.41352960, 0.013);
    BeamOptions fine;
    fine.section_cells = 20000;
    fine.line.elements = 4;
    CHECK_NEAR(beam_of(bar, foam, 1.0, fine).elements[2].foam.ei_n_mm2(0, 0) * 1e-6, 0.41352960,
               0.001);
    CHECK(made.deep[30].depth_mm > 19.0);
    // Exponential: E of the surplus by hand, 2 pi r around a bar that is flat enough at 1.5 in 20.
    foam.layers.profile = SkinProfile::exponential;
    double ei = 0.0;
    constexpr int kSteps = 20000;
    for (int i = 0; i < kSteps; ++i) {
        const double r = 20.0 * (i + 0.5) / kSteps;
        ei += foam.at_mpa(20.0 - r) * pi * r * r * r * 20.0 / kSteps;
    }
    const Beam faded = beam_of(bar, foam, 1.0);
    CHECK_NEAR(faded.elements[30].foam.ei_n_mm2(0, 0), ei, 0.005);
}

TEST_CASE("a skin much thinner than a square counts in full, on slender sections too") {
    // 80 x 8 mm, skin 0.3 mm: EI = core bh^3/12 + (skin - core)(bh^3 - (b-2t)(h-2t)^3)/12.
    const TriMesh plate = box_solid(400, 80, 8).mesh;
    StiffLayers foam;
    foam.layers = {SkinProfile::step, 0.3, 500.0, 128.0};
    const Beam made = beam_of(plate, foam, 1.0);
    const auto full = [](double b, double h) { return b * h * h * h / 12; };
    const double skin_mpa = open_cell_modulus(500.0, 45.0).young_mpa;
    const double ei = foam.core_mpa() * full(80, 8) +
                      (skin_mpa - foam.core_mpa()) * (full(80, 8) - full(79.4, 7.4));
    const Eigen::Matrix2d& both = made.elements[30].foam.ei_n_mm2;
    const double flat = std::min(both(0, 0), both(1, 1));
    CHECK_NEAR(flat, ei, 0.02);
    CHECK(made.deep[30].depth_mm > 3.5);
    CHECK(made.deep[30].depth_mm < 4.0 + 1e-9);
}

TEST_CASE("B1: a cone's droop from its mesh") {
    const TriMesh cone = cone_solid(20, 375, 128, 1).mesh;
    BeamOptions fine;
    fine.line.elements = 400;
    const Beam made = beam_of(cone, plain(160.0, 0.5), mass_of(cone, 160.0), fine);
    CHECK(made.straight);
    // 128 sides lose 8e-4 of EI and 4e-4 of the weight (docs/checks.md G-16).
    CHECK_NEAR(tip(made, Vec3::UnitX(), end_at(made, Vec3::Zero())), 25.857378, 1e-3);
    double sum = 0.0;
    for (const BeamElement& e : made.elements) {
        sum += e.mass_g;
    }
    CHECK_NEAR(sum, mass_of(cone, 160.0), 1e-12);
}

TEST_CASE("a quarter ring held at one end: Castigliano's droop out of its plane") {
    // w per length, radius R, quarter ring, load across the plane. With phi from the free end the
    // moments at phi are Mb = w R^2 (1 - cos phi), T = w R^2 (phi - sin phi), and the end's droop
    // for a unit load there (mb = R sin phi, t = R (1 - cos phi)) is
    // w R^4 (I1/EI + I2/GJ), I1 = int (1 - cos)(sin) = 1/2,
    // I2 = int (phi - sin)(1 - cos) over 0..pi/2 = pi^2/8 - pi/2 + 1/2.
    constexpr double kRing = 250.0;
    constexpr double kBar = 12.0;
    const TriMesh ring = swept::arc(kRing, pi / 2, kBar, 120, 48);
    BeamOptions fine;
    fine.line.cells = 120000;
    fine.line.elements = 90;
    const Beam made = beam_of(ring, plain(160.0, 0.5), mass_of(ring, 160.0), fine);
    REQUIRE_FALSE(made.straight);
    CHECK_NEAR(made.length_mm, kRing * pi / 2, 0.01);
    const double w = 160e-9 * 9.80665 * pi * kBar * kBar;
    const double ei = 0.5 * pi / 4 * std::pow(kBar, 4);
    const double gj = 3.0 / 8.0 * 0.5 * pi / 2 * std::pow(kBar, 4);
    const double expected = w * std::pow(kRing, 4) * (0.5 / ei + (pi * pi / 8 - pi / 2 + 0.5) / gj);
    CHECK_NEAR(tip(made, Vec3::UnitY(), end_at(made, Vec3::Zero())), expected, 0.03);
}

TEST_CASE("regions that do not touch bend each for itself") {
    // Two bars side by side, tied at both ends.
    std::vector<bool> filled(20 * 3, true);
    for (int x = 1; x < 19; ++x) {
        filled[static_cast<std::size_t>(x + 20)] = false;
    }
    const TriMesh frame = transformed(polycube_solid(filled, 20, 3, 1).mesh, 10.0, Vec3::Zero());
    const Beam made = beam_of(frame, plain(160.0, 0.5), 10.0);
    REQUIRE(made.straight);
    const Eigen::Matrix2d ei = made.elements[30].foam.ei_n_mm2;
    CHECK_NEAR(ei(0, 0), 2 * 0.5 * 10000.0 / 12, 1e-9);
    CHECK_NEAR(ei(1, 1), 2 * 0.5 * 10000.0 / 12, 1e-9);
    CHECK_FALSE(made.parted);
}

TEST_CASE("a part in pieces along its line is no beam") {
    const TriMesh apart = joined(box_solid(100, 20, 20).mesh,
                                 transformed(box_solid(100, 20, 20).mesh, 1.0, Vec3(130, 0, 0)));
    CHECK(beam_of(apart, plain(160.0, 0.5), 10.0).parted);
}

TEST_CASE("the same beam for any number of threads, and wherever the part lies") {
    const TriMesh elbow = swept::elbow(200, 150, 40);
    const TriangleBvh surface(elbow);
    StiffLayers foam;
    foam.layers = {SkinProfile::step, 0.7, 500.0, 128.0};
    RunContext one;
    one.threads = 1;
    RunContext many;
    many.threads = 4;
    const MassProperties mass = mass_properties(elbow);
    const Beam a = beam(elbow, surface, mass, foam, 50.0, {}, one);
    const Beam b = beam(elbow, surface, mass, foam, 50.0, {}, many);
    REQUIRE(a.elements.size() == b.elements.size());
    for (std::size_t i = 0; i < a.elements.size(); ++i) {
        CHECK(a.elements[i].foam.ei_n_mm2 == b.elements[i].foam.ei_n_mm2);
        CHECK(a.elements[i].mass_g == b.elements[i].mass_g);
    }
    const TriMesh moved = transformed(elbow, 1.0, Vec3(1000, -500, 300));
    const Beam c = beam_of(moved, foam, 50.0);
    CHECK_NEAR(c.length_mm, a.length_mm, 1e-3);
}
