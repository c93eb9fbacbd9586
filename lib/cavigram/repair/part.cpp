// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/part.h"

#include <cmath>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/told.h"
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

const char* to_text(RepairAction action) {
    switch (action) {
        case RepairAction::weld:
            return "weld";
        case RepairAction::drop_degenerate:
            return "drop_degenerate";
        case RepairAction::drop_repeated:
            return "drop_repeated";
        case RepairAction::drop_folded:
            return "drop_folded";
        case RepairAction::turn_faces:
            return "turn_faces";
        case RepairAction::close_cracks:
            return "close_cracks";
        case RepairAction::part_touching:
            return "part_touching";
        case RepairAction::drop_scraps:
            return "drop_scraps";
        case RepairAction::close_holes:
            return "close_holes";
        case RepairAction::cut_tangles:
            return "cut_tangles";
        case RepairAction::cut_crossings:
            return "cut_crossings";
        case RepairAction::unite:
            return "unite";
        case RepairAction::fill_broken_hollow:
            return "fill_broken_hollow";
        case RepairAction::keep_crossings:
            return "keep_crossings";
        case RepairAction::turn_shells:
            return "turn_shells";
        case RepairAction::drop_within:
            return "drop_within";
        case RepairAction::fill_hollows:
            return "fill_hollows";
        case RepairAction::keep_hollow:
            return "keep_hollow";
        case RepairAction::wrap:
            return "wrap";
        case RepairAction::allow_for_noise:
            return "allow_for_noise";
    }
    return "";
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

std::string told_at(const Vec3& p) {
    return told_place(p.x(), p.y(), p.z());
}

bool pinched_somewhere(const TriMesh& mesh, const Adjacency& adjacent) {
    std::vector<std::int32_t> last(mesh.vertices.size(), -1);
    std::vector<std::int32_t> count(mesh.vertices.size(), 0);
    for (std::size_t h = 0; h < adjacent.twin.size(); ++h) {
        const auto v = static_cast<std::size_t>(mesh.triangles[h / 3][h % 3]);
        last[v] = static_cast<std::int32_t>(h);
        ++count[v];
    }
    for (std::size_t v = 0; v < last.size(); ++v) {
        std::int32_t h = last[v];
        for (; h >= 0 && count[v] > 0; --count[v]) {
            h = adjacent.twin[static_cast<std::size_t>(previous_halfedge(h))];
            if (h == last[v] && count[v] > 1) {
                return true;
            }
        }
    }
    return false;
}

Part PartMaker::make(PartPieces pieces) {
    if (!pieces.adjacent.closed()) {
        std::size_t h = 0;
        while (pieces.adjacent.twin[h] >= 0) {
            ++h;
        }
        throw UnusableInput(fmt::format(
            "The surface is not closed: {} open and {} irregular edge sides, the first near {}.",
            pieces.adjacent.border_halfedges, pieces.adjacent.irregular_halfedges,
            told_at(pieces.mesh.corner(h / 3, static_cast<int>(h % 3)))));
    }
    Part part;
    part.mesh_ = std::move(pieces.mesh);
    part.adjacent_ = std::move(pieces.adjacent);
    part.shells_ = std::move(pieces.shells);
    part.steps_ = std::move(pieces.steps);
    part.faults_ = std::move(pieces.faults);
    part.crossings_ = std::move(pieces.crossings);
    part.verdict_ = pieces.verdict;
    return part;
}

Part part_from_closed(TriMesh mesh_mm) {
    if (mesh_mm.triangles.empty()) {
        throw UnusableInput(
            "The mesh has no triangles; give a file that holds the surface of a part.");
    }
    if (!(signed_volume_mm3(mesh_mm) > 0.0)) {
        throw UnusableInput(
            "The surface encloses no volume, or is inside out; turn its faces over.");
    }
    PartPieces pieces;
    pieces.mesh = std::move(mesh_mm);
    pieces.adjacent = adjacency(pieces.mesh);
    pieces.shells = shells(pieces.mesh, pieces.adjacent);
    return PartMaker::make(std::move(pieces));
}

}  // namespace cavigram
