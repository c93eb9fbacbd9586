// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/cavity/height_volume.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/plan/bench_stage_detail.h"

namespace cavigram::detail {

BenchPlan bench_stage(const FoamCard& card, const BenchOptions& options, const BenchPart& part,
                      const RunContext& context) {
    BenchRequest request;
    request.temperature_c = options.temperature_c.value_or(card.at_c);
    request.times = options.times;
    request.pour_mass_g = part.pour_mass_g;
    request.liquid_kg_m3 = mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3);
    request.viscosity_pa_s = options.viscosity_pa_s.value_or(card.viscosity_pa_s);
    request.rule = card.rule;
    request.pour_hole_mm = options.pour_hole_mm;
    request.area_mm2 = part.area_mm2;
    // Where the mold is parted is the shop's choice; it is taken through the middle of the height
    // for the way up that is asked for.
    const HeightVolume heights(part.mesh, part.up, context);
    const double middle = 0.5 * (heights.lowest_mm() + heights.highest_mm());
    request.lower_half_mm3 = heights.volume_below_mm3(middle);
    const double liquid_mm3 = request.pour_mass_g / request.liquid_kg_m3 * 1e6;
    request.liquid_depth_mm = heights.level_for_volume_mm(liquid_mm3) - heights.lowest_mm();
    request.wall_mm = heights.highest_mm() - heights.lowest_mm();
    request.method = options.method;
    return bench_plan(card, request);
}

}  // namespace cavigram::detail
