// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <cstdio>

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"

int main() {
    const double volume =
        cavigram::mass_properties(cavigram::box_solid(10, 20, 30).mesh).volume_mm3;
    std::printf("%.1f mm3\n", volume);
    return std::abs(volume - 6000.0) < 1e-9 ? 0 : 1;
}
