// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/colored_part.h"

#include <algorithm>

#include "cavigram/core/error.h"
#include "cavigram/report/color_map.h"

namespace cavigram {

ColoredPart thickness_colored(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.thin.has_value());
    ColoredPart part;
    part.yellow_mm = kShownOverLimit * plan.thin->limit_mm;
    const TriMesh& mesh = plan.part->mesh();
    std::vector<Rgb> colors;
    colors.reserve(mesh.vertices.size());
    for (const double thickness : plan.thin->map.per_vertex_mm) {
        colors.push_back(viridis(thickness / part.yellow_mm));
    }
    part.ply = ply_bytes(mesh, colors);
    part.glb = glb_bytes(mesh, colors, "thickness");
    return part;
}

DensityColoredPart density_colored(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.foam && plan.foam->density);
    const FoamMass& mass = plan.foam->mass;
    DensityColoredPart part;
    part.violet_kg_m3 = std::min(mass.core_density_kg_m3, mass.skin_density_kg_m3);
    part.yellow_kg_m3 = std::max(mass.core_density_kg_m3, mass.skin_density_kg_m3);
    const double span = part.yellow_kg_m3 - part.violet_kg_m3;
    std::vector<Rgb> colors;
    for (const double density : plan.foam->density->per_vertex_kg_m3) {
        colors.push_back(viridis(span > 0.0 ? (density - part.violet_kg_m3) / span : 0.0));
    }
    part.ply = ply_bytes(plan.part->mesh(), colors);
    part.glb = glb_bytes(plan.part->mesh(), colors, "density");
    return part;
}

}  // namespace cavigram
