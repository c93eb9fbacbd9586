// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/cavity/deepest.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "cavigram/core/parallel.h"

namespace cavigram {

double depth_at(const TriangleBvh& surface, const Vec3& p) {
    const double distance = surface.nearest(p).distance_mm;
    return surface.inside(p) ? distance : -distance;
}

namespace {

constexpr int kAlong = 12;   // cubes of the first grid along the longest edge
constexpr int kRounds = 16;  // 12 * 2^16: about 1e-6 of the size

// Cubes that are halved after each round: many while whole basins are told apart, then those around
// the best few.
constexpr std::size_t halved_after(int round) {
    return round < 2 ? 512 : round < 5 ? 64 : 8;
}

struct Cube {
    Vec3 center;
    double depth = 0.0;
};

void measure(const TriangleBvh& surface, std::vector<Cube>& cubes, const RunContext& context) {
    for_blocks(cubes.size(), 64, context, [&](const Block& block) {
        for (std::size_t i = block.begin; i < block.end; ++i) {
            cubes[i].depth = depth_at(surface, cubes[i].center);
        }
    });
}

// Deepest first; among equals the first made.
bool deeper(const Cube& a, const Cube& b) {
    return a.depth > b.depth;
}

std::vector<Cube> first_cubes(const Box3& box, double edge) {
    const auto cubes_on = [&](int axis) {
        return std::max(1, static_cast<int>(std::ceil(box.sizes()[axis] / edge - 1e-9)));
    };
    std::vector<Cube> cubes;
    for (int z = 0; z < cubes_on(2); ++z) {
        for (int y = 0; y < cubes_on(1); ++y) {
            for (int x = 0; x < cubes_on(0); ++x) {
                cubes.push_back({box.min() + edge * Vec3(x + 0.5, y + 0.5, z + 0.5), 0.0});
            }
        }
    }
    return cubes;
}

// The eighths of the first `most` cubes that may hold a point deeper than `depth_mm`: no farther
// below a cube's center than its half diagonal. \pre deepest first
std::vector<Cube> halved(const std::vector<Cube>& cubes, std::size_t most, double edge,
                         double depth_mm) {
    const double half_diagonal = 0.5 * std::sqrt(3.0) * edge;
    std::vector<Cube> next;
    for (std::size_t i = 0; i < std::min(most, cubes.size()); ++i) {
        if (cubes[i].depth + half_diagonal <= depth_mm) {
            break;
        }
        for (int corner = 0; corner < 8; ++corner) {
            const Vec3 to((corner & 1) != 0 ? 1.0 : -1.0, (corner & 2) != 0 ? 1.0 : -1.0,
                          (corner & 4) != 0 ? 1.0 : -1.0);
            next.push_back({cubes[i].center + 0.25 * edge * to, 0.0});
        }
    }
    return next;
}

}  // namespace

DeepestPoint deepest_point(const TriangleBvh& surface, const RunContext& context) {
    DeepestPoint best;
    const Box3& box = surface.bounds_mm();
    if (surface.size() == 0) {
        return best;
    }
    double edge = box.sizes().maxCoeff() / kAlong;
    std::vector<Cube> cubes = first_cubes(box, edge);
    for (int round = 0; round <= kRounds; ++round) {
        measure(surface, cubes, context);
        std::stable_sort(cubes.begin(), cubes.end(), deeper);
        if (cubes.front().depth > best.depth_mm) {
            best = {cubes.front().center, cubes.front().depth};
        }
        std::vector<Cube> next = halved(cubes, halved_after(round), edge, best.depth_mm);
        if (next.empty()) {
            break;
        }
        cubes = std::move(next);
        edge *= 0.5;
    }
    return best;
}

}  // namespace cavigram
