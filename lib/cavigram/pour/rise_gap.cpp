// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include "cavigram/pour/channel_flow.h"
#include "cavigram/pour/rise_gap_detail.h"

namespace cavigram::detail {

namespace {

// A ball whose middle lies where a ball nearly as large has been adds next to nothing: painting it
// would cost as much as the first.
constexpr double kAsLarge = 0.95;

// Balls of the thickness map, largest first, painted into the cells that they reach.
void paint_balls(RiseGrid& grid, const CellFinder& finder, const ThicknessMap& thickness) {
    std::vector<std::size_t> order(thickness.samples.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return thickness.samples[a].thickness_mm > thickness.samples[b].thickness_mm;
    });
    for (const std::size_t i : order) {
        const ThicknessSample& sample = thickness.samples[i];
        const double diameter = sample.thickness_mm;
        const Vec3 middle = sample.at_mm + 0.5 * diameter * sample.inward;
        const Vec3 at = (grid.frame.local(middle) - grid.corner_mm) / grid.spacing_mm;
        const CellPlace home{static_cast<std::int32_t>(std::floor(at.x())),
                             static_cast<std::int32_t>(std::floor(at.y())),
                             static_cast<std::int32_t>(std::floor(at.z()))};
        const std::int32_t own = finder.at(home);
        if (own >= 0 && grid.gap_mm[static_cast<std::size_t>(own)] >= kAsLarge * diameter) {
            continue;
        }
        const double reach = 0.5 * diameter / grid.spacing_mm + 0.5;
        const auto span = static_cast<std::int32_t>(std::ceil(reach));
        for (std::int32_t z = home[2] - span; z <= home[2] + span; ++z) {
            for (std::int32_t y = home[1] - span; y <= home[1] + span; ++y) {
                for (std::int32_t x = home[0] - span; x <= home[0] + span; ++x) {
                    const std::int32_t cell = finder.at({x, y, z});
                    if (cell >= 0 && (Vec3(x + 0.5, y + 0.5, z + 0.5) - at).norm() <= reach) {
                        double& gap = grid.gap_mm[static_cast<std::size_t>(cell)];
                        gap = std::max(gap, diameter);
                    }
                }
            }
        }
    }
}

// Cells that no ball reaches, as in corners, take the gap of the nearest that one does, by faces.
void spread_gaps(RiseGrid& grid) {
    std::vector<std::int32_t> front;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        if (grid.gap_mm[c] > 0.0) {
            front.push_back(static_cast<std::int32_t>(c));
        }
    }
    while (!front.empty()) {
        std::vector<std::int32_t> next;
        for (const std::int32_t c : front) {
            for (const std::int32_t n : grid.neighbor[static_cast<std::size_t>(c)]) {
                if (n >= 0 && grid.gap_mm[static_cast<std::size_t>(n)] <= 0.0) {
                    grid.gap_mm[static_cast<std::size_t>(n)] =
                        grid.gap_mm[static_cast<std::size_t>(c)];
                    next.push_back(n);
                }
            }
        }
        front = std::move(next);
    }
    for (double& gap : grid.gap_mm) {
        gap = gap > 0.0 ? gap : grid.spacing_mm;  // a lone cell between walls
    }
}

