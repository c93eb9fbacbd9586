// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/facing_gaps.h"

#include <vector>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"

namespace cavigram {

namespace {

// Opposed to within this cosine: 4/5 is 37 degrees.
constexpr double kOpposed = -0.8;

Vec3 doubled_normal(const TriMesh& mesh, std::size_t t) {
    const Vec3& a = mesh.corner(t, 0);
    return (mesh.corner(t, 1) - a).cross(mesh.corner(t, 2) - a);
}

// Triangles in which the evenly spaced shares of the area fall; a large one several times.
std::vector<std::size_t> sampled_triangles(const TriMesh& mesh, std::size_t samples) {
    double area = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        area += doubled_normal(mesh, t).norm();
    }
    std::vector<std::size_t> chosen;
    const double step = area / static_cast<double>(samples);
    double next = 0.5 * step;
    double passed = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        passed += doubled_normal(mesh, t).norm();
        while (passed > next && chosen.size() < samples) {
            chosen.push_back(t);
            next += step;
        }
    }
    return chosen;
}

// A place in the triangle: the i-th of a sequence that fills it evenly (steps by the plastic
// number's powers, folded into the triangle).
Vec3 place_in(const TriMesh& mesh, std::size_t t, std::size_t i) {
    double u = 0.5 + 0.7548776662466927 * static_cast<double>(i);
    double v = 0.5 + 0.5698402909980532 * static_cast<double>(i);
    u -= static_cast<double>(static_cast<long long>(u));
    v -= static_cast<double>(static_cast<long long>(v));
    if (u + v > 1.0) {
        u = 1.0 - u;
        v = 1.0 - v;
    }
    const Vec3& a = mesh.corner(t, 0);
    return a + u * (mesh.corner(t, 1) - a) + v * (mesh.corner(t, 2) - a);
}

}  // namespace

std::optional<FacingGap> narrowest_gap(const TriMesh& mesh, const TriangleBvh& surface,
                                       const GapOptions& options, const RunContext& context) {
    CAVIGRAM_ASSERT(options.samples > 0);
    const std::vector<std::size_t> chosen = sampled_triangles(mesh, options.samples);
    constexpr std::size_t kBlock = 256;
    const auto found = map_blocks<std::optional<FacingGap>>(
        chosen.size(), kBlock, context, [&](const Block& block) {
            std::optional<FacingGap> best;
            for (std::size_t i = block.begin; i < block.end; ++i) {
                const std::size_t t = chosen[i];
                const Vec3 normal = doubled_normal(mesh, t).normalized();
                const Vec3 from = place_in(mesh, t, i);
                const RayHit hit = surface.first_hit(
                    from, normal,
                    {.t_max = options.less_than_mm, .skip_triangle = static_cast<std::int32_t>(t)});
                if (hit.sign >= 0 || hit.t <= options.more_than_mm ||
                    (best && hit.t >= best->width_mm)) {
                    continue;
                }
                const auto other = static_cast<std::size_t>(hit.triangle);
                if (doubled_normal(mesh, other).normalized().dot(normal) < kOpposed) {
                    best = FacingGap{hit.t, from + 0.5 * hit.t * normal};
                }
            }
            return best;
        });
    std::optional<FacingGap> narrowest;
    for (const std::optional<FacingGap>& gap : found) {
        if (gap && (!narrowest || gap->width_mm < narrowest->width_mm)) {
            narrowest = gap;
        }
    }
    return narrowest;
}

}  // namespace cavigram
