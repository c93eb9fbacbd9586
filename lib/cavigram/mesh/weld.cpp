// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/weld.h"

#include <bit>
#include <cstring>

namespace cavigram {

namespace {

std::uint64_t mix(std::uint64_t x) {
    // The finalizer of splitmix64 (Steele, Lea & Flood 2014): every input bit reaches every output
    // bit.
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9ULL;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebULL;
    return x ^ (x >> 31);
}

std::uint64_t hash(const Vec3& p) {
    std::uint64_t h = 0;
    for (int axis = 0; axis < 3; ++axis) {
        h = mix(h + 0x9e3779b97f4a7c15ULL + std::bit_cast<std::uint64_t>(p[axis]));
    }
    return h;
}

// Open addressing over vertex indices; the table never fills beyond half.
class PositionTable {
  public:
    explicit PositionTable(std::size_t count)
        : slots_(std::bit_ceil(2 * count + 2), -1), mask_(slots_.size() - 1) {}

    // Index of `p` in `positions`, where it is put if it is new.
    std::int32_t find_or_add(const Vec3& p, std::vector<Vec3>& positions) {
        for (std::size_t slot = hash(p) & mask_;; slot = (slot + 1) & mask_) {
            std::int32_t& held = slots_[slot];
            if (held < 0) {
                held = static_cast<std::int32_t>(positions.size());
                positions.push_back(p);
                return held;
            }
            if (positions[static_cast<std::size_t>(held)] == p) {
                return held;
            }
        }
    }

  private:
    std::vector<std::int32_t> slots_;
    std::size_t mask_;
};

}  // namespace

Weld weld_exact(const TriMesh& mesh) {
    Weld result;
    PositionTable table(mesh.vertices.size());
    std::vector<std::int32_t> new_index(mesh.vertices.size(), -1);
    std::size_t used = 0;
    result.mesh.triangles.reserve(mesh.triangles.size());
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        Triangle welded;
        for (std::size_t i = 0; i < 3; ++i) {
            const auto v = static_cast<std::size_t>(mesh.triangles[t][i]);
            if (new_index[v] < 0) {
                ++used;
                // Adding 0 turns -0 into +0, so that equal numbers have equal bits.
                new_index[v] =
                    table.find_or_add(mesh.vertices[v] + Vec3::Zero(), result.mesh.vertices);
            }
            welded[i] = new_index[v];
        }
        if (welded[0] == welded[1] || welded[1] == welded[2] || welded[2] == welded[0]) {
            result.degenerate_triangles.push_back(static_cast<std::int32_t>(t));
        } else {
            result.mesh.triangles.push_back(welded);
        }
    }
    result.vertices_joined = used - result.mesh.vertices.size();
    return result;
}

}  // namespace cavigram