// Wall area and volume in boxes of 1, 2, 4 ... cells.
class WallCount {
  public:
    WallCount(const RiseGrid& grid, const TriMesh& mesh) : grid_(grid) {
        levels_.push_back({grid.count, {}, {}});
        Level& finest = levels_.front();
        finest.clear();
        for (std::size_t c = 0; c < grid.size(); ++c) {
            finest.volume[finest.index(grid.place[c])] += grid.volume_mm3[c];
        }
        for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
            add_wall(mesh, t);
        }
        while (std::max({levels_.back().count[0], levels_.back().count[1],
                         levels_.back().count[2]}) > 3) {
            coarsen();
        }
    }

    // Gap times walls over volume in a window of 1.5 to 3 gaps around a cell.
    [[nodiscard]] double walls_over_volume(std::size_t cell) const {
        std::size_t level = 0;
        double edge = grid_.spacing_mm;
        while (edge < 0.5 * grid_.gap_mm[cell] && level + 1 < levels_.size()) {
            edge *= 2.0;
            ++level;
        }
        const Level& boxes = levels_[level];
        double walls = 0.0;
        double volume = 0.0;
        const auto place = grid_.place[cell];
        for (std::int32_t dz = -1; dz <= 1; ++dz) {
            for (std::int32_t dy = -1; dy <= 1; ++dy) {
                for (std::int32_t dx = -1; dx <= 1; ++dx) {
                    const CellPlace box{(place[0] >> level) + dx, (place[1] >> level) + dy,
                                        (place[2] >> level) + dz};
                    if (boxes.holds(box)) {
                        walls += boxes.walls[boxes.index(box)];
                        volume += boxes.volume[boxes.index(box)];
                    }
                }
            }
        }
        return volume > 0.0 ? grid_.gap_mm[cell] * walls / volume : 2.0;
    }

  private:
    struct Level {
        CellPlace count{};
        std::vector<double> walls;
        std::vector<double> volume;

        void clear() {
            const auto n = static_cast<std::size_t>(count[0]) * static_cast<std::size_t>(count[1]) *
                           static_cast<std::size_t>(count[2]);
            walls.assign(n, 0.0);
            volume.assign(n, 0.0);
        }
        [[nodiscard]] bool holds(const CellPlace& p) const {
            return p[0] >= 0 && p[1] >= 0 && p[2] >= 0 && p[0] < count[0] && p[1] < count[1] &&
                   p[2] < count[2];
        }
        [[nodiscard]] std::size_t index(const CellPlace& p) const {
            return static_cast<std::size_t>(p[0]) +
                   static_cast<std::size_t>(count[0]) *
                       (static_cast<std::size_t>(p[1]) +
                        static_cast<std::size_t>(count[1]) * static_cast<std::size_t>(p[2]));
        }
    };

    // A triangle in k^2 equal pieces, each no longer than half a cell, each counted at its middle.
    void add_wall(const TriMesh& mesh, std::size_t t) {
        const Vec3 a = grid_.frame.local(mesh.corner(t, 0)) - grid_.corner_mm;
        const Vec3 u = grid_.frame.local(mesh.corner(t, 1)) - grid_.corner_mm - a;
        const Vec3 v = grid_.frame.local(mesh.corner(t, 2)) - grid_.corner_mm - a;
        const double longest = std::max({u.norm(), v.norm(), (u - v).norm()});
        const int k = std::max(1, static_cast<int>(std::ceil(2.0 * longest / grid_.spacing_mm)));
        const double area = 0.5 * u.cross(v).norm() / (double(k) * k);
        Level& finest = levels_.front();
        for (int i = 0; i < k; ++i) {
            for (int j = 0; i + j < k; ++j) {
                for (int upper = 0; upper < (i + j + 1 < k ? 2 : 1); ++upper) {
                    const double shift = upper == 0 ? 1.0 / 3.0 : 2.0 / 3.0;
                    const Vec3 p =
                        (a + u * ((i + shift) / k) + v * ((j + shift) / k)) / grid_.spacing_mm;
                    CellPlace box{};
                    for (std::size_t axis = 0; axis < 3; ++axis) {
                        box[axis] = std::clamp(
                            static_cast<std::int32_t>(std::floor(p[static_cast<int>(axis)])), 0,
                            finest.count[axis] - 1);
                    }
                    finest.walls[finest.index(box)] += area;
                }
            }
        }
    }

    void coarsen() {
        Level coarse;
        for (std::size_t axis = 0; axis < 3; ++axis) {
            coarse.count[axis] = (levels_.back().count[axis] + 1) / 2;
        }
        coarse.clear();
        const Level& fine = levels_.back();
        for (std::int32_t z = 0; z < fine.count[2]; ++z) {
            for (std::int32_t y = 0; y < fine.count[1]; ++y) {
                for (std::int32_t x = 0; x < fine.count[0]; ++x) {
                    const std::size_t from = fine.index({x, y, z});
                    const std::size_t to = coarse.index({x / 2, y / 2, z / 2});
                    coarse.walls[to] += fine.walls[from];
                    coarse.volume[to] += fine.volume[from];
                }
            }
        }
        levels_.push_back(std::move(coarse));
    }

    const RiseGrid& grid_;
    std::vector<Level> levels_;
};

// Half the mean thickness of what a cell holds, at least: the widest ball of a sharp edge has next
// to none, and foam in a cell with a gap of nothing would press without end. Half, since two arms
// may pass through it side by side.
void widen_to_content(RiseGrid& grid) {
    const double section_mm2 = grid.spacing_mm * grid.spacing_mm;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        grid.gap_mm[c] = std::max(grid.gap_mm[c], 0.5 * grid.volume_mm3[c] / section_mm2);
    }
}

}  // namespace

void find_gaps(RiseGrid& grid, const TriMesh& mesh, const ThicknessMap& thickness) {
    grid.gap_mm.assign(grid.size(), 0.0);
    paint_balls(grid, CellFinder(grid), thickness);
    spread_gaps(grid);
    widen_to_content(grid);
    const WallCount walls(grid, mesh);
    grid.permeability_mm2.resize(grid.size());
    for (std::size_t c = 0; c < grid.size(); ++c) {
        grid.permeability_mm2[c] =
            local_permeability_mm2(grid.gap_mm[c], walls.walls_over_volume(c));
    }
}

void find_conductances(RiseGrid& grid) {
    grid.conductance_mm3.assign(grid.size(), {0.0, 0.0, 0.0});
    for (std::size_t c = 0; c < grid.size(); ++c) {
        for (std::size_t axis = 0; axis < 3; ++axis) {
            const std::int32_t n = grid.neighbor[c][2 * axis + 1];
            if (n < 0) {
                continue;
            }
            const double here = grid.permeability_mm2[c];
            const double there = grid.permeability_mm2[static_cast<std::size_t>(n)];
            // Two half cells one after the other: resistances add.
            grid.conductance_mm3[c][axis] =
                2.0 * here * there / (here + there) * grid.open_share[c][axis] * grid.spacing_mm;
        }
    }
}

}  // namespace cavigram::detail
