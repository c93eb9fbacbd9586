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

// docs/checks.md F8: two arms, 10 mm wide and 60 mm long, 5 mm and 40 mm, both vented. The slot's
// depth is 10 mm here; per 10 mm of it the flow is -18.42105 mm3/s.
TEST_CASE("a slot that grows both ways") {
    std::vector<double> joins;
    std::vector<double> fronts;
    for (const double cell : {2.0, 1.0, 0.5}) {
        const auto n = static_cast<std::int32_t>(std::lround(200.0 / cell));
        RiseVoxels voxels;
        voxels.count = {n, 1, 1};
        voxels.spacing_mm = cell;
        // The join is at 100 mm: the thick arm lies before it.
        for (std::int32_t i = 0; i < n; ++i) {
            const bool thick = i < n / 2;
            voxels.share.push_back(thick ? 1.0 : 0.5);
            voxels.permeability_mm2.push_back(thick ? kK_mm2 : kK_mm2 / 4.0);
        }
        const RiseGrid grid = voxel_grid(voxels);
        const std::vector<double> liquid = liquid_in(grid, 40.0, 140.0);
        RiseStepper rise(grid, liquid, plain());
        constexpr double kSeconds = 1e-3;  // so short that nothing has moved yet
        const StepperState& state =
            rise.advance(kSeconds, std::exp(kGrowth_per_s * kSeconds), kViscosity_pa_s);
        CHECK(state.settled);
        const auto join = static_cast<std::size_t>(n / 2);
        double thick_mm_s = 0.0;
        double thin_mm_s = 0.0;
        for (std::size_t c = 0; c < grid.size(); ++c) {
            const double gained = (rise.share()[c] - liquid[c] / grid.volume_mm3[c]) * cell;
            (c < join ? thick_mm_s : thin_mm_s) += gained / kSeconds;
        }
        MESSAGE("cells of ", cell, ": fronts ", thick_mm_s, " and ", thin_mm_s, " mm/s");
        CHECK_NEAR(10.0 * thick_mm_s + 5.0 * thin_mm_s, 40.0, 1e-4);
        // In the face between the two: K/h weighs the pressures of the cells beside it.
        const double p = (rise.pressure_pa()[join - 1] * 4.0 + rise.pressure_pa()[join]) / 5.0;
        joins.push_back(p - 121.26316);
        fronts.push_back(thin_mm_s - 1.631579);
        if (cell == 0.5) {
            CHECK_NEAR(thick_mm_s, 3.184211, 0.01);
            CHECK_NEAR(thin_mm_s, 1.631579, 0.01);
            CHECK_NEAR(p, 121.26316, 0.01);
        }
    }
    MESSAGE("pressure at the join, errors ", joins[0], " ", joins[1], " ", joins[2]);
    CHECK(std::abs(joins[2]) < 0.6 * std::abs(joins[0]));
    CHECK(order_of(joins[0], joins[2]) / 2.0 > 0.9);
    CHECK(order_of(fronts[0], fronts[2]) / 2.0 > 0.9);
}

namespace {

// A box of nx x 1 x nz cells of 1 mm with a wall between two arms: cells of a wall have no share.
template <class Open>
RiseGrid upright_shape(std::int32_t nx, std::int32_t nz, double k_mm2, const Open& open) {
    RiseVoxels voxels;
    voxels.count = {nx, 1, nz};
    for (std::int32_t z = 0; z < nz; ++z) {
        for (std::int32_t x = 0; x < nx; ++x) {
            voxels.share.push_back(open(x, z) ? 1.0 : 0.0);
            voxels.permeability_mm2.push_back(k_mm2);
        }
    }
    return voxel_grid(voxels);
}

std::vector<double> liquid_below(const RiseGrid& grid, std::int32_t layers) {
    std::vector<double> liquid;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        liquid.push_back(grid.place[c][2] < layers ? grid.volume_mm3[c] : 0.0);
    }
    return liquid;
}

double sum(const std::vector<double>& values) {
    double all = 0.0;
    for (const double value : values) {
        all += value;
    }
    return all;
}

}  // namespace

