// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/handling/foam_stiffness.h"

#include <cmath>
#include <numbers>

#include "support/near.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

constexpr double kFirm_kg_m3 = 128.1477;
constexpr double kSoft_kg_m3 = 208.24;

AreaMoments disc(double r) {
    AreaMoments m;
    m.area_mm2 = pi * r * r;
    m.second_mm4 = Eigen::Matrix2d::Identity() * pi / 4 * std::pow(r, 4);
    return m;
}

AreaMoments square(double side) {
    AreaMoments m;
    m.area_mm2 = side * side;
    m.second_mm4 = Eigen::Matrix2d::Identity() * std::pow(side, 4) / 12;
    return m;
}

AreaMoments less(AreaMoments a, const AreaMoments& b) {
    a.area_mm2 -= b.area_mm2;
    a.second_mm4 -= b.second_mm4;
    return a;
}

// 3/h^3 times the integral of E z^2 over half a slab, by Simpson's rule between the kinks.
double slab_modulus(const StiffLayers& foam, double h) {
    const double t = foam.layers.skin_thickness_mm;
    double sum = 0.0;
    const auto add = [&](double from, double to, double shift) {
        constexpr int kSteps = 20000;
        const double step = (to - from) / kSteps;
        for (int i = 0; i <= kSteps; ++i) {
            const double z = from + i * step;
            const double weight = i == 0 || i == kSteps ? 1.0 : i % 2 == 1 ? 4.0 : 2.0;
            sum += weight * step / 3.0 * foam.at_mpa(std::max(0.0, h - z + shift)) * z * z;
        }
    };
    // The kink itself belongs to either side.
    add(0.0, h - t, foam.layers.profile == SkinProfile::step ? 1e-9 : 0.0);
    add(h - t, h, foam.layers.profile == SkinProfile::step ? -1e-9 : 0.0);
    return 3.0 / (h * h * h) * sum;
}

}  // namespace

// Gibson & Ashby, Cellular Solids (1997): the forms from a published formula sheet, the solid's 45
// MPa and 1200 kg/m3 from memory.
TEST_CASE("G1, G2, G3: open cells") {
    const FoamModulus light = open_cell_modulus(30.0, 45.0);
    CHECK_NEAR(light.solid_share, 0.025, 1e-14);
    CHECK_NEAR(light.young_mpa, 0.028125, 1e-14);
    const FoamModulus firm = open_cell_modulus(kFirm_kg_m3, 45.0);
    CHECK_NEAR(firm.solid_share, 0.10678975, 1e-8);
    CHECK_NEAR(firm.young_mpa, 0.51318228, 1e-7);
    CHECK_NEAR(firm.shear_mpa, 0.19244336, 1e-7);
    CHECK_NEAR(firm.buckles_kpa, 25.659, 1e-5);
    CHECK_NEAR(open_cell_modulus(160.0, 45.0).young_mpa, 0.8, 1e-14);
    CHECK_NEAR(open_cell_modulus(kSoft_kg_m3, 45.0).young_mpa, 1.3551218, 1e-7);
}

TEST_CASE("G4: Poisson's ratio is a third") {
    const FoamModulus m = open_cell_modulus(77.0, 12.0);
    CHECK_NEAR(m.young_mpa / (2.0 * m.shear_mpa) - 1.0, 1.0 / 3.0, 1e-14);
}

TEST_CASE("G5: closed cells") {
    CHECK_NEAR(closed_cell_modulus_mpa(kFirm_kg_m3, 45.0, 1.0, 0.0), 0.513182, 1e-6);
    CHECK_NEAR(closed_cell_modulus_mpa(kFirm_kg_m3, 45.0, 0.9, 0.0), 0.896232, 1e-6);
    CHECK_NEAR(closed_cell_modulus_mpa(kFirm_kg_m3, 45.0, 0.8, 0.0), 1.289544, 1e-6);
    const double gas = closed_cell_modulus_mpa(kFirm_kg_m3, 45.0, 0.9, 101.325) -
                       closed_cell_modulus_mpa(kFirm_kg_m3, 45.0, 0.9, 0.0);
    CHECK_NEAR(gas, 0.037813, 2e-5);
}

TEST_CASE("G6: skins lie outside the law, and it says so") {
    CHECK_FALSE(open_cell_modulus(359.0, 45.0).outside_law);
    CHECK(open_cell_modulus(360.0, 45.0).outside_law);
    CHECK(open_cell_modulus(600.0, 45.0).outside_law);
}

TEST_CASE("G7: the denser mix is the softer one") {
    const double firm = open_cell_modulus(kFirm_kg_m3, solid_modulus_mpa({50, 100})).young_mpa;
    const double soft = open_cell_modulus(kSoft_kg_m3, solid_modulus_mpa({30, 100})).young_mpa;
    CHECK(soft < firm);
    // With one and the same solid it would be 2.64 times as stiff: density alone is no guide.
    CHECK_NEAR(open_cell_modulus(kSoft_kg_m3, 45.0).young_mpa / firm, 1.0 / 0.378698, 1e-5);
    CHECK(kSoftMixShare < 0.378698);
    // Between the mixes always downward, beyond them the nearer end's.
    CHECK(solid_modulus_mpa({45, 100}) > solid_modulus_mpa({40, 100}));
    CHECK(solid_modulus_mpa({60, 100}) == kSolidModulus_mpa);
    CHECK_NEAR(solid_modulus_mpa({20, 100}), kSoftMixShare * kSolidModulus_mpa, 1e-14);
}

