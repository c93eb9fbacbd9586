// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/display.h"

#include <algorithm>

#include "cavigram/core/parallel.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/proxy.h"

namespace cavigram {

ShownMesh shown_mesh(const TriMesh& part, const TriangleBvh& surface, const RunContext& context) {
    context.report("pictures", 0.0);
    ProxyOptions options;
    options.triangles = kShownTriangles;
    options.solid = false;
    Proxy proxy = decimated_proxy(part, surface, options, context);
    return {std::move(proxy.mesh), proxy.deviation_mm};
}

std::vector<ShownNeighbor> shown_neighbors(const TriMesh& shown, const TriMesh& part,
                                           const TriangleBvh& surface, const RunContext& context) {
    std::vector<ShownNeighbor> nearest(shown.vertices.size());
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

namespace {

// What values at a triangle's corners come to at a place on it.
double between_corners(const TriMesh& mesh, std::size_t triangle, const Vec3& place,
                       const std::vector<double>& values) {
    const Vec3 a = mesh.corner(triangle, 0);
    const Vec3 u = mesh.corner(triangle, 1) - a;
    const Vec3 v = mesh.corner(triangle, 2) - a;
    const Vec3 across = u.cross(v);
    const double square = across.squaredNorm();
    const auto value = [&](std::size_t corner) {
        return values[static_cast<std::size_t>(mesh.triangles[triangle][corner])];
    };
    if (square == 0.0) {
        return value(0);
    }
    const double second = (place - a).cross(v).dot(across) / square;
    const double third = u.cross(place - a).dot(across) / square;
    return (1.0 - second - third) * value(0) + second * value(1) + third * value(2);
}

}  // namespace

ShownHalves shown_halves(const TriMesh& shown, const TriMesh& part, const Parting& parting,
                         const TriangleBvh& surface, const RunContext& context) {
    ShownHalves halves;
    std::vector<std::uint8_t>& upper = halves.upper;
    upper.resize(shown.triangles.size());
    for_blocks(upper.size(), 1024, context, [&](const Block& block) {
        std::int32_t hint = -1;
        for (std::size_t t = block.begin; t < block.end; ++t) {
            const Vec3 middle = (shown.corner(t, 0) + shown.corner(t, 1) + shown.corner(t, 2)) / 3;
            hint = surface.nearest(middle, std::numeric_limits<double>::infinity(), hint).triangle;
            upper[t] = parting.upper_face[static_cast<std::size_t>(hint)] ? 1 : 0;
        }
    });
    if (!parting.smooth) {
        return halves;
    }
    halves.side.resize(shown.vertices.size());
    for_blocks(halves.side.size(), 1024, context, [&](const Block& block) {
        std::int32_t hint = -1;
        for (std::size_t v = block.begin; v < block.end; ++v) {
            const NearestPoint next =
                surface.nearest(shown.vertices[v], std::numeric_limits<double>::infinity(), hint);
            hint = next.triangle;
            halves.side[v] =
                between_corners(part, static_cast<std::size_t>(hint), next.point_mm, parting.field);
        }
    });
    return halves;
}

ShownSides shown_sides(const TriMesh& shown, const Vec3& up, const RunContext& context) {
    ShownSides sides;
    sides.front = widest_view(shown, up);
    sides.side = quarter_turned(sides.front);
    sides.top = view_from(up, -sides.front.toward);
    sides.top_outline = silhouette(shown, sides.top, {}, context);
    sides.front_outline = silhouette(shown, sides.front, {}, context);
    return sides;
}

ShownLine shown_line(const TriMesh& shown, const TriMesh& part, const Parting& parting,
                     const TriangleBvh& surface, const RunContext& context) {
    ShownLine line{line_views(part, surface, parting, {}, context), {}};
    for (const LineView& one : line.line.views) {
        line.outlines.push_back(silhouette(shown, one.view, {}, context));
    }
    return line;
}

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

DisplayBlock display_block(const Plan& plan, const ShownMesh& shown,
                           const std::vector<ShownNeighbor>& neighbors, const ShownSides& sides,
                           const ShownHalves& halves, const ShownLine& line) {
    DisplayBlock block;
    block.mesh = shown.mesh;
    block.deviation_mm = shown.deviation_mm;
    block.upper_half = halves.upper;
    block.half_side = halves.side;
    const DensityMap* const density =
        plan.foam && plan.foam->density ? &*plan.foam->density : nullptr;
    const std::vector<double> listed =
        plan.thin ? listed_thickness_mm(plan) : std::vector<double>();
    for (const ShownNeighbor& next : neighbors) {
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
    block.front = sides.front;
    block.side = sides.side;
    block.top = sides.top;
    block.top_outline = sides.top_outline;
    block.front_outline = sides.front_outline;
    block.line = line.line;
    block.line_outlines = line.outlines;
    return block;
}

}  // namespace cavigram