// Without gravity and cut-off air, steps of any length add up to the obstacle problem.
TEST_CASE("without gravity: the obstacle problem") {
    RiseVoxels voxels;
    voxels.count = {24, 24, 1};
    for (std::int32_t i = 0; i < 24 * 24; ++i) {
        voxels.permeability_mm2.push_back((i / 24) % 7 < 3 ? 0.2 : 3.0);
    }
    const RiseGrid grid = voxel_grid(voxels);
    std::vector<double> liquid;
    for (const CellPlace& p : grid.place) {
        liquid.push_back(p[0] < 4 ? 1.0 : 0.0);
    }
    ViscousOptions open;
    open.seal = false;
    open.relative = 1e-12;
    ViscousRise once(grid, liquid, open);
    once.advance(4.0);
    for (const int steps : {1, 7, 60}) {
        StepperOptions options = plain();
        options.gravity_m_s2 = 0.0;
        RiseStepper rise(grid, liquid, options);
        for (int i = 1; i <= steps; ++i) {
            CHECK(rise.advance(1.0, 1.0 + 3.0 * i / steps, kViscosity_pa_s).settled);
        }
        for (std::size_t c = 0; c < grid.size(); ++c) {
            CHECK(std::abs(once.share()[c] - rise.share()[c]) < 1e-6);
        }
    }
}

// Ten times as thick: the same path in one channel, ten times the pressure.
TEST_CASE("viscosity scales the pressure in a channel and moves nothing") {
    const RiseGrid grid = slot(160.0, 2.0, false);
    RiseStepper thin(grid, liquid_in(grid, 0.0, 50.0), plain());
    RiseStepper thick(grid, liquid_in(grid, 0.0, 50.0), plain());
    grow(thin, 40, kViscosity_pa_s);
    grow(thick, 40, 10.0 * kViscosity_pa_s);
    for (std::size_t c = 0; c < grid.size(); ++c) {
        CHECK(std::abs(thin.share()[c] - thick.share()[c]) < 1e-9);
        CHECK(std::abs(10.0 * thin.pressure_pa()[c] - thick.pressure_pa()[c]) <
              1e-7 * thick.pressure_pa()[0]);
    }
}

// A U of arms 10 mm wide, one open above, the other sealed: slowly filled it stands where the air's
// pressure and the difference of the levels agree. With H of room above the liquid of the sealed
// arm, which rose by x in it, and y in the open one,
//     p0 H/(H - x) - p0 = rho g (y - x),   x + y what was added over the section
// (Boyle and hydrostatics). The room's air is thin here, so that both count.
TEST_CASE("a U with a sealed arm") {
    constexpr std::int32_t kTall = 100;
    constexpr double kAir_pa = 2000.0;
    constexpr double kExpansion = 2.5;
    // All of 32 mm up to 10 mm, then arms of 10 mm with a wall of 12 mm between them.
    const RiseGrid grid = upright_shape(32, kTall, 10.0, [](std::int32_t x, std::int32_t z) {
        return z < 10 || x < 10 || x >= 22;
    });
    StepperOptions options = plain();
    options.seal = true;
    options.air_kpa = kAir_pa * 1e-3;
    const CellFinder finder(grid);
    options.openings = {{finder.at({5, 0, kTall - 1}), 1e-6}};
    RiseStepper rise(grid, liquid_below(grid, 16), options);
    const double liquid_mm3 = 32.0 * 10.0 + 20.0 * 6.0;
    for (int i = 1; i <= 60; ++i) {
        const StepperState& state = rise.advance(60.0, 1.0 + (kExpansion - 1.0) * i / 60.0, 1.0);
        CHECK(std::abs(state.mass_error) < 1e-9);
    }
    rise.advance(1e4, kExpansion * (1.0 + 1e-9), 1.0);  // and comes to rest
    double open_mm = 0.0;
    double sealed_mm = 0.0;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        const CellPlace& p = grid.place[c];
        if (p[2] >= 10) {
            (p[0] < 10 ? open_mm : sealed_mm) += rise.share()[c] / 10.0;
        }
    }
    // The closed form, by halves. Heights above 10 mm; air of 90 - 6 mm in the sealed arm.
    const double both_mm = (liquid_mm3 * kExpansion - 320.0) / 10.0;
    const double weight_pa_mm = 1000.0 / kExpansion * 9.80665e-3;
    double low = 6.0;
    double high = both_mm / 2.0;
    for (int i = 0; i < 60; ++i) {
        const double x = 0.5 * (low + high);
        const double press = kAir_pa * 84.0 / (90.0 - x) - kAir_pa;
        (press < weight_pa_mm * (both_mm - 2.0 * x) ? low : high) = x;
    }
    MESSAGE("levels ", open_mm, " and ", sealed_mm, ", closed form ", both_mm - low, " and ", low);
    CHECK(std::abs(sealed_mm - low) < 0.5);
    CHECK(std::abs(open_mm - (both_mm - low)) < 0.5);
    REQUIRE(rise.sealed().size() == 1);
    CHECK_NEAR(rise.sealed()[0].pressure_pa, kAir_pa * 84.0 / (90.0 - low) - kAir_pa, 0.03);
    CHECK_NEAR(rise.sealed()[0].cut_off.volume_mm3, 840.0, 1e-9);
}

