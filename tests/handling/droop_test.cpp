// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/handling/droop.h"

#include <cmath>
#include <functional>
#include <numbers>
#include <vector>

#include "support/near.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

constexpr double kGravity = 9.80665;
constexpr double kLength = 375.0;
constexpr double kRadius = 20.0;
constexpr double kYoung_mpa = 0.5;
constexpr double kDensity_kg_m3 = 160.0;

AreaMoments disc(double r) {
    AreaMoments m;
    m.area_mm2 = pi * r * r;
    m.second_mm4 = Eigen::Matrix2d::Identity() * pi / 4 * std::pow(r, 4);
    return m;
}

AreaMoments rectangle(double x, double y) {
    AreaMoments m;
    m.area_mm2 = x * y;
    m.second_mm4(0, 0) = y * x * x * x / 12;
    m.second_mm4(1, 1) = x * y * y * y / 12;
    return m;
}

// A straight beam along x of sections by distance, for Euler's theory: no shear. The frame along x
// has y and z across.
std::vector<BeamElement> beam(int count, double length,
                              const std::function<AreaMoments(double)>& section) {
    std::vector<BeamElement> elements;
    const double h = length / count;
    for (int i = 0; i < count; ++i) {
        BeamElement e;
        e.from_mm = {i * h, 0, 0};
        e.to_mm = {(i + 1) * h, 0, 0};
        e.frame = frame_along(Vec3::UnitX());
        e.section_at_mm = e.mass_at_mm = {(i + 0.5) * h, 0, 0};
        const AreaMoments m = section((i + 0.5) * h);
        e.foam = rigidity(m, kYoung_mpa);
        e.mass_g = kDensity_kg_m3 * 1e-6 * m.area_mm2 * h;
        elements.push_back(e);
    }
    return elements;
}

DroopOptions by_euler() {
    DroopOptions options;
    options.large = false;
    options.shear = false;
    return options;
}

double tip(const std::vector<BeamElement>& elements, bool large = false) {
    DroopOptions options = by_euler();
    options.large = large;
    return droop(elements, -Vec3::UnitZ(), options).spans.front().droop_mm;
}

// rho g L^4 / (E R^2) in mm.
double unit_droop(double size) {
    return kDensity_kg_m3 * 1e-9 * kGravity * std::pow(kLength, 4) / (kYoung_mpa * size * size);
}

std::vector<BeamElement> cylinder(int count) {
    return beam(count, kLength, [](double) { return disc(kRadius); });
}

// Elements' errors fall with the square of their number: 4,000 are within 1e-6 here.
constexpr int kFine = 4000;
constexpr double kFineError = 1e-6;

}  // namespace

// Megson's worked example 13.2 (uniform cantilever), McCutcheon 1983 (round tapers under their own
// weight); factors derived.
TEST_CASE("B1: cylinder and cones") {
    CHECK_NEAR(tip(cylinder(kFine)), 77.572134, kFineError);
    for (const double taper : {0.0, 0.25, 0.5, 0.75}) {
        const std::vector<BeamElement> cone = beam(kFine, kLength, [&](double x) {
            return disc(kRadius * (1.0 - (1.0 - taper) * x / kLength));
        });
        CHECK_NEAR(tip(cone) / unit_droop(kRadius), (1.0 + 2.0 * taper) / 6.0, kFineError);
        if (taper == 0.0) {
            CHECK_NEAR(tip(cone), 25.857378, kFineError);
        }
    }
}

TEST_CASE("the error falls with the square of the number of elements") {
    const double exact = 77.572134;
    const double order = std::log2((tip(cylinder(50)) - exact) / (tip(cylinder(100)) - exact));
    CHECK(order > 1.98);
    CHECK(order < 2.02);
}

TEST_CASE("B2: weight, moment and stress at the root") {
    const std::vector<BeamElement> bar = cylinder(1000);
    double weight_n = 0.0;
    double moment = 0.0;
    for (const BeamElement& e : bar) {
        weight_n += e.mass_g * 1e-3 * kGravity;
        moment += e.mass_g * 1e-3 * kGravity * e.mass_at_mm.x() * 1e-3;
    }
    CHECK_NEAR(weight_n / 0.375, 1.971744, 1e-6);
    CHECK_NEAR(bar[0].foam.ei_n_mm2(0, 0) / kYoung_mpa * 1e-12, 1.256637e-7, 1e-6);
    CHECK_NEAR(moment, 0.138638, 4e-6);
    CHECK_NEAR(moment / 1.256637e-7 * 0.020 / 1000.0, 22.065, 3e-5);
    // The bend at the root is that moment over EI: 1.1 degrees in the first 19 of 375 mm tell it.
    const Droop bent = droop(bar, -Vec3::UnitZ(), by_euler());
    const double h = 0.375;
    const double curvature = -2.0 * bent.moved_mm[1].z() / (h * h);
    CHECK_NEAR(curvature, 138.638 / (kYoung_mpa * 125663.7), 3e-3);
}

