// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/colored_part.h"

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

}  // namespace cavigram
