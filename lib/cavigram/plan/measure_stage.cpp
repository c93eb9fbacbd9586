// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <vector>

#include "cavigram/plan/measure_stage_detail.h"

namespace cavigram::detail {

MeasuresBlock measures_of(const Part& part, const RunContext& context) {
    const TriMesh& mesh = part.mesh();
    MeasuresBlock measures;
    measures.mass = mass_properties(mesh, context);
    measures.volume_low_mm3 = std::max(0.0, measures.mass.volume_mm3 - part.volume_below_mm3());
    measures.volume_high_mm3 = measures.mass.volume_mm3 + part.volume_above_mm3();
    measures.shells = part.shells().count;
    std::size_t used = 0;
    std::vector<bool> seen(mesh.vertices.size(), false);
    for (const Triangle& t : mesh.triangles) {
        for (const std::int32_t v : t) {
            used += seen[static_cast<std::size_t>(v)] ? 0 : 1;
            seen[static_cast<std::size_t>(v)] = true;
        }
    }
    // V - E + F with E = 3F/2 on a closed surface.
    const long euler = static_cast<long>(used) - static_cast<long>(mesh.triangles.size() / 2);
    measures.genus = static_cast<int>(measures.shells - euler / 2);
    return measures;
}

}  // namespace cavigram::detail
