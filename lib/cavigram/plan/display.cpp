// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/display.h"

#include <algorithm>

#include "cavigram/core/parallel.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/proxy.h"

namespace cavigram {

namespace {

// What of the part lies next to a vertex that is shown.
struct Neighbor {
    std::size_t triangle = 0;  // the nearest
    std::size_t vertex = 0;    // its nearest corner
};

std::vector<Neighbor> neighbors(const TriMesh& shown, const TriMesh& part,
                                const TriangleBvh& surface, const RunContext& context) {
    std::vector<Neighbor> nearest(shown.vertices.size());
    for_blocks(nearest.size(), 1024, context, [&](const Block& block) {
        std::int32_t hint = -1;
        for (std::size_t v = block.begin; v < block.end; ++v) {
            const Vec3& p = shown.vertices[v];
            hint = surface.nearest(p, std::numeric_limits<double>::infinity(), hint).triangle;
            nearest[v].triangle = static_cast<std::size_t>(hint);
            double least = std::numeric_limits<double>::infinity();
            for (const std::int32_t corner : part.triangles[nearest[v].triangle]) {
                const double d =
                    (part.vertices[static_cast<std::size_t>(corner)] - p).squaredNorm();
                if (d < least) {
                    least = d;
                    nearest[v].vertex = static_cast<std::size_t>(corner);
                }
            }
        }
    });
    return nearest;
}

std::vector<std::uint8_t> upper_half(const TriMesh& shown, const std::vector<bool>& upper_face,
                                     const TriangleBvh& surface, const RunContext& context) {
    std::vector<std::uint8_t> upper(shown.triangles.size());
    for_blocks(upper.size(), 1024, context, [&](const Block& block) {
        std::int32_t hint = -1;
        for (std::size_t t = block.begin; t < block.end; ++t) {
            const Vec3 middle = (shown.corner(t, 0) + shown.corner(t, 1) + shown.corner(t, 2)) / 3;
            hint = surface.nearest(middle, std::numeric_limits<double>::infinity(), hint).triangle;
            upper[t] = upper_face[static_cast<std::size_t>(hint)] ? 1 : 0;
        }
    });
    return upper;
}

}  // namespace

std::vector<double> listed_thickness_mm(const Plan& plan) {
    const TriMesh& part = plan.part->mesh();
    std::vector<double> thinnest(part.vertices.size(), std::numeric_limits<double>::infinity());
    const std::vector<ThicknessSample>& samples = plan.thin->map.samples;
    for (std::size_t s = 0; s < samples.size(); ++s) {
        if (plan.thin->place_of_sample[s] < 0) {
            continue;
        }
        for (const std::int32_t v : part.triangles[static_cast<std::size_t>(samples[s].triangle)]) {
            double& least = thinnest[static_cast<std::size_t>(v)];
            least = std::min(least, samples[s].thickness_mm);
        }
    }
    return thinnest;
}

DisplayBlock display_block(const Plan& plan, const TriangleBvh& surface,
                           const RunContext& context) {
    context.report("pictures", 0.0);
    DisplayBlock block;
    ProxyOptions options;
    options.triangles = kShownTriangles;
    options.solid = false;
    Proxy proxy = decimated_proxy(plan.part->mesh(), surface, options, context);
    block.mesh = std::move(proxy.mesh);
    block.deviation_mm = proxy.deviation_mm;
    const DensityMap* const density =
        plan.foam && plan.foam->density ? &*plan.foam->density : nullptr;
    if (plan.split) {
        block.upper_half =
            upper_half(block.mesh, plan.split->found.parting.upper_face, surface, context);
    }
    if (plan.thin || density != nullptr || plan.rise) {
        const std::vector<double> listed =
            plan.thin ? listed_thickness_mm(plan) : std::vector<double>();
        for (const Neighbor& next : neighbors(block.mesh, plan.part->mesh(), surface, context)) {
            if (plan.thin) {
                block.thin_mm.push_back(listed[next.vertex]);
                block.thickness_mm.push_back(plan.thin->map.per_vertex_mm[next.vertex]);
            }
            if (plan.rise) {
                block.arrival_s.push_back(plan.rise->per_vertex_s[next.vertex]);
            }
            if (density != nullptr) {
                block.density_kg_m3.push_back(density->per_vertex_kg_m3[next.vertex]);
                block.all_skin.push_back(density->triangle_all_skin[next.triangle]);
            }
        }
    }
    const Vec3 up = plan.air ? plan.air->up : Vec3(Vec3::UnitZ());
    block.front = widest_view(block.mesh, up);
    block.side = quarter_turned(block.front);
    block.top = view_from(up, -block.front.toward);
    block.top_outline = silhouette(block.mesh, block.top, {}, context);
    block.front_outline = silhouette(block.mesh, block.front, {}, context);
    if (plan.split) {
        block.line = line_views(plan.part->mesh(), surface, plan.split->found.parting, {}, context);
        for (const LineView& one : block.line.views) {
            block.line_outlines.push_back(silhouette(block.mesh, one.view, {}, context));
        }
    }
    return block;
}

}  // namespace cavigram
