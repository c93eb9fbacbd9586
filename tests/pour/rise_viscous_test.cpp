// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_viscous.h"

#include <cmath>
#include <numbers>

#include "support/near.h"

using namespace cavigram;

namespace {

// The data of docs/checks.md section 5: lengths in mm, K of a gap of 10 mm, growth 0.05 1/s for 20
// s.
constexpr double kK_mm2 = 100.0 / 12.0;
constexpr double kGrowth_per_s = 0.05;
constexpr double kViscosity_pa_s = 10.0;
constexpr double kDrive_pa = kGrowth_per_s * kViscosity_pa_s;
constexpr double kE = std::numbers::e;

ViscousOptions open_everywhere() {
    ViscousOptions options;
    options.seal = false;
    options.relative = 1e-12;
    return options;
}

// A slot along x of so many cells, 1 cell wide; with a share of its width for each.
RiseGrid slot(double length_mm, double cell_mm, const std::vector<double>& shares = {}) {
    RiseVoxels voxels;
    voxels.count = {static_cast<std::int32_t>(std::lround(length_mm / cell_mm)), 1, 1};
    voxels.spacing_mm = cell_mm;
    voxels.permeability_mm2.assign(static_cast<std::size_t>(voxels.count[0]), kK_mm2);
    voxels.share = shares;
    return voxel_grid(voxels);
}

// Liquid in all that lies below x.
std::vector<double> liquid_to(const RiseGrid& grid, double x_mm) {
    std::vector<double> liquid;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        const double from = grid.place[c][0] * grid.spacing_mm;
        liquid.push_back(grid.volume_mm3[c] *
                         std::clamp((x_mm - from) / grid.spacing_mm, 0.0, 1.0));
    }
    return liquid;
}

double length_filled_mm(const RiseGrid& grid, const std::vector<double>& share) {
    double length = 0.0;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        length += share[c] * grid.spacing_mm;
    }
    return length;
}

// Errors at cells of h, h/2, h/4 fall at this order.
double order_of(double coarse, double fine) {
    return std::log2(std::abs(coarse) / std::abs(fine));
}

// A blob of radius r0 in a corner of n^d cells, by 16^d points in each cell.
std::vector<double> blob(const RiseGrid& grid, double radius_mm) {
    constexpr int kPoints = 16;
    std::vector<double> liquid;
    for (const CellPlace& p : grid.place) {
        const bool flat = grid.count[2] == 1;
        int within = 0;
        const int deep = flat ? 1 : kPoints;
        for (int z = 0; z < deep; ++z) {
            for (int y = 0; y < kPoints; ++y) {
                for (int x = 0; x < kPoints; ++x) {
                    const Vec3 at((p[0] + (x + 0.5) / kPoints) * grid.spacing_mm,
                                  (p[1] + (y + 0.5) / kPoints) * grid.spacing_mm,
                                  flat ? 0.0 : (p[2] + (z + 0.5) / kPoints) * grid.spacing_mm);
                    within += at.norm() < radius_mm ? 1 : 0;
                }
            }
        }
        liquid.push_back(grid.volume_mm3[liquid.size()] * within / (deep * kPoints * kPoints));
    }
    return liquid;
}

struct Blob {
    double axis_mm = 0.0;      // radius along x
    double diagonal_mm = 0.0;  // along the diagonal of all axes
    double pressure_pa = 0.0;  // in the middle
    double lopsided = 0.0;     // largest difference of mirror images
};

