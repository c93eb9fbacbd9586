// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include "cavigram/cavity/height_volume.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/plan/bench_stage_detail.h"
#include "cavigram/pour/footing.h"

namespace cavigram::detail {

namespace {

void take_pour(BenchRequest& request, const BenchPart& part) {
    const FoamBlock& foam = part.foam;
    request.cups = foam.batch.cups_each;
    request.pour_mass_g = request.cups * (foam.batch.part_a_g + foam.batch.part_b_g);
    request.mold_mass_g = foam.mass.part_mass_g;
    request.molds = 1 + static_cast<int>(foam.also.size());
    request.cavity_mm3 = part.mass.volume_mm3;
    request.expansion_ratio = foam.expansion_ratio;
    request.packing_factor = foam.mass.packing_factor;
    request.area_mm2 = part.mass.area_mm2;
    for (const AlsoPoured& other : foam.also) {
        request.area_mm2 += other.measures.mass.area_mm2;
    }
}

// Pull and way up closer than this to square: neither half is the upper one while it rises.
constexpr double kAcross = 0.5;

// What the half that lies open while it is poured holds before it spills: its cavity up to the
// place of the parting line that is lowest then. It is the upper half once it is turned over; where
// neither is, that which holds more.
double open_half_mm3(const TriMesh& mesh, const Parting& parting, const Vec3& up,
                     const RunContext& context) {
    const HeightVolume heights(mesh, parting.pull, context);
    const double upper =
        heights.volume_mm3() - heights.volume_below_mm3(heights.lowest_mm() + parting.high_mm);
    const double lower = heights.volume_below_mm3(heights.lowest_mm() + parting.low_mm);
    const double along = parting.pull.dot(up.normalized());
    return std::abs(along) < kAcross ? std::max(upper, lower) : along > 0.0 ? upper : lower;
}

void take_way_up(BenchRequest& request, const TriMesh& mesh, const Vec3& center_mm, const Vec3& up,
                 const RunContext& context) {
    // Where nothing is known of the parting line, it is taken through the middle of the height.
    // The half that lies open while it is poured is the upper one once it is turned over.
    request.up = up;
    const HeightVolume heights(mesh, up, context);
    const double middle = 0.5 * (heights.lowest_mm() + heights.highest_mm());
    request.open_half_mm3 = heights.volume_mm3() - heights.volume_below_mm3(middle);
    request.parted = false;
    const double liquid_mm3 = *request.mold_mass_g / request.liquid_kg_m3 * 1e6;
    request.liquid_depth_mm = heights.level_for_volume_mm(liquid_mm3) - heights.lowest_mm();
    request.wall_mm = heights.highest_mm() - heights.lowest_mm();
    request.widest_hole_mm = footing(mesh, up, center_mm).block_width_mm;
}

}  // namespace

BenchPlan bench_stage(const FoamCard& card, const BenchOptions& options, const BenchPart& part,
                      const RunContext& context) {
    BenchRequest request;
    request.temperature_c = options.temperature_c.value_or(card.at_c);
    request.mold_temperature_c = options.mold_temperature_c;
    request.times = options.times;
    request.liquid_kg_m3 = mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3);
    request.viscosity_pa_s = options.viscosity_pa_s.value_or(card.viscosity_pa_s);
    request.rule = card.rule;
    request.curve = card.curve;
    request.pour_hole_width_mm = part.pour_hole_mm;
    request.has_pour_hole = part.pour_hole_after != PourHoleAfter::none;
    request.hole_length_mm = part.foam.holes.wall_mm;
    request.method = options.method;
    take_pour(request, part);
    take_way_up(request, part.mesh, part.mass.centroid_mm, part.up, context);
    if (part.parting != nullptr && !part.parting->line.loops.empty()) {
        // A rod takes some of it; a half that is all of the cavity is no more than that.
        request.open_half_mm3 =
            std::min(open_half_mm3(part.mesh, *part.parting, part.up, context), request.cavity_mm3);
        request.parted = true;
    }
    request.widest_hole_mm =
        std::min(*request.widest_hole_mm, part.widest_hole_mm.value_or(*request.widest_hole_mm));
    return bench_plan(card, request);
}

BenchPlan also_clock(const FoamCard& card, const BenchPlan& first, const AlsoPoured& other,
                     const Vec3& up, const RunContext& context) {
    BenchRequest request = first.request;
    request.method = first.method;
    request.mold_mass_g = other.part_mass_g;
    request.cavity_mm3 = other.measures.mass.volume_mm3;
    take_way_up(request, other.part->mesh(), other.measures.mass.centroid_mm, up, context);
    return bench_plan(card, request);
}

}  // namespace cavigram::detail
