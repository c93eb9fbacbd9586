// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_stepper.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cavigram/pour/rise_still.h"

#include "support/near.h"

using namespace cavigram;

namespace {

// The data of docs/checks.md section 5: lengths in mm, K of a gap of 10 mm, growth 0.05 1/s for
// 20 s, liquid of 1000 kg/m3.
constexpr double kK_mm2 = 100.0 / 12.0;
constexpr double kGrowth_per_s = 0.05;
constexpr double kViscosity_pa_s = 10.0;
constexpr double kE = std::numbers::e;

StepperOptions plain() {
    StepperOptions options;
    options.seal = false;
    options.liquid_kg_m3 = 1000.0;
    options.relative = 1e-11;
    return options;
}

// A slot along x or z, one cell wide.
RiseGrid slot(double length_mm, double cell_mm, bool upright, double k_mm2 = kK_mm2) {
    RiseVoxels voxels;
    const auto n = static_cast<std::int32_t>(std::lround(length_mm / cell_mm));
    voxels.count = {upright ? 1 : n, 1, upright ? n : 1};
    voxels.spacing_mm = cell_mm;
    voxels.permeability_mm2.assign(static_cast<std::size_t>(n), k_mm2);
    return voxel_grid(voxels);
}

// Liquid between two places of a slot.
std::vector<double> liquid_in(const RiseGrid& grid, double from_mm, double to_mm) {
    std::vector<double> liquid;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        const double at = static_cast<double>(c) * grid.spacing_mm;
        const double within = std::min(to_mm, at + grid.spacing_mm) - std::max(from_mm, at);
        liquid.push_back(grid.volume_mm3[c] * std::clamp(within / grid.spacing_mm, 0.0, 1.0));
    }
    return liquid;
}

double filled_mm(const RiseGrid& grid, const std::vector<double>& share) {
    double length = 0.0;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        length += share[c] * grid.spacing_mm;
    }
    return length;
}

double center_mm(const RiseGrid& grid, const std::vector<double>& share) {
    double moment = 0.0;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        moment += share[c] * (static_cast<double>(c) + 0.5) * grid.spacing_mm * grid.spacing_mm;
    }
    return moment / filled_mm(grid, share);
}

double order_of(double coarse, double fine) {
    return std::log2(std::abs(coarse) / std::abs(fine));
}

// In so many steps to e times the volume.
void grow(RiseStepper& rise, int steps, double viscosity_pa_s) {
    for (int i = 1; i <= steps; ++i) {
        const StepperState& state =
            rise.advance(20.0 / steps, std::exp(i / double(steps)), viscosity_pa_s);
        CHECK(state.settled);
        CHECK(std::abs(state.mass_error) < 1e-10);
    }
}

}  // namespace

// docs/checks.md F4: gravity adds its weight to F1's pressure and moves nothing.
TEST_CASE("an upright slot closed below") {
    std::vector<double> errors;
    for (const double cell : {4.0, 2.0, 1.0, 0.5}) {
        const RiseGrid grid = slot(160.0, cell, true);
        RiseStepper rise(grid, liquid_in(grid, 0.0, 50.0), plain());
        grow(rise, static_cast<int>(std::lround(80.0 / cell)), kViscosity_pa_s);
        CHECK_NEAR(filled_mm(grid, rise.share()), 135.91409, 1e-7);
        // From the middle of the lowest cell to the floor the weight of half a cell.
        const double floor = rise.pressure_pa()[0] + 1000.0 / kE * 9.80665 * 0.5e-3 * cell;
        errors.push_back(floor - 1044.5117);
        MESSAGE("cells of ", cell, ": ", floor, " Pa");
    }
    CHECK_NEAR(errors[2] + 1044.5117, 1044.5117, 0.01);
    CHECK(order_of(errors[0], errors[3]) / 3.0 > 0.9);
}

// docs/checks.md F7: a slug between two vents grows about its middle; upright and thick it sinks.
TEST_CASE("a slug in an open tube") {
    for (const double cell : {2.0, 1.0, 0.5}) {
        const RiseGrid flat = slot(200.0, cell, false);
        RiseStepper rise(flat, liquid_in(flat, 75.0, 125.0), plain());
        grow(rise, 100, kViscosity_pa_s);
        CHECK_NEAR(center_mm(flat, rise.share()), 100.0, 1e-9);
        CHECK_NEAR(filled_mm(flat, rise.share()), 135.91409, 1e-7);
    }
    std::vector<double> errors;
    for (const double cell : {2.0, 1.0, 0.5}) {
        const RiseGrid upright = slot(200.0, cell, true);
        RiseStepper rise(upright, liquid_in(upright, 75.0, 125.0), plain());
        grow(rise, static_cast<int>(std::lround(100.0 / cell)), 1000.0);
        const double sunk = 100.0 - center_mm(upright, rise.share());
        MESSAGE("cells of ", cell, ": sinks ", sunk, " mm");
        errors.push_back(sunk - 1.0331642);
        CHECK_NEAR(filled_mm(upright, rise.share()), 135.91409, 1e-7);
    }
    CHECK_NEAR(errors[2] + 1.0331642, 1.0331642, 0.03);
    CHECK(std::abs(errors[2]) < 0.6 * std::abs(errors[0]));
}

// docs/checks.md F6: a dead end with sealed air; the foam stops where the air presses back as hard
// as it can press.
TEST_CASE("a dead end") {
    const double limits_kpa[] = {5.0, 20.0, 50.0};
    const double lengths_mm[] = {52.351281, 58.242324, 66.520734};
    for (int i = 0; i < 3; ++i) {
        const RiseGrid grid = slot(100.0, 1.0, false);
        StepperOptions options = plain();
        options.seal = true;
        options.most_kpa = limits_kpa[i];
        RiseStepper rise(grid, liquid_in(grid, 0.0, 50.0), options);
        for (int k = 1; k <= 60; ++k) {
            const StepperState& state = rise.advance(100.0, std::exp(k / 60.0), kViscosity_pa_s);
            CHECK(state.settled);
            CHECK(std::abs(state.mass_error) < 1e-10);
        }
        CHECK(rise.state().held_back);
        MESSAGE("limit ", limits_kpa[i], " kPa: ", filled_mm(grid, rise.share()));
        CHECK_NEAR(filled_mm(grid, rise.share()), lengths_mm[i], 1e-3);
        REQUIRE(rise.sealed().size() == 1);
        CHECK_NEAR(rise.sealed()[0].cut_off.volume_mm3, 50.0, 1e-9);
        CHECK_NEAR(rise.sealed()[0].pressure_pa, 1e3 * limits_kpa[i], 0.01);
    }
}