Blob risen_blob(std::int32_t n, double box_mm, bool flat, double r0_mm, double k_mm2) {
    RiseVoxels voxels;
    voxels.count = {n, n, flat ? 1 : n};
    voxels.spacing_mm = box_mm / n;
    voxels.permeability_mm2.assign(static_cast<std::size_t>(n) * static_cast<std::size_t>(n) *
                                       static_cast<std::size_t>(flat ? 1 : n),
                                   k_mm2);
    const RiseGrid grid = voxel_grid(voxels);
    ViscousRise rise(grid, blob(grid, r0_mm), open_everywhere());
    for (const double s : {0.25, 0.5, 0.75, 1.0}) {
        CHECK(rise.advance(std::exp(s)).settled);
    }
    CHECK(std::abs(rise.state().mass_error) < 1e-9);
    const CellFinder finder(grid);
    Blob result;
    const auto share = [&](std::int32_t x, std::int32_t y, std::int32_t z) {
        return rise.share()[static_cast<std::size_t>(finder.at({x, y, z}))];
    };
    for (std::int32_t i = 0; i < n; ++i) {
        result.axis_mm += share(i, 0, 0) * grid.spacing_mm;
        result.diagonal_mm +=
            share(i, i, flat ? 0 : i) * grid.spacing_mm * std::sqrt(flat ? 2.0 : 3.0);
        for (std::int32_t j = 0; j < n; ++j) {
            result.lopsided = std::max(result.lopsided, std::abs(share(i, j, 0) - share(j, i, 0)));
        }
    }
    result.pressure_pa = rise.pressure_pa(kDrive_pa)[0];
    return result;
}

}  // namespace

// docs/checks.md F1: the front of a slot, and the pressure behind it.
TEST_CASE("a slot closed at one end") {
    std::vector<double> errors;
    for (const double cell : {4.0, 2.0, 1.0, 0.5}) {
        const RiseGrid grid = slot(160.0, cell);
        ViscousRise rise(grid, liquid_to(grid, 50.0), open_everywhere());
        CHECK(rise.advance(kE).settled);
        CHECK_NEAR(length_filled_mm(grid, rise.share()), 135.91409, 1e-7);
        CHECK(std::abs(rise.state().mass_error) < 1e-10);
        const std::vector<double> p = rise.pressure_pa(kDrive_pa);
        errors.push_back(p[0] - 554.17921);
        CHECK_NEAR(p[0], 554.17921, 0.01);
        const double at = 135.91409 / 2.0 / cell - 0.5;  // between the middles of two cells
        const auto below = static_cast<std::size_t>(at);
        const double way = at - static_cast<double>(below);
        CHECK_NEAR((1.0 - way) * p[below] + way * p[below + 1], 415.63441, 0.01);
    }
    MESSAGE("pressure errors in Pa ", errors[0], " ", errors[1], " ", errors[2], " ", errors[3],
            "; order over all ", order_of(errors[0], errors[3]) / 3.0);
    CHECK(order_of(errors[0], errors[3]) / 3.0 > 1.0);
}

// docs/checks.md F2: a disc between plates.
TEST_CASE("a disc between plates stays a disc") {
    std::vector<double> errors;
    for (const std::int32_t n : {15, 30, 60}) {
        const Blob disc = risen_blob(n, 60.0, true, 30.0, kK_mm2);
        errors.push_back(disc.pressure_pa - 36.696805);
        MESSAGE("cells of ", 60.0 / n, ": radius ", disc.axis_mm, " and ", disc.diagonal_mm,
                ", pressure ", disc.pressure_pa);
        CHECK(std::abs(disc.axis_mm - 49.461638) < 60.0 / n);
        CHECK(std::abs(disc.diagonal_mm - 49.461638) < 60.0 / n);
        CHECK(disc.lopsided < 1e-7);
    }
    CHECK_NEAR(errors[1] + 36.696805, 36.696805, 0.03);
    CHECK(std::abs(errors[2]) < 0.5 * std::abs(errors[0]));
}

// docs/checks.md F3: a ball, K 1 mm2.
TEST_CASE("a ball stays a ball") {
    std::vector<double> errors;
    for (const std::int32_t n : {12, 24, 48}) {
        const Blob ball = risen_blob(n, 48.0, false, 30.0, 1.0);
        errors.push_back(ball.pressure_pa - 146.08005);
        MESSAGE("cells of ", 48.0 / n, ": radius ", ball.axis_mm, " and ", ball.diagonal_mm,
                ", pressure ", ball.pressure_pa);
        CHECK(std::abs(ball.axis_mm - 41.868373) < 48.0 / n);
        CHECK(std::abs(ball.diagonal_mm - 41.868373) < 48.0 / n);
        CHECK(ball.lopsided < 1e-6);
    }
    CHECK_NEAR(errors[2] + 146.08005, 146.08005, 0.03);
    CHECK(std::abs(errors[2]) < 0.5 * std::abs(errors[0]));
}

