// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/cavity/columns.h"
#include "cavigram/measure/mass_properties.h"

// A part as cubes, and distances within it.
namespace cavigram::detail {

// The cubes that fill a part.
class Cubes {
  public:
    // About so many; fewer where the box around the part is large for its volume.
    Cubes(const TriMesh& mesh, const MassProperties& mass, std::size_t wanted,
          const RunContext& context);

    [[nodiscard]] std::size_t size() const { return middle_.size(); }
    [[nodiscard]] double edge_mm() const { return edge_; }
    [[nodiscard]] const Vec3& middle_mm(std::size_t c) const { return middle_[c]; }

    // The cube at an offset, or -1.
    [[nodiscard]] std::int32_t beside(std::size_t c, int dx, int dy, int dz) const {
        const std::array<int, 3>& at = at_[c];
        return number(at[0] + dx, at[1] + dy, at[2] + dz);
    }

    // Calls with each of the up to 26 cubes around.
    template <class Call>
    void around(std::size_t c, const Call& call) const {
        for (int i = 0; i < 27; ++i) {
            const std::int32_t other = beside(c, i % 3 - 1, i / 3 % 3 - 1, i / 9 - 1);
            if (i != 13 && other >= 0) {
                call(static_cast<std::size_t>(other));
            }
        }
    }

  private:
    [[nodiscard]] std::int32_t number(int x, int y, int z) const {
        if (x < 0 || y < 0 || z < 0 || x >= nx_ || y >= ny_ || z >= nz_) {
            return -1;
        }
        return number_[index(x, y, z)];
    }
    [[nodiscard]] std::size_t index(int x, int y, int z) const {
        return static_cast<std::size_t>(x) +
               static_cast<std::size_t>(nx_) *
                   (static_cast<std::size_t>(y) +
                    static_cast<std::size_t>(ny_) * static_cast<std::size_t>(z));
    }

    void fill(const ColumnCut& cut, double bottom);

    double edge_ = 0.0;
    int nx_ = 0;
    int ny_ = 0;
    int nz_ = 0;
    std::vector<std::int32_t> number_;
    std::vector<Vec3> middle_;
    std::vector<std::array<int, 3>> at_;
};

// How far each cube lies from one of them within the part, in edges of a cube: fast marching
// (Sethian, Proc. Natl. Acad. Sci. 93 (1996) 1591). Infinity: not joined to it.
std::vector<double> distances(const Cubes& cubes, std::size_t from);

// The cube that lies farthest, of those that are joined.
std::size_t farthest(const std::vector<double>& time);

}  // namespace cavigram::detail
