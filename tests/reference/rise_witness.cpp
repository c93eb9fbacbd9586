// SPDX-License-Identifier: GPL-3.0-or-later
// The stepper's pressures in an upright slot with a step, for rise_witness_test.py, which has a
// finite-element package solve the same flow.
//
// A slot 10 mm between its plates, 40 mm wide up to 80 mm and 20 mm wide above, foam up to 110 mm.
// Prints for each cell size: cell in mm, pressure at the middle of the floor, in the wide part's
// shoulder corner and in the middle of the step in Pa, front's speed in the middle and at its edge
// in mm/s.
#include <cmath>
#include <cstdio>

#include "cavigram/pour/rise_stepper.h"

using namespace cavigram;

int main() {
    constexpr double kGap_mm = 10.0;
    constexpr double kGrowth_per_s = 0.05;
    constexpr double kViscosity_pa_s = 10.0;
    constexpr double kSeconds = 1e-4;  // so short that nothing has moved yet
    for (const double cell : {4.0, 2.0, 1.0}) {
        const auto cells = [&](double mm) {
            return static_cast<std::int32_t>(std::lround(mm / cell));
        };
        RiseVoxels voxels;
        voxels.count = {cells(40), 1, cells(140)};
        voxels.spacing_mm = cell;
        for (std::int32_t z = 0; z < voxels.count[2]; ++z) {
            for (std::int32_t x = 0; x < voxels.count[0]; ++x) {
                const bool open = z < cells(80) || (x >= cells(12) && x < cells(32));
                voxels.share.push_back(open ? 1.0 : 0.0);
                voxels.permeability_mm2.push_back(kGap_mm * kGap_mm / 12.0);
            }
        }
        const RiseGrid grid = voxel_grid(voxels);
        std::vector<double> liquid;
        for (std::size_t c = 0; c < grid.size(); ++c) {
            liquid.push_back(grid.place[c][2] < cells(108) ? grid.volume_mm3[c] : 0.0);
        }
        StepperOptions options;
        options.seal = false;
        options.liquid_kg_m3 = 1000.0;
        options.relative = 1e-11;
        RiseStepper rise(grid, liquid, options);
        if (!rise.advance(kSeconds, std::exp(kGrowth_per_s * kSeconds), kViscosity_pa_s).settled) {
            std::fprintf(stderr, "did not settle\n");
            return 1;
        }
        const CellFinder finder(grid);
        // In a corner of four cells: their mean. On the floor: that of its two cells, and the
        // weight of half a cell.
        const auto mean = [&](std::int32_t x, std::int32_t z) {
            double sum = 0.0;
            for (const std::int32_t dx : {-1, 0}) {
                for (const std::int32_t dz : {-1, 0}) {
                    sum += rise.pressure_pa()[static_cast<std::size_t>(
                        finder.at({x + dx, 0, z + dz}))];
                }
            }
            return sum / 4.0;
        };
        const auto speed = [&](std::int32_t x) {
            const auto c = static_cast<std::size_t>(finder.at({x, 0, cells(108)}));
            return rise.share()[c] * cell / kSeconds;
        };
        std::printf("%g %.6f %.6f %.6f %.6f %.6f\n", cell, mean(cells(20), cells(4)),
                    mean(cells(4), cells(76)), mean(cells(20), cells(80)), speed(cells(20)),
                    speed(cells(12)));
    }
    return 0;
}