// docs/checks.md F5: a slot half as wide from 80 mm on.
TEST_CASE("a slot with a step") {
    std::vector<double> errors;
    for (const double cell : {4.0, 2.0, 1.0}) {
        std::vector<double> shares;
        for (double x = 0.0; x < 240.0 - 1e-9; x += cell) {
            shares.push_back(x < 80.0 - 1e-9 ? 1.0 : 0.5);
        }
        const RiseGrid grid = slot(240.0, cell, shares);
        ViscousRise rise(grid, liquid_to(grid, 50.0), open_everywhere());
        for (int i = 1; i <= 80; ++i) {
            CHECK(rise.advance(std::exp(i / 80.0)).settled);
        }
        CHECK_NEAR(length_filled_mm(grid, rise.share()), 191.82818, 1e-7);
        const std::vector<double> p = rise.pressure_pa(kDrive_pa);
        errors.push_back(p[0] - 1640.7168);
        CHECK_NEAR(p[0], 1640.7168, 0.01);
        const auto step = static_cast<std::size_t>(80.0 / cell);
        CHECK_NEAR(0.5 * (p[step] + p[step - 1]), 1448.7168, 0.01);
        // The cell before the step is half full half a cell before the foam is at the step.
        const double reached = std::log(rise.arrival()[step - 1] * 50.0 / (80.0 - 0.5 * cell));
        CHECK(std::abs(reached) < 1e-3);
        CHECK_NEAR(std::log(rise.arrival()[step]) / kGrowth_per_s,
                   std::log((80.0 + 0.25 * cell) / 50.0) / kGrowth_per_s, 1e-2);
        if (cell == 1.0) {
            CHECK_NEAR(0.5 * (std::log(rise.arrival()[step]) + std::log(rise.arrival()[step - 1])) /
                           kGrowth_per_s,
                       9.400073, 0.01);
        }
    }
    MESSAGE("pressure errors in Pa ", errors[0], " ", errors[1], " ", errors[2]);
}

// docs/checks.md F9: the same along the standard curve; b and c of E13. 342.7373 is 50 mm times its
// expansion and its share at 90 s, 8.435965 x 0.81256213.
TEST_CASE("a slot along the standard curve") {
    constexpr double kB = 2.13250416;
    constexpr double kC = 0.025884642;
    const RiseGrid grid = slot(450.0, 1.0);
    ViscousRise rise(grid, liquid_to(grid, 50.0), open_everywhere());
    const double lengths[] = {158.1566, 342.7373};
    const double pressures[] = {381.076, 378.675};
    for (int i = 0; i < 2; ++i) {
        const double t = i == 0 ? 30.0 : 90.0;
        rise.advance(std::exp(kB * (1.0 - std::exp(-kC * t))));
        CHECK_NEAR(length_filled_mm(grid, rise.share()), lengths[i], 1e-6);
        const double drive = kB * kC * std::exp(-kC * t) * kViscosity_pa_s;
        CHECK_NEAR(rise.pressure_pa(drive)[0], pressures[i], 0.01);
    }
    rise.advance(8.435965);
    CHECK_NEAR(length_filled_mm(grid, rise.share()) / 50.0, 8.435965, 1e-7);
}

