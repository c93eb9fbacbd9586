// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/colored_part.h"

#include <algorithm>
#include <cmath>

#include "cavigram/core/error.h"
#include "cavigram/report/color_map.h"

namespace cavigram {

namespace {

ColoredPart colored(const TriMesh& mesh, const std::vector<double>& values, const ColorEnds& ends,
                    const char* name) {
    std::vector<Rgb> colors;
    colors.reserve(values.size());
    for (const double value : values) {
        colors.push_back(viridis(ends.share(value)));
    }
    return {ply_bytes(mesh, colors), glb_bytes(mesh, colors, name)};
}

}  // namespace

double ColorEnds::share(double value) const {
    return violet == yellow ? 1.0 : std::clamp((value - violet) / (yellow - violet), 0.0, 1.0);
}

ColorEnds thickness_ends(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.thin.has_value());
    return {0.0, kShownOverLimit * plan.thin->limit_mm};
}

ColorEnds density_ends(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.foam.has_value());
    const auto [light, dense] =
        std::minmax(plan.foam->mass.core_density_kg_m3, plan.foam->mass.skin_density_kg_m3);
    return {dense, light};
}

ColorEnds arrival_ends(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.rise.has_value());
    double last = 0.0;
    double first = plan.rise->rise.gel_s;
    for (const double time_s : plan.rise->per_vertex_s) {
        if (std::isfinite(time_s)) {
            last = std::max(last, time_s);
            first = std::min(first, time_s);
        }
    }
    return {std::max(first, last), first};
}

ColoredPart thickness_colored(const Plan& plan) {
    return colored(plan.part->mesh(), plan.thin->map.per_vertex_mm, thickness_ends(plan),
                   "thickness");
}

ColoredPart density_colored(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.foam && plan.foam->density);
    return colored(plan.part->mesh(), plan.foam->density->per_vertex_kg_m3, density_ends(plan),
                   "density");
}

ColoredPart arrival_colored(const Plan& plan) {
    return colored(plan.part->mesh(), plan.rise->per_vertex_s, arrival_ends(plan), "arrival");
}

}  // namespace cavigram