// Thin foam, in the terms of K/mu, stands level: where it is and what air stays are those of
// rise_still. And it fills alike on both sides, with the same bytes for any number of threads.
TEST_CASE("with large K: the level fill") {
    // A bottle with two shoulders, the air of which stays below the vent's neck.
    const auto bottle = [](std::int32_t x, std::int32_t z) {
        return z < 20 || (z < 30 && (x < 6 || x >= 15 || (x >= 9 && x < 12))) || (x >= 9 && x < 12);
    };
    const RiseGrid grid = upright_shape(21, 40, 1.0, bottle);
    const CellFinder finder(grid);
    const std::vector<RiseOpening> vent{{finder.at({10, 0, 39}), 1e-3}};
    const std::vector<double> liquid = liquid_below(grid, 5);
    const StillRise still = still_rise(grid, vent, 1.0);
    std::vector<std::vector<double>> shares;
    for (const int threads : {1, 3}) {
        RunContext context;
        context.threads = threads;
        StepperOptions options = plain();
        options.seal = true;
        options.smallest_air_mm3 = 1.0;
        options.openings = vent;
        RiseStepper rise(grid, liquid, options, context);
        for (int i = 1; i <= 50; ++i) {
            const StepperState& state = rise.advance(2.0, 1.0 + 3.6 * i / 50.0, 0.1);
            CHECK(state.settled);
            CHECK(std::abs(state.mass_error) < 1e-9);
            const double foam = sum(liquid) * state.expansion;
            for (std::size_t c = 0; c < grid.size(); ++c) {
                const CellPlace& p = grid.place[c];
                const auto mirror = static_cast<std::size_t>(finder.at({20 - p[0], 0, p[2]}));
                CHECK(std::abs(rise.share()[c] - rise.share()[mirror]) < 1e-6);
                // A layer of 21 cells is full, or empty, one layer away from its level.
                if (p[2] < 19 && still.arrival_mm3[c] + 21.0 < foam) {
                    CHECK(rise.share()[c] > 0.999);
                } else if (p[2] < 19 && still.arrival_mm3[c] - 21.0 > foam) {
                    CHECK(rise.share()[c] < 1e-3);
                }
            }
        }
        const std::vector<StepperAir> sealed = rise.sealed();
        REQUIRE(sealed.size() == still.sealed.size());
        for (std::size_t i = 0; i < sealed.size(); ++i) {
            // To half a layer below the shoulder, 9 cells wide: the one in which it is cut off.
            CHECK(std::abs(sealed[i].cut_off.volume_mm3 - still.sealed[i].volume_mm3) < 4.5);
        }
        shares.push_back(rise.share());
    }
    CHECK(shares[0] == shares[1]);
}

// Foam that runs over a sill and down a stair, as it does in a mold that was turned. Three basins,
// 10 cells wide: floors at 20 (up to the sill at 26), a stair from 18 down to 4, and the lowest up
// from 0. Thin foam, slowly, stands level: by hand, of 60 + 90 cells of foam the upper basin keeps
// the 60 below its sill and all else is beyond it, but for what a layer of cells tells.
TEST_CASE("over a sill and down a stair") {
    const auto floor_of = [](std::int32_t x) {
        return x < 10 ? 20 : x < 12 ? 26 : x < 20 ? 18 - 2 * (x - 12) : 0;
    };
    const RiseGrid grid = upright_shape(
        30, 32, 1.0, [&](std::int32_t x, std::int32_t z) { return z >= floor_of(x); });
    std::vector<double> liquid;
    for (const CellPlace& p : grid.place) {
        liquid.push_back(p[0] < 10 && p[2] < 23 ? 1.0 : 0.0);
    }
    for (const double viscosity : {0.01, 1.0}) {
        RiseStepper rise(grid, liquid, plain());
        int sets = 0;
        for (int i = 1; i <= 80; ++i) {
            const StepperState& state = rise.advance(20.0, 1.0 + 4.0 * i / 80.0, viscosity);
            CHECK(state.settled);
            CHECK(std::abs(state.mass_error) < 1e-9);
            CHECK(state.misplaced_mm3 < 1e-3);
            sets += state.sets;
        }
        rise.advance(1e4, 5.0 * (1.0 + 1e-9), viscosity);  // and comes to rest
        double upper = 0.0;
        double lower = 0.0;
        for (std::size_t c = 0; c < grid.size(); ++c) {
            (grid.place[c][0] < 10 ? upper : lower) += rise.share()[c];
        }
        MESSAGE("upper basin ", upper, ", beyond ", lower, "; sets a step ", sets / 80.0);
        CHECK_NEAR(upper + lower, 150.0, 1e-6);
        // A cell passes foam on once it is full: one layer stays on the sill.
        CHECK(upper >= 60.0 - 1e-6);
        CHECK(upper < 70.01);
    }
}