// docs/checks.md F10: mass, volume, symmetry, and the pressure is highest farthest from the front.
TEST_CASE("what holds for every rise") {
    RiseVoxels voxels;
    voxels.count = {21, 21, 9};
    voxels.spacing_mm = 2.0;
    for (std::int32_t z = 0; z < 9; ++z) {
        for (std::int32_t y = 0; y < 21; ++y) {
            for (std::int32_t x = 0; x < 21; ++x) {
                // A cross of two bars, thin in the middle layer's outer ends.
                const bool bar = std::abs(x - 10) < 3 || std::abs(y - 10) < 3;
                voxels.share.push_back(bar ? 1.0 : 0.0);
                voxels.permeability_mm2.push_back(std::abs(x - 10) + std::abs(y - 10) > 7 ? 0.1
                                                                                          : 4.0);
            }
        }
    }
    const RiseGrid grid = voxel_grid(voxels);
    std::vector<double> liquid(grid.size(), 0.0);
    double poured = 0.0;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        if (grid.place[c][2] < 1) {
            liquid[c] = grid.volume_mm3[c];
            poured += liquid[c];
        }
    }
    ViscousRise rise(grid, liquid, open_everywhere());
    const CellFinder finder(grid);
    for (int i = 1; i <= 8; ++i) {
        const ViscousState& state = rise.advance(1.0 + 0.8 * i);
        CHECK(state.settled);
        CHECK(std::abs(state.mass_error) < 1e-10);
        CHECK_NEAR(state.filled_mm3, poured * (1.0 + 0.8 * i), 1e-6);
        for (std::size_t c = 0; c < grid.size(); ++c) {
            const CellPlace& p = grid.place[c];
            const auto mirror = static_cast<std::size_t>(finder.at({20 - p[0], p[1], p[2]}));
            const auto turned = static_cast<std::size_t>(finder.at({p[1], p[0], p[2]}));
            CHECK(std::abs(rise.share()[c] - rise.share()[mirror]) < 1e-7);
            CHECK(std::abs(rise.share()[c] - rise.share()[turned]) < 1e-7);
        }
    }
    // Ten times as thick: the same place, ten times the pressure.
    const std::vector<double> thin = rise.pressure_pa(kDrive_pa);
    const std::vector<double> thick = rise.pressure_pa(10.0 * kDrive_pa);
    std::size_t highest = 0;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        CHECK(std::abs(thick[c] - 10.0 * thin[c]) <= 1e-8 * thick[0]);
        highest = thin[c] > thin[highest] ? c : highest;
        CHECK((rise.full()[c] != 0 || thin[c] == 0.0));
    }
    // The front is at the top, the ends of the bars are hard to pass: the highest is on the floor
    // there.
    CHECK(grid.place[highest][2] == 0);
}

// Far from the front one moment needs no other: few moments or many come to the same.
TEST_CASE("a moment does not depend on those before it") {
    const RiseGrid grid = [] {
        RiseVoxels voxels;
        voxels.count = {24, 24, 1};
        for (std::int32_t i = 0; i < 24 * 24; ++i) {
            voxels.permeability_mm2.push_back((i / 24) % 7 < 3 ? 0.2 : 3.0);
        }
        return voxel_grid(voxels);
    }();
    ViscousRise once(grid, liquid_to(grid, 4.0), open_everywhere());
    ViscousRise often(grid, liquid_to(grid, 4.0), open_everywhere());
    once.advance(4.0);
    for (int i = 1; i <= 30; ++i) {
        often.advance(1.0 + 0.1 * i);
    }
    for (std::size_t c = 0; c < grid.size(); ++c) {
        CHECK(std::abs(once.share()[c] - often.share()[c]) < 1e-7);
    }
}

// Two dead ends of a slot filled from its middle, one of them with a vent: the other keeps its air.
TEST_CASE("air that is cut off keeps its room, foam leaves by the vent") {
    RiseVoxels voxels;
    voxels.count = {40, 1, 1};
    voxels.permeability_mm2.assign(40, kK_mm2);
    const RiseGrid grid = voxel_grid(voxels);
    std::vector<double> liquid(40, 0.0);
    liquid[18] = liquid[19] = liquid[20] = liquid[21] = 1.0;
    ViscousOptions options;
    options.openings = {{39, 1e-3}};
    ViscousRise rise(grid, liquid, options);
    for (int i = 1; i <= 40; ++i) {
        rise.advance(1.0 + 0.1 * i);
        CHECK(std::abs(rise.state().mass_error) < 1e-7);
    }
    REQUIRE(rise.sealed().size() == 1);
    CHECK_NEAR(rise.sealed()[0].volume_mm3, 18.0, 0.02);
    CHECK(rise.sealed()[0].at_mm.x() < 20.0);
    CHECK(std::isinf(rise.arrival()[5]));
    CHECK_NEAR(rise.state().filled_mm3, 4.0 * 5.0, 0.02);
    // Full from there on: 22.2 mm3 of room take so much liquid at 8 times, the rest has left.
    rise.advance(8.0);
    const double room = 40.0 - rise.sealed()[0].volume_mm3;
    CHECK_NEAR(rise.left_mm3()[0], 4.0 - room / 8.0, 0.001);
    CHECK(std::abs(rise.state().mass_error) < 1e-7);
}
