// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/display.h"

#include "cavigram/core/parallel.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/proxy.h"

namespace cavigram {

namespace {

// For each vertex that is shown the triangle of the part next to it.
std::vector<std::int32_t> nearest_triangles(const TriMesh& shown, const TriangleBvh& surface,
                                            const RunContext& context) {
    std::vector<std::int32_t> nearest(shown.vertices.size());
    for_blocks(nearest.size(), 1024, context, [&](const Block& block) {
        std::int32_t hint = -1;
        for (std::size_t v = block.begin; v < block.end; ++v) {
            hint = surface.nearest(shown.vertices[v], std::numeric_limits<double>::infinity(), hint)
                       .triangle;
            nearest[v] = hint;
        }
    });
    return nearest;
}

}  // namespace

DisplayBlock display_block(const Plan& plan, const TriangleBvh& surface,
                           const RunContext& context) {
    context.report("pictures", 0.0);
    DisplayBlock block;
    ProxyOptions options;
    options.triangles = kShownTriangles;
    Proxy proxy = decimated_proxy(plan.part->mesh(), surface, options, context);
    block.mesh = std::move(proxy.mesh);
    block.deviation_mm = proxy.deviation_mm;
    if (plan.thin) {
        const std::vector<std::int32_t> nearest = nearest_triangles(block.mesh, surface, context);
        for (const std::int32_t t : nearest) {
            const double thickness = plan.thin->map.per_triangle_mm[static_cast<std::size_t>(t)];
            block.thickness_mm.push_back(thickness);
            block.all_skin.push_back(thickness < 2.0 * plan.thin->skin_mm ? 1 : 0);
        }
    }
    const Vec3 up = plan.air ? plan.air->up : Vec3(Vec3::UnitZ());
    block.front = widest_view(block.mesh, up);
    block.side = quarter_turned(block.front);
    block.top = view_from(up, -block.front.toward);
    block.top_outline = silhouette(block.mesh, block.top, {}, context);
    block.front_outline = silhouette(block.mesh, block.front, {}, context);
    return block;
}

}  // namespace cavigram
