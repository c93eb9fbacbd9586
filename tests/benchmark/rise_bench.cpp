// SPDX-License-Identifier: GPL-3.0-or-later
// Times of the rise by cells: rise_bench CELLS... (default 15000 60000). A torus with a thick ring
// is followed by both levels, 20 moments each, air cut off as it comes.
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/pour/rise.h"
#include "cavigram/spatial/triangle_bvh.h"

#include "benchmark/rise_request.h"

using namespace cavigram;

namespace {

double seconds_since(std::chrono::steady_clock::time_point start) {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

}  // namespace

int main(int count, char** words) {
    std::vector<std::size_t> sizes;
    for (int i = 1; i < count; ++i) {
        sizes.push_back(static_cast<std::size_t>(std::atoll(words[i])));
    }
    if (sizes.empty()) {
        sizes = {15'000, 60'000};
    }
    const Solid ring = torus_solid(60, 20, 96);
    const Vec3 up = Vec3::UnitX();
    const TriangleBvh surface(ring.mesh);
    const ThicknessMap thickness =
        thickness_map(ring.mesh, adjacency(ring.mesh), surface, {.samples = 20'000});
    for (const std::size_t cells : sizes) {
        auto start = std::chrono::steady_clock::now();
        const RiseGrid grid =
            rise_grid(ring.mesh, up, thickness, ring.volume_mm3, {.cells = cells});
        std::printf("%9zu cells: grid %.2f s", grid.size(), seconds_since(start));
        for (const RiseLevel level : {RiseLevel::still, RiseLevel::stepped, RiseLevel::viscous}) {
            RiseRequest request = rise_request(ring.volume_mm3, Vec3(80, 0, 0));
            request.level = level;
            start = std::chrono::steady_clock::now();
            const Rise rise = follow_rise(grid, request);
            std::printf(", %s %.2f s (mass to %.0e)", to_text(level), seconds_since(start),
                        rise.mass_error);
        }
        std::printf("\n");
    }
    return 0;
}
