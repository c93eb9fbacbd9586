// SPDX-License-Identifier: GPL-3.0-or-later
#include "benchmark/gudhi_air.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include <gudhi/Bitmap_cubical_complex.h>
#include <gudhi/Bitmap_cubical_complex_base.h>
#include <gudhi/Persistent_cohomology.h>

#include "cavigram/venting/column_tree.h"

using namespace cavigram;

namespace gudhi_side {

namespace {

constexpr double kOutside = 1e30;

}  // namespace

AirGrid air_grid(const TriMesh& mesh_mm, const Vec3& up, int across) {
    const ColumnTree columns = column_tree(mesh_mm, up, {.columns = across});
    AirGrid grid;
    grid.cell_mm = columns.spacing_mm;
    int nx = 0;
    int ny = 0;
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    for (const ColumnInterval& c : columns.intervals) {
        nx = std::max(nx, c.x + 1);
        ny = std::max(ny, c.y + 1);
        low = std::min(low, c.bottom_height_mm);
        high = std::max(high, c.top_height_mm);
    }
    const int nz = static_cast<int>(std::ceil((high - low) / grid.cell_mm));
    grid.cells = {static_cast<unsigned>(nx), static_cast<unsigned>(ny), static_cast<unsigned>(nz)};
    const auto row = static_cast<std::size_t>(nx);
    const auto layer = row * static_cast<std::size_t>(ny);
    grid.value.assign(layer * static_cast<std::size_t>(nz), kOutside);
    for (const ColumnInterval& c : columns.intervals) {
        for (int z = 0; z < nz; ++z) {
            const double middle = low + (z + 0.5) * grid.cell_mm;
            if (middle > c.bottom_height_mm && middle < c.top_height_mm) {
                grid.value[static_cast<std::size_t>(c.x) + row * static_cast<std::size_t>(c.y) +
                           layer * static_cast<std::size_t>(z)] = -middle;
            }
        }
    }
    return grid;
}

std::vector<double> pocket_depths_mm(const AirGrid& grid) {
    using Base = Gudhi::cubical_complex::Bitmap_cubical_complex_base<double>;
    using Complex = Gudhi::cubical_complex::Bitmap_cubical_complex<Base>;
    using Field = Gudhi::persistent_cohomology::Field_Zp;
    Complex complex(grid.cells, grid.value);
    Gudhi::persistent_cohomology::Persistent_cohomology<Complex, Field> persistence(complex, false);
    persistence.init_coefficients(2);
    persistence.compute_persistent_cohomology(0.5 * grid.cell_mm);
    std::vector<double> depths;
    for (const auto& [birth, death] : persistence.intervals_in_dimension(0)) {
        if (death < kOutside) {
            depths.push_back(death - birth);
        }
    }
    std::sort(depths.begin(), depths.end(), std::greater<>());
    return depths;
}

std::vector<double> pocket_depths_mm(const AirTree& tree) {
    std::vector<double> depths;
    for (const AirTree::Arc& arc : tree.arcs) {
        if (arc.parent >= 0 &&
            tree.arcs[static_cast<std::size_t>(arc.parent)].peak_vertex != arc.peak_vertex) {
            depths.push_back(arc.peak_height_mm - arc.saddle_height_mm);
        }
    }
    std::sort(depths.begin(), depths.end(), std::greater<>());
    return depths;
}

}  // namespace gudhi_side
