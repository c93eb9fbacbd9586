// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include "cavigram/repair/arrangement.h"

#include "targets.h"

namespace fuzz {

// Up to eight tetrahedra of whole coordinates, each outward. What they enclose together is no less
// than the largest of them and no more than their sum, which holds for any union.
int fuzz_arrange(Bytes bytes) {
    using namespace cavigram;
    Front front(bytes);
    TriMesh mesh;
    double sum = 0.0;
    double largest = 0.0;
    constexpr std::size_t kMostTriangles = 32;
    while (!front.rest().empty() && mesh.triangles.size() < kMostTriangles) {
        std::array<Vec3, 4> v;
        for (Vec3& p : v) {
            for (int k = 0; k < 3; ++k) {
                p[k] = front.signed_byte();
            }
        }
        double volume = (v[1] - v[0]).cross(v[2] - v[0]).dot(v[3] - v[0]) / 6.0;
        if (volume == 0.0) {
            continue;
        }
        if (volume < 0.0) {
            std::swap(v[2], v[3]);
            volume = -volume;
        }
        const auto at = static_cast<std::int32_t>(mesh.vertices.size());
        mesh.vertices.insert(mesh.vertices.end(), v.begin(), v.end());
        for (const Triangle& t : {Triangle{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {2, 0, 3}}) {
            mesh.triangles.push_back({at + t[0], at + t[1], at + t[2]});
        }
        sum += volume;
        largest = std::max(largest, volume);
    }
    if (mesh.triangles.empty()) {
        return 0;
    }
    const Arrangement result = arrange(mesh, std::vector<std::int32_t>(mesh.triangles.size(), 0));
    require(result.solved, "closed solids that agree can be arranged");
    require(is_closed(result.mesh), "an arrangement is closed");
    // Corners move by rounding, at most by what it says; the surface is below 6 * 256^2 a solid.
    const double slack = result.left_mm3 + result.moved_mm * 1e6 + 1e-9 * sum;
    const double volume = signed_volume(result.mesh);
    require(volume >= largest - slack, "a union is no less than its largest solid");
    require(volume <= sum + slack, "a union is no more than the sum of its solids");
    return 0;
}

}  // namespace fuzz
