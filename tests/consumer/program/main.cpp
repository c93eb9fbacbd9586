// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <cstdio>

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/repair/mend.h"

int main() {
    const cavigram::Mended mended = cavigram::mend(cavigram::box_solid(10, 20, 30).mesh);
    const double volume = cavigram::mass_properties(mended.part.mesh()).volume_mm3;
    std::printf("%.1f mm3\n", volume);
    return std::abs(volume - 6000.0) < 1e-9 ? 0 : 1;
}
