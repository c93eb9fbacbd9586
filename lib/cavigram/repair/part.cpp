// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/part.h"

#include <cmath>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/repair/part_maker_detail.h"

namespace cavigram {

const char* to_text(Verdict verdict) {
    switch (verdict) {
        case Verdict::sound:
            return "sound";
        case Verdict::repaired:
            return "repaired";
        case Verdict::wrapped:
            return "wrapped";
    }
    return "sound";
}

double Part::volume_below_mm3() const {
    double sum = 0.0;
    for (const RepairStep& step : steps_) {
        sum += step.volume_below_mm3;
    }
    return sum;
}

double Part::volume_above_mm3() const {
    double sum = 0.0;
    for (const RepairStep& step : steps_) {
        sum += step.volume_above_mm3;
    }
    return sum;
}

double signed_volume_mm3(const TriMesh& mesh) {
    const Vec3 origin = bounds(mesh).center();
    double six_volumes = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        six_volumes += (mesh.corner(t, 0) - origin)
                           .dot((mesh.corner(t, 1) - origin).cross(mesh.corner(t, 2) - origin));
    }
    return six_volumes / 6.0;
}

std::string place_text(const Vec3& p) { return format("(%.4g, %.4g, %.4g) mm", p.x(), p.y(), p.z()); }

Part PartMaker::make(TriMesh mesh, std::vector<RepairStep> steps, Verdict verdict) {
    Part part;
    part.adjacent_ = adjacency(mesh);
    if (!part.adjacent_.closed()) {
        std::size_t h = 0;
        while (part.adjacent_.twin[h] >= 0) {
            ++h;
        }
        throw UnusableInput(format("The surface is not closed: %zu open and %zu irregular edge sides, the first near %s.",
                                   part.adjacent_.border_halfedges, part.adjacent_.irregular_halfedges,
                                   place_text(mesh.corner(h / 3, static_cast<int>(h % 3))).c_str()));
    }
    part.shells_ = cavigram::shells(mesh, part.adjacent_);
    part.mesh_ = std::move(mesh);
    part.steps_ = std::move(steps);
    part.verdict_ = verdict;
    return part;
}

Part part_from_closed(TriMesh mesh_mm) {
    if (mesh_mm.triangles.empty()) {
        throw UnusableInput("The mesh has no triangles; give a file that holds the surface of a part.");
    }
    if (!(signed_volume_mm3(mesh_mm) > 0.0)) {
        throw UnusableInput("The surface encloses no volume, or is inside out; turn its faces over.");
    }
    return PartMaker::make(std::move(mesh_mm), {}, Verdict::sound);
}

}  // namespace cavigram