TEST_CASE("G8: a round bar with a skin") {
    const double skin = open_cell_modulus(600.0, 45.0).young_mpa;
    const double core = open_cell_modulus(110.0, 45.0).young_mpa;
    CHECK_NEAR(skin, 11.25, 1e-14);
    CHECK_NEAR(core, 0.378125, 1e-14);
    const Rigidity both =
        acting_together(rigidity(disc(18.5), core), rigidity(less(disc(20.0), disc(18.5)), skin));
    CHECK_NEAR(both.ei_n_mm2(0, 0) * 1e-6, 0.41352960, 1e-7);
    const double mean = (600.0 * (400 - 18.5 * 18.5) + 110.0 * 18.5 * 18.5) / 400;
    CHECK_NEAR(mean, 180.74375, 1e-12);
    const Rigidity uniform = rigidity(disc(20.0), open_cell_modulus(mean, 45.0).young_mpa);
    CHECK_NEAR(uniform.ei_n_mm2(0, 0) * 1e-6, 0.12828813, 1e-7);
    CHECK_NEAR(both.ei_n_mm2(0, 0) / uniform.ei_n_mm2(0, 0), 3.223444, 1e-6);
}

TEST_CASE("G9: a slab by profile") {
    StiffLayers foam;
    foam.layers = {SkinProfile::step, 2.0, 600.0, 130.0};
    CHECK_NEAR(slab_modulus(foam, 20.0), 3.433753, 1e-5);
    // At 20 mm of half thickness cosh and exponential differ by e^-20.
    foam.layers.profile = SkinProfile::exponential;
    CHECK_NEAR(slab_modulus(foam, 20.0), 2.404637, 1e-5);
    foam.layers = {SkinProfile::step, 0.0, 600.0, 177.0};
    CHECK_NEAR(slab_modulus(foam, 20.0), 0.979031, 1e-5);
}

TEST_CASE("what the skin adds, in closed form against a sum") {
    for (const SkinProfile profile : {SkinProfile::step, SkinProfile::exponential}) {
        StiffLayers foam;
        foam.layers = {profile, 1.3, 500.0, 128.0};
        constexpr int kSteps = 200000;
        const double from = 0.4;
        const double to = 5.0;
        StiffLayers::Surplus stiff;
        StiffLayers::Surplus dense;
        for (int i = 0; i < kSteps; ++i) {
            const double d = from + (i + 0.5) * (to - from) / kSteps;
            const double step = (to - from) / kSteps;
            const double e = foam.at_mpa(d) - foam.core_mpa();
            const double rho = density_at_kg_m3(foam.layers, d) - 128.0;
            stiff.sum += e * step;
            stiff.first += e * d * step;
            dense.sum += rho * step;
            dense.first += rho * d * step;
        }
        CHECK_NEAR(foam.stiffer(from, to).sum, stiff.sum, 1e-4);
        CHECK_NEAR(foam.stiffer(from, to).first, stiff.first, 1e-4);
        CHECK_NEAR(foam.denser(from, to).sum, dense.sum, 1e-4);
        CHECK_NEAR(foam.denser(from, to).first, dense.first, 1e-4);
    }
}

TEST_CASE("B11: a rod off the middle moves the neutral axis") {
    const Rigidity foam = rigidity(square(40.0), 0.5);
    const Rigidity both = acting_together(foam, rod_rigidity({0.0, 10.0}, 3.0, 200000.0, 0.5));
    CHECK_NEAR(both.center_mm.y(), 9.994344, 1e-6);
    CHECK_NEAR(both.ei_n_mm2(1, 1) * 1e-6, 0.98183507, 1e-6);
    // Side by side, as if it could slide, it adds no more than its own.
    const Rigidity loose = side_by_side(foam, rod_rigidity({0.0, 10.0}, 3.0, 200000.0, 0.5));
    CHECK(loose.ei_n_mm2(1, 1) < both.ei_n_mm2(1, 1));
}

TEST_CASE("twisting: exact for a round bar, 8 % too stiff for a square one") {
    // Handbook values: pi R^4/2, and 0.1406 a^4 (Roark).
    CHECK_NEAR(rigidity(disc(20.0), 8.0).gj_n_mm2, 3.0 * pi / 2 * 160000, 1e-12);
    const double square_bar = rigidity(square(40.0), 8.0).gj_n_mm2 / (3.0 * std::pow(40.0, 4));
    CHECK(square_bar > 0.1406);
    CHECK(square_bar < 0.1406 * 1.09);
}
