// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/colored_faults.h"

#include <array>

#include "cavigram/report/color_map.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

namespace {

constexpr double kNearShare = 0.005;
constexpr Rgb kPlain = {205, 205, 205};

double shade_of(FaultKind kind) {
    switch (kind) {
        case FaultKind::hole:
        case FaultKind::crack:
        case FaultKind::missing_base:
            return 0.0;
        case FaultKind::flipped:
            return 0.25;
        case FaultKind::crossing:
        case FaultKind::overlap:
            return 0.5;
        case FaultKind::duplicate:
        case FaultKind::folded:
        case FaultKind::degenerate:
        case FaultKind::scrap:
        case FaultKind::hollow:
        case FaultKind::double_skin:
        case FaultKind::within:
            return 0.75;
        default:
            return 1.0;
    }
}

}  // namespace

std::string faults_colored(const TriMesh& surface_mm, const std::vector<Fault>& faults) {
    TriMesh places;  // each a triangle of no size
    std::vector<Rgb> color_of_place;
    for (const Fault& fault : faults) {
        for (const auto& p : fault.places_mm) {
            const auto v = static_cast<std::int32_t>(places.vertices.size());
            places.vertices.emplace_back(p[0], p[1], p[2]);
            places.triangles.push_back({v, v, v});
            color_of_place.push_back(viridis(shade_of(fault.kind)));
        }
    }
    std::vector<Rgb> colors(surface_mm.vertices.size(), kPlain);
    if (!places.triangles.empty()) {
        const TriangleBvh tree(places);
        const double near_mm = kNearShare * bounds(surface_mm).diagonal().norm();
        for (std::size_t v = 0; v < colors.size(); ++v) {
            const NearestPoint near = tree.nearest(surface_mm.vertices[v], near_mm);
            if (near.triangle >= 0) {
                colors[v] = color_of_place[static_cast<std::size_t>(near.triangle)];
            }
        }
    }
    return ply_bytes(surface_mm, colors);
}

}  // namespace cavigram
