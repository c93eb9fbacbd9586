// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/thickened.h"

#include <cmath>

#include "cavigram/core/error.h"
#include "cavigram/core/sum.h"

namespace cavigram {

Thickened thickened(const ThicknessMap& map, const ThinRegions& regions, double gain_mm) {
    if (!(gain_mm > 0.0) || !std::isfinite(gain_mm)) {
        throw InvalidInput("A wall that is thickened must gain more than 0.");
    }
    Thickened result;
    result.gain_mm = gain_mm;
    for (const ThinRegion& region : regions.regions) {
        ++(region.thickness_mm + gain_mm >= regions.limit_mm ? result.places_leaving
                                                             : result.places_left);
        if (region.all_skin) {
            (region.typical_mm + gain_mm >= 2.0 * regions.options.skin_mm
                 ? result.all_skin_leaving_mm2
                 : result.all_skin_left_mm2) += region.area_mm2;
        }
        // Both sides are counted in the area.
        result.volume_added_mm3 += 0.5 * region.area_mm2 * gain_mm;
    }
    CompensatedSum leaving;
    CompensatedSum left;
    CompensatedSum volume;
    for (std::size_t i = 0; i < map.samples.size(); ++i) {
        if (regions.of_sample[i] < 0) {
            continue;
        }
        const ThicknessSample& sample = map.samples[i];
        const double wall = wall_thickness_mm(sample);
        if (wall + gain_mm >= regions.limit_mm) {
            leaving.add(sample.area_mm2);
            volume.add(0.5 * sample.area_mm2 * wall);
        } else {
            left.add(sample.area_mm2);
        }
    }
    result.area_leaving_mm2 = leaving.value();
    result.area_left_mm2 = left.value();
    result.volume_leaving_mm3 = volume.value();
    return result;
}

}  // namespace cavigram