TEST_CASE("B3: a square bar, a wedge, and a bar on two hands") {
    const std::vector<BeamElement> square =
        beam(kFine, kLength, [](double) { return rectangle(40.0, 40.0); });
    CHECK_NEAR(tip(square), 58.179100, kFineError);
    const std::vector<BeamElement> wedge =
        beam(kFine, kLength, [](double x) { return rectangle(40.0, 40.0 * (1.0 - x / kLength)); });
    CHECK_NEAR(tip(wedge), 38.786067, 1e-6);

    const std::vector<BeamElement> bar = cylinder(kFine);
    DroopOptions ends = by_euler();
    ends.grip = 0;
    ends.second_grip = bar.size();
    const Droop held = droop(bar, -Vec3::UnitZ(), ends);
    REQUIRE(held.spans.size() == 1);
    CHECK(held.spans[0].is == DroopSpan::Is::between);
    CHECK(held.spans[0].node == bar.size() / 2);
    CHECK_NEAR(held.spans[0].droop_mm, 8.080431, kFineError);
    CHECK(std::abs(held.moved_mm.back().z()) < 1e-9);
}

TEST_CASE("B4: wedges cut short") {
    const double factor[][2] = {
        {0.75, 1.442689}, {0.5, 1.364468}, {0.25, 1.245873}, {0.1, 1.130994}};
    for (const auto& [taper, expected] : factor) {
        const std::vector<BeamElement> wedge = beam(kFine, kLength, [t = taper](double x) {
            return rectangle(40.0, 40.0 * (1.0 - (1.0 - t) * x / kLength));
        });
        CHECK_NEAR(tip(wedge) / unit_droop(40.0), expected, 1e-5);
    }
}

// The heavy elastica EI theta'' = -w (L - s) cos theta, by a boundary value solver to 1e-9.
TEST_CASE("B5: large droop") {
    const double rows[][3] = {{0.1, 0.0124984, 0.9999107}, {0.5, 0.0623058, 0.9977790},
                              {1, 0.1234714, 0.9912464},   {2, 0.2385066, 0.9668930},
                              {4, 0.4251593, 0.8901108},   {8, 0.6406307, 0.7244247},
                              {10, 0.7001997, 0.6563538},  {20, 0.8298814, 0.4452321}};
    DroopOptions elastica;
    elastica.shear = false;
    const double usual = 1.654872;  // W of the cylinder
    for (const auto& [load, drop, along] : rows) {
        std::vector<BeamElement> bar = cylinder(400);
        for (BeamElement& e : bar) {
            e.mass_g *= load / usual;
        }
        const DroopSpan span = droop(bar, -Vec3::UnitZ(), elastica).spans.front();
        CHECK(span.settled);
        CHECK_NEAR(span.share(), drop, 2e-5);
        CHECK_NEAR(1.0 + span.moved_mm.x() / kLength, along, 3e-5);
    }
    CHECK_NEAR(tip(cylinder(1000), true), 75.0676, 3e-6);
    // A limp one hangs straight down, nearly.
    std::vector<BeamElement> limp = cylinder(200);
    for (BeamElement& e : limp) {
        e.mass_g *= 3000.0;
    }
    const DroopSpan hangs = droop(limp, -Vec3::UnitZ(), elastica).spans.front();
    CHECK(hangs.settled);
    CHECK(hangs.share() > 0.95);
    CHECK(hangs.share() < 1.0);
}

TEST_CASE("B6-B9: rods on the neutral axis") {
    struct Row {
        double diameter, gpa, kg_m3, ei, droop_mm;
    };
    const Row rows[] = {{3, 200, 7850, 0.8580455, 7.216045},
                        {3, 69, 2700, 0.337179, 15.746028},
                        {5, 69, 2700, 2.179710, 2.790730},
                        {8, 13.8, 620, 2.837386, 1.915323},
                        {4, 40, 1900, 0.565480, 9.556562}};
    for (const Row& row : rows) {
        std::vector<BeamElement> bar = cylinder(kFine);
        for (BeamElement& e : bar) {
            e.rod = rod_rigidity({0, 0}, row.diameter, row.gpa * 1000, kYoung_mpa);
            e.mass_g += pi / 4 * row.diameter * row.diameter * (kLength / kFine) *
                        (row.kg_m3 - kDensity_kg_m3) * 1e-6;
        }
        const double ei =
            acting_together(rigidity(disc(kRadius), kYoung_mpa), *bar[0].rod).ei_n_mm2(0, 0) * 1e-6;
        CHECK_NEAR(ei, row.ei, 1e-5);
        CHECK_NEAR(tip(bar), row.droop_mm, 1e-6);
    }
}

