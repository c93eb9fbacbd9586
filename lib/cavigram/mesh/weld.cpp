// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/weld.h"

#include <algorithm>
#include <array>
#include <bit>

#include "cavigram/core/large_array.h"

namespace cavigram {

namespace {

// Doubles that came from floats or small integers differ in their upper half alone; folding it down
// lets the multiplications carry it everywhere. Constants: the finalizer of splitmix64 (Steele, Lea
// & Flood 2014).
std::uint64_t stirred(std::uint64_t h, double c) {
    const auto bits = std::bit_cast<std::uint64_t>(c);
    h = (h + (bits ^ (bits >> 32))) * 0xbf58476d1ce4e5b9ULL;
    return h ^ (h >> 29);
}

std::uint64_t hash(const Vec3& p) {
    const std::uint64_t h = stirred(stirred(stirred(0x9e3779b97f4a7c15ULL, p.x()), p.y()), p.z()) *
                            0x94d049bb133111ebULL;
    return h ^ (h >> 31);
}

// Open addressing over vertex indices; the table never fills beyond half. It begins small and
// doubles: most files name each vertex six times, and a table that fits the vertices rather than
// the corners stays in the cache.
class PositionTable {
  public:
    explicit PositionTable(std::size_t corners) : mask_(std::bit_ceil(corners / 3 + 64) - 1) {
        resize_large(slots_, mask_ + 1);
    }

    // Fetches what a search for this hash will read first, and then where that points.
    void expect(std::uint64_t hash) const { __builtin_prefetch(&slots_[hash & mask_]); }
    void expect_position(std::uint64_t hash, const std::vector<Vec3>& positions) const {
        const Slot& slot = slots_[hash & mask_];
        if (slot.held >= 0) {
            __builtin_prefetch(&positions[static_cast<std::size_t>(slot.held)]);
        }
    }

    // Index of `p` in `positions`, where it is put if it is new.
    std::int32_t find_or_add(const Vec3& p, std::uint64_t hash, std::vector<Vec3>& positions) {
        const auto tag = static_cast<std::uint32_t>(hash >> 32);
        for (std::size_t i = hash & mask_;; i = (i + 1) & mask_) {
            Slot& slot = slots_[i];
            if (slot.held < 0) {
                const auto index = static_cast<std::int32_t>(positions.size());
                slot = {tag, index};
                positions.push_back(p);
                if (2 * positions.size() > slots_.size()) {
                    grow(positions);
                }
                return index;
            }
            if (slot.tag == tag && positions[static_cast<std::size_t>(slot.held)] == p) {
                return slot.held;
            }
        }
    }

  private:
    struct Slot {
        std::uint32_t tag = 0;  // upper half of the hash
        std::int32_t held = -1;
    };

    void grow(const std::vector<Vec3>& positions) {
        mask_ = 2 * slots_.size() - 1;
        slots_ = {};
        resize_large(slots_, mask_ + 1);
        for (std::size_t v = 0; v < positions.size(); ++v) {
            const std::uint64_t h = hash(positions[v]);
            std::size_t i = h & mask_;
            while (slots_[i].held >= 0) {
                i = (i + 1) & mask_;
            }
            slots_[i] = {static_cast<std::uint32_t>(h >> 32), static_cast<std::int32_t>(v)};
        }
    }

    std::vector<Slot> slots_;
    std::size_t mask_;  // one less than the number of slots, which is a power of two
};

}  // namespace

Weld weld_exact(const TriMesh& mesh) {
    // Triangles are taken so many at once: hashes first, then the table's slots for all of them are
    // on their way while the first is looked up.
    constexpr std::size_t kAtOnce = 32;
    Weld result;
    PositionTable table(mesh.vertices.size());
    std::vector<std::int32_t> new_index;
    resize_large(new_index, mesh.vertices.size(), -1);
    std::array<std::uint64_t, 3 * kAtOnce> hashes{};
    std::size_t used = 0;
    reserve_large(result.mesh.vertices, mesh.vertices.size() / 5 + 1);
    reserve_large(result.mesh.triangles, mesh.triangles.size());
    for (std::size_t begin = 0; begin < mesh.triangles.size(); begin += kAtOnce) {
        const std::size_t end = std::min(begin + kAtOnce, mesh.triangles.size());
        std::size_t k = 0;
        for (std::size_t t = begin; t < end; ++t) {
            for (const std::int32_t v : mesh.triangles[t]) {
                // Adding 0 turns -0 into +0, so that equal numbers have equal bits.
                hashes[k] = hash(mesh.vertices[static_cast<std::size_t>(v)] + Vec3::Zero());
                table.expect(hashes[k++]);
            }
        }
        for (std::size_t i = 0; i < k; ++i) {
            table.expect_position(hashes[i], result.mesh.vertices);
        }
        k = 0;
        for (std::size_t t = begin; t < end; ++t) {
            Triangle welded;
            for (std::size_t i = 0; i < 3; ++i, ++k) {
                const auto v = static_cast<std::size_t>(mesh.triangles[t][i]);
                if (new_index[v] < 0) {
                    ++used;
                    new_index[v] = table.find_or_add(mesh.vertices[v] + Vec3::Zero(), hashes[k],
                                                     result.mesh.vertices);
                }
                welded[i] = new_index[v];
            }
            if (welded[0] == welded[1] || welded[1] == welded[2] || welded[2] == welded[0]) {
                result.degenerate_triangles.push_back(static_cast<std::int32_t>(t));
            } else {
                result.mesh.triangles.push_back(welded);
            }
        }
    }
    result.vertices_joined = used - result.mesh.vertices.size();
    return result;
}

}  // namespace cavigram
