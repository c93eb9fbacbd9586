// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/display.h"

#include "cavigram/core/parallel.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/proxy.h"

namespace cavigram {

namespace {

// For each vertex that is shown the vertex of the part next to it: the nearest corner of the
// nearest triangle.
std::vector<std::size_t> nearest_vertices(const TriMesh& shown, const TriMesh& part,
                                          const TriangleBvh& surface, const RunContext& context) {
    std::vector<std::size_t> nearest(shown.vertices.size());
    for_blocks(nearest.size(), 1024, context, [&](const Block& block) {
        std::int32_t hint = -1;
        for (std::size_t v = block.begin; v < block.end; ++v) {
            const Vec3& p = shown.vertices[v];
            hint = surface.nearest(p, std::numeric_limits<double>::infinity(), hint).triangle;
            double least = std::numeric_limits<double>::infinity();
            for (const std::int32_t corner : part.triangles[static_cast<std::size_t>(hint)]) {
                const double d =
                    (part.vertices[static_cast<std::size_t>(corner)] - p).squaredNorm();
                if (d < least) {
                    least = d;
                    nearest[v] = static_cast<std::size_t>(corner);
                }
            }
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
    const std::vector<std::size_t> nearest =
        plan.thin || plan.foam ? nearest_vertices(block.mesh, plan.part->mesh(), surface, context)
                               : std::vector<std::size_t>{};
    for (const std::size_t v : nearest) {
        if (plan.thin) {
            block.thickness_mm.push_back(plan.thin->map.per_vertex_mm[v]);
            block.all_skin.push_back(block.thickness_mm.back() < 2.0 * plan.thin->skin_mm ? 1 : 0);
        }
        if (plan.foam) {
            block.density_kg_m3.push_back(plan.foam->density.per_vertex_kg_m3[v]);
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
