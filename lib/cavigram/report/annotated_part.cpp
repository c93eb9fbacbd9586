// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/annotated_part.h"

#include <algorithm>
#include <cmath>

#include "cavigram/core/error.h"
#include "cavigram/geom/directions.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/report/color_map.h"
#include "cavigram/report/marks_detail.h"

namespace cavigram {

namespace {

constexpr Rgb kPlain = {205, 205, 205};
// Markers are so large against the part's diagonal: seen at once, hiding little.
constexpr double kMarkShare = 0.06;

// A solid made around the z axis from its origin, moved to a place and turned so that z is `up`.
TriMesh placed(TriMesh solid, const Vec3& up, const Vec3& at_mm) {
    const Frame frame = frame_along(up);
    for (Vec3& v : solid.vertices) {
        v = at_mm + frame.world(v);
    }
    return solid;
}

// A funnel stands on its tip: the cone upside down.
TriMesh funnel(double height_mm) {
    return revolved_solid({{0.0, 0.0}, {0.4 * height_mm, height_mm}}, 24).mesh;
}

// A square bar along each piece of lines on the part, closed or not.
TriMesh line_bars(const std::vector<std::vector<Vec3>>& lines, bool closed, double half_width_mm) {
    TriMesh bars;
    for (const std::vector<Vec3>& loop : lines) {
        for (std::size_t i = 0; i + (closed ? 0 : 1) < loop.size(); ++i) {
            const Vec3 way = loop[(i + 1) % loop.size()] - loop[i];
            if (!(way.norm() > 0.0)) {
                continue;
            }
            TriMesh bar = box_solid(2.0 * half_width_mm, 2.0 * half_width_mm, way.norm()).mesh;
            bar = transformed(std::move(bar), 1.0, Vec3(-half_width_mm, -half_width_mm, 0.0));
            bar = placed(std::move(bar), way, loop[i]);
            const auto first = static_cast<std::int32_t>(bars.vertices.size());
            bars.vertices.insert(bars.vertices.end(), bar.vertices.begin(), bar.vertices.end());
            for (const Triangle& t : bar.triangles) {
                bars.triangles.push_back({t[0] + first, t[1] + first, t[2] + first});
            }
        }
    }
    return bars;
}

std::vector<Rgb> part_colors(const Plan& plan) {
    std::vector<Rgb> colors(plan.part->mesh().vertices.size(), kPlain);
    if (!plan.thin) {
        return colors;
    }
    const std::vector<double> listed = listed_thickness_mm(plan);
    for (std::size_t i = 0; i < colors.size(); ++i) {
        if (std::isfinite(listed[i])) {
            colors[i] = viridis(listed[i] / plan.thin->limit_mm);
        }
    }
    return colors;
}

}  // namespace

AnnotatedPart annotated_part(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.part != nullptr);
    const TriMesh& part = plan.part->mesh();
    const std::vector<Rgb> colors = part_colors(plan);
    const double size = kMarkShare * bounds(part).diagonal().norm();

    std::vector<TriMesh> markers;
    std::vector<std::vector<Rgb>> marker_colors;
    std::vector<std::string> names;
    for (const Mark& mark : marks_of(plan)) {
        TriMesh solid =
            mark.pour_hole
                ? funnel(size)
                : cylinder_solid(std::max(0.5 * mark.diameter_mm, 0.08 * size), 1.5 * size, 16)
                      .mesh;
        markers.push_back(placed(std::move(solid), plan.air->up, mark.at_mm));
        marker_colors.emplace_back(markers.back().vertices.size(),
                                   viridis(mark.pour_hole ? 1.0 : 0.0));
        names.push_back((mark.pour_hole ? "pour hole " : "vent ") + mark.label +
                        (mark.plugged ? ", plugged" : ""));
    }

    if (plan.split && !plan.split->line_mm.empty()) {
        markers.push_back(line_bars(plan.split->line_mm, true, 0.03 * size));
        marker_colors.emplace_back(markers.back().vertices.size(), viridis(0.5));
        names.emplace_back("parting line");
    }
    if (plan.split && plan.split->found.glove && plan.split->found.glove->slit) {
        markers.push_back(
            line_bars({plan.split->found.glove->slit->points_mm}, false, 0.03 * size));
        marker_colors.emplace_back(markers.back().vertices.size(), viridis(0.75));
        names.emplace_back("slit of a glove mold");
    }

    std::vector<NamedMesh> meshes = {{part, colors, "part"}};
    TriMesh all = part;
    std::vector<Rgb> all_colors = colors;
    for (std::size_t i = 0; i < markers.size(); ++i) {
        meshes.push_back({markers[i], marker_colors[i], names[i]});
        all = joined(std::move(all), markers[i]);
        all_colors.insert(all_colors.end(), marker_colors[i].begin(), marker_colors[i].end());
    }
    return {ply_bytes(all, all_colors), glb_bytes(meshes)};
}

}  // namespace cavigram
