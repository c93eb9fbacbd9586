// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/double_count.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>
#include <vector>

#include "cavigram/core/parallel.h"
#include "cavigram/spatial/orient.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

namespace {

constexpr std::size_t kCells = 96;
constexpr double kDeviations = 4.0;

struct Step {
    double z = 0.0;
    int facing = 0;
};

// Height of the triangle's plane over a point that it covers.
double height(const TriMesh& mesh, std::size_t t, const Vec3& p) {
    const Vec3& a = mesh.corner(t, 0);
    const Vec3 n = (mesh.corner(t, 1) - a).cross(mesh.corner(t, 2) - a);
    return a.z() - (n.x() * (p.x() - a.x()) + n.y() * (p.y() - a.y())) / n.z();
}

double excess_along(const TriMesh& mesh, const TriangleBvh& tree, const Vec3& from) {
    std::vector<Step> steps;
    tree.along(from, Vec3::UnitZ(), [&](std::int32_t triangle) {
        const auto t = static_cast<std::size_t>(triangle);
        const int facing =
            triangle_winding(mesh.corner(t, 0).head<2>(), mesh.corner(t, 1).head<2>(),
                             mesh.corner(t, 2).head<2>(), from.head<2>());
        if (facing != 0) {
            steps.push_back({height(mesh, t, from), facing});
        }
        return std::numeric_limits<double>::infinity();
    });
    std::sort(steps.begin(), steps.end(), [](const Step& a, const Step& b) {
        return std::pair(a.z, a.facing) < std::pair(b.z, b.facing);
    });
    double sum = 0.0;
    int winding = 0;
    for (std::size_t i = 0; i + 1 < steps.size(); ++i) {
        winding -= steps[i].facing;
        sum += (winding - (winding >= 1 ? 1 : 0)) * (steps[i + 1].z - steps[i].z);
    }
    return sum;
}

}  // namespace

DoubleCount double_count(const TriMesh& mesh, const RunContext& context) {
    const TriangleBvh tree(mesh, context);
    const Box3 box = bounds(mesh);
    const double dx = box.sizes().x() / kCells;
    const double dy = box.sizes().y() / kCells;
    struct Sum {
        double mean = 0.0;
        double variance = 0.0;
    };
    const auto rows = map_blocks<Sum>(kCells, 1, context, [&](const Block& block) {
        // Fixed seeds; the generator's bits are the same everywhere.
        std::mt19937_64 random(block.begin + 1);
        const auto unit = [&] { return static_cast<double>(random() >> 11) * 0x1p-53; };
        Sum sum;
        for (std::size_t i = 0; i < kCells; ++i) {
            double found[2];
            for (double& one : found) {
                const Vec3 from(box.min().x() + (static_cast<double>(i) + unit()) * dx,
                                box.min().y() + (static_cast<double>(block.begin) + unit()) * dy,
                                box.min().z() - box.diagonal().norm());
                one = excess_along(mesh, tree, from);
            }
            sum.mean += 0.5 * (found[0] + found[1]);
            sum.variance += 0.25 * (found[0] - found[1]) * (found[0] - found[1]);
        }
        return sum;
    });
    Sum all;
    for (const Sum& row : rows) {
        all.mean += row.mean;
        all.variance += row.variance;
    }
    return {all.mean * dx * dy, kDeviations * std::sqrt(all.variance) * dx * dy};
}

}  // namespace cavigram