TEST_CASE("held in the middle both arms droop alike; overhangs lift the middle") {
    const std::vector<BeamElement> bar = cylinder(1000);
    DroopOptions middle = by_euler();
    middle.grip = 500;
    const Droop both = droop(bar, -Vec3::UnitZ(), middle);
    REQUIRE(both.spans.size() == 2);
    CHECK_NEAR(both.spans[0].droop_mm, 77.572134 / 16, 1e-5);
    CHECK_NEAR(both.spans[1].droop_mm, both.spans[0].droop_mm, 1e-10);
    CHECK(both.spans[0].is == DroopSpan::Is::first_end);

    // A handbook's beam with overhangs a on both sides of a span l: the middle sinks by
    // w l^2 (5 l^2 - 24 a^2)/(384 EI), the ends by w a (a^3 + 2 a^2 l - l^3/3... as derived:
    // w a/(24 EI) (3 a^3 + 6 a^2 l - l^3).
    DroopOptions hands = by_euler();
    hands.grip = 200;
    hands.second_grip = 800;
    const Droop held = droop(bar, -Vec3::UnitZ(), hands);
    REQUIRE(held.spans.size() == 3);
    const double w = kDensity_kg_m3 * 1e-9 * kGravity * pi * 400;
    const double ei = kYoung_mpa * pi / 4 * 160000;
    const double a = 0.2 * kLength;
    const double l = 0.6 * kLength;
    CHECK_NEAR(held.moved_mm[500].dot(-Vec3::UnitZ()),
               w * l * l * (5 * l * l - 24 * a * a) / (384 * ei), 1e-5);
    CHECK_NEAR(held.spans[0].droop_mm,
               w * a * (3 * a * a * a + 6 * a * a * l - l * l * l) / (24 * ei), 1e-4);
    CHECK_NEAR(held.spans[2].droop_mm, held.spans[0].droop_mm, 1e-8);
}

TEST_CASE("a bar bent at a right angle in the level plane twists its first leg") {
    // Along x, then along y, both of length L: bending of both legs, and the first one twisted by
    // the second's moment (Castigliano): legs bend by w L^4/8 each, the first also by its end's
    // load w L and by the second's weight at its end; it twists by T L/GJ with T = w L^2/2.
    constexpr double kLeg = 200.0;
    constexpr int kCount = 2000;
    std::vector<BeamElement> bar = beam(kCount, kLeg, [](double) { return disc(kRadius); });
    for (int i = 0; i < kCount; ++i) {
        const double h = kLeg / kCount;
        BeamElement e = bar[static_cast<std::size_t>(i)];
        e.from_mm = {kLeg, i * h, 0};
        e.to_mm = {kLeg, (i + 1) * h, 0};
        e.section_at_mm = e.mass_at_mm = {kLeg, (i + 0.5) * h, 0};
        e.frame = frame_along(Vec3::UnitY());
        bar.push_back(e);
    }
    const double w = kDensity_kg_m3 * 1e-9 * kGravity * pi * 400;
    const double ei = kYoung_mpa * pi / 4 * 160000;
    const double gj = 3.0 / 8.0 * kYoung_mpa * pi / 2 * 160000;
    const double l4 = std::pow(kLeg, 4);
    const double expected =
        w * l4 / (8 * ei) + w * l4 / (3 * ei) + w * l4 / (8 * ei) + w * l4 / (2 * gj);
    CHECK_NEAR(tip(bar), expected, 1e-6);
}

TEST_CASE("the worst way down is across the weaker axis, and a stubby bar shears") {
    const std::vector<BeamElement> flat =
        beam(100, kLength, [](double) { return rectangle(60.0, 20.0); });
    // Sections' y is the part's z for a frame along x: 20 mm high there.
    CHECK(std::abs(worst_way_down(flat).z()) > 0.999);

    const std::vector<BeamElement> stubby =
        beam(2000, 60.0, [](double) { return rectangle(40.0, 40.0); });
    DroopOptions sheared = by_euler();
    sheared.shear = true;
    // Timoshenko: w L^2/(2 k G A) more, k = 5/6, G = 3/8 E.
    const double w = kDensity_kg_m3 * 1e-9 * kGravity * 1600.0;
    CHECK_NEAR(droop(stubby, -Vec3::UnitZ(), sheared).spans[0].droop_mm - tip(stubby),
               w * 3600.0 / (2.0 * 5.0 / 6.0 * 3.0 / 8.0 * kYoung_mpa * 1600.0), 1e-6);
}
