// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_grid.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/core.h>

#include "cavigram/cavity/columns.h"
#include "cavigram/core/error.h"
#include "cavigram/core/sum.h"
#include "cavigram/pour/rise_gap_detail.h"

namespace cavigram {

namespace {

// A cell with less of the cavity than this is a sliver that no foam would find.
constexpr double kSliver = 0.02;
// A face that is open by less than this passes nothing: foam behind it would press without end.
constexpr double kPinhole = 1e-3;
constexpr std::size_t kLeastCells = 1'000;
constexpr std::size_t kMostCells = 8'000'000;
constexpr std::size_t kMostBox = 400'000'000;  // 6 GB of tables; far more than a part's box takes

std::size_t box_index(const CellPlace& count, const CellPlace& p) {
    return static_cast<std::size_t>(p[0]) +
           static_cast<std::size_t>(count[0]) *
               (static_cast<std::size_t>(p[1]) +
                static_cast<std::size_t>(count[1]) * static_cast<std::size_t>(p[2]));
}

// Keeps the voxels that hold enough, and links them.
RiseGrid kept_cells(const CellPlace& count, double spacing_mm, const std::vector<double>& share,
                    const std::vector<std::array<double, 3>>& open, double least_share) {
    RiseGrid grid;
    grid.count = count;
    grid.spacing_mm = spacing_mm;
    const double whole = spacing_mm * spacing_mm * spacing_mm;
    std::vector<std::int32_t> number(share.size(), -1);
    for (std::int32_t z = 0; z < count[2]; ++z) {
        for (std::int32_t y = 0; y < count[1]; ++y) {
            for (std::int32_t x = 0; x < count[0]; ++x) {
                const std::size_t v = box_index(count, {x, y, z});
                if (!(share[v] > 0.0)) {
                    continue;
                }
                if (share[v] < least_share) {
                    grid.left_out_mm3 += share[v] * whole;
                    continue;
                }
                number[v] = static_cast<std::int32_t>(grid.place.size());
                grid.place.push_back({x, y, z});
                grid.volume_mm3.push_back(share[v] * whole);
            }
        }
    }
    grid.neighbor.assign(grid.size(), {-1, -1, -1, -1, -1, -1});
    grid.open_share.assign(grid.size(), {0.0, 0.0, 0.0});
    for (std::size_t c = 0; c < grid.size(); ++c) {
        const std::size_t v = box_index(count, grid.place[c]);
        for (std::size_t axis = 0; axis < 3; ++axis) {
            CellPlace next = grid.place[c];
            if (++next[axis] >= count[axis] || !(open[v][axis] > kPinhole)) {
                continue;
            }
            const std::int32_t n = number[box_index(count, next)];
            if (n >= 0) {
                grid.neighbor[c][2 * axis + 1] = n;
                grid.neighbor[static_cast<std::size_t>(n)][2 * axis] = static_cast<std::int32_t>(c);
                grid.open_share[c][axis] = open[v][axis];
            }
        }
    }
    return grid;
}

// Shares of voxels and faces, from a cut with several columns along each side of a cell.
class Voxelizer {
  public:
    Voxelizer(const ColumnCut& cut, int columns, double floor_mm, const CellPlace& count)
        : columns_(columns),
          floor_mm_(floor_mm),
          spacing_mm_(columns * cut.spacing_mm),
          count_(count) {
        const std::size_t size = static_cast<std::size_t>(count[0]) *
                                 static_cast<std::size_t>(count[1]) *
                                 static_cast<std::size_t>(count[2]);
        share.assign(size, 0.0);
        open.assign(size, {0.0, 0.0, 0.0});
        std::vector<Stretches> row = row_of(cut, 0);
        for (int y = 0; y < cut.count_y; ++y) {
            std::vector<Stretches> next;
            if (y + 1 < cut.count_y) {
                next = row_of(cut, y + 1);
            }
            for (int x = 0; x < cut.count_x; ++x) {
                const Stretches& here = row[static_cast<std::size_t>(x)];
                for (const ColumnStretch& s : here) {
                    fill(x, y, s);
                }
                if (last_of_cell(x) && x + 1 < cut.count_x) {
                    pass(x, y, 0, here, row[static_cast<std::size_t>(x) + 1]);
                }
                if (last_of_cell(y) && y + 1 < cut.count_y) {
                    pass(x, y, 1, here, next[static_cast<std::size_t>(x)]);
                }
            }
            row = std::move(next);
        }
    }

    std::vector<double> share;
    std::vector<std::array<double, 3>> open;

  private:
    using Stretches = std::vector<ColumnStretch>;

    [[nodiscard]] static std::vector<Stretches> row_of(const ColumnCut& cut, int y) {
        std::vector<Stretches> row;
        row.reserve(static_cast<std::size_t>(cut.count_x));
        for (int x = 0; x < cut.count_x; ++x) {
            row.push_back(cut.inside(x, y));
        }
        return row;
    }
    [[nodiscard]] bool last_of_cell(int i) const { return i % columns_ == columns_ - 1; }
    [[nodiscard]] std::int32_t layer(double height_mm) const {
        const auto k = static_cast<std::int32_t>(std::floor((height_mm - floor_mm_) / spacing_mm_));
        return std::clamp(k, 0, count_[2] - 1);
    }
    // How much of a layer lies between two heights, as a share.
    [[nodiscard]] double overlap(std::int32_t k, double from, double to) const {
        const double bottom = floor_mm_ + k * spacing_mm_;
        return std::max(0.0, std::min(to, bottom + spacing_mm_) - std::max(from, bottom)) /
               spacing_mm_;
    }
    void fill(int x, int y, const ColumnStretch& s) {
        const double part = 1.0 / (columns_ * columns_);
        const std::int32_t last = layer(s.to_mm);
        for (std::int32_t k = layer(s.from_mm); k <= last; ++k) {
            const std::size_t v = box_index(count_, {x / columns_, y / columns_, k});
            share[v] += part * overlap(k, s.from_mm, s.to_mm);
            const double ceiling = floor_mm_ + (k + 1) * spacing_mm_;
            if (s.from_mm < ceiling && ceiling < s.to_mm) {
                open[v][2] += part;
            }
        }
    }
    // What two columns on either side of a face have in common.
    void pass(int x, int y, std::size_t axis, const Stretches& here, const Stretches& there) {
        for (const ColumnStretch& a : here) {
            for (const ColumnStretch& b : there) {
                const double from = std::max(a.from_mm, b.from_mm);
                const double to = std::min(a.to_mm, b.to_mm);
                if (!(from < to)) {
                    continue;
                }
                const std::int32_t last = layer(to);
                for (std::int32_t k = layer(from); k <= last; ++k) {
                    open[box_index(count_, {x / columns_, y / columns_, k})][axis] +=
                        overlap(k, from, to) / columns_;
                }
            }
        }
    }

    int columns_ = 2;
    double floor_mm_ = 0.0;
    double spacing_mm_ = 0.0;
    CellPlace count_{};
};

// The edge at which about so many cells hold some of the cavity: V/h^3 within, and about half of
// the area/h^2 that the walls cut.
double edge_for(double volume_mm3, double area_mm2, std::size_t cells) {
    double low = 0.0;
    double high = std::cbrt(volume_mm3) + std::sqrt(area_mm2);
    for (int i = 0; i < 80; ++i) {
        const double h = 0.5 * (low + high);
        const double count = volume_mm3 / (h * h * h) + 0.5 * area_mm2 / (h * h);
        (count > static_cast<double>(cells) ? low : high) = h;
    }
    return high;
}

double area_of(const TriMesh& mesh) {
    CompensatedSum area;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        area.add(0.5 * (mesh.corner(t, 1) - mesh.corner(t, 0))
                           .cross(mesh.corner(t, 2) - mesh.corner(t, 0))
                           .norm());
    }
    return area.value();
}

// Columns along the side of a cell: some eight through walls that are thinner than nine tenths of
// the surface, so that these pass foam as wide as they are.
int columns_for(const ThicknessMap& thickness, double edge_mm) {
    constexpr double kThinShare = 0.1;
    constexpr double kThrough = 8.0;
    constexpr int kLeast = 2;
    constexpr int kMost = 16;
    const double thin = thickness_quantile_mm(thickness, kThinShare);
    return thin > 0.0 ? static_cast<int>(std::clamp(std::ceil(kThrough * edge_mm / thin),
                                                    double{kLeast}, double{kMost}))
                      : kLeast;
}

// Columns for that edge, no more than the room allows in either way.
ColumnCut cut_for(const TriMesh& mesh, const Frame& frame, double edge_mm, int& columns,
                  const RunContext& context) {
    Vec3 low = Vec3::Constant(std::numeric_limits<double>::max());
    Vec3 high = -low;
    for (const Vec3& p : mesh.vertices) {
        low = low.cwiseMin(frame.local(p));
        high = high.cwiseMax(frame.local(p));
    }
    const double longest = std::max(high.x() - low.x(), high.y() - low.y());
    constexpr int kMostAcross = 4096;
    const int cells = std::max(1, static_cast<int>(std::lround(longest / edge_mm)));
    columns = std::clamp(columns, 1, std::max(1, kMostAcross / cells));
    const int across = std::min(cells * columns, kMostAcross);
    return cut_columns(mesh, frame.z, {.across = across}, context);
}

}  // namespace

Vec3 RiseGrid::center_mm(std::size_t cell) const {
    const CellPlace& p = place[cell];
    return frame.world(corner_mm + spacing_mm * Vec3(p[0] + 0.5, p[1] + 0.5, p[2] + 0.5));
}

double RiseGrid::total_mm3() const {
    CompensatedSum sum;
    for (const double volume : volume_mm3) {
        sum.add(volume);
    }
    return sum.value();
}

CellFinder::CellFinder(const RiseGrid& grid) : grid_(grid) {
    cell_.assign(static_cast<std::size_t>(grid.count[0]) * static_cast<std::size_t>(grid.count[1]) *
                     static_cast<std::size_t>(grid.count[2]),
                 -1);
    for (std::size_t c = 0; c < grid.size(); ++c) {
        cell_[box_index(grid.count, grid.place[c])] = static_cast<std::int32_t>(c);
    }
}

std::int32_t CellFinder::at(const CellPlace& place) const {
    for (std::size_t axis = 0; axis < 3; ++axis) {
        if (place[axis] < 0 || place[axis] >= grid_.count[axis]) {
            return -1;
        }
    }
    return cell_[box_index(grid_.count, place)];
}

std::int32_t CellFinder::nearest(const Vec3& point_mm, int reach) const {
    const Vec3 at_cell = (grid_.frame.local(point_mm) - grid_.corner_mm) / grid_.spacing_mm;
    const CellPlace home{static_cast<std::int32_t>(std::floor(at_cell.x())),
                         static_cast<std::int32_t>(std::floor(at_cell.y())),
                         static_cast<std::int32_t>(std::floor(at_cell.z()))};
    const std::int32_t own = at(home);
    if (own >= 0) {
        return own;
    }
    std::int32_t best = -1;
    double least = std::numeric_limits<double>::max();
    for (std::int32_t z = -reach; z <= reach; ++z) {
        for (std::int32_t y = -reach; y <= reach; ++y) {
            for (std::int32_t x = -reach; x <= reach; ++x) {
                const CellPlace place{home[0] + x, home[1] + y, home[2] + z};
                const std::int32_t cell = at(place);
                if (cell < 0) {
                    continue;
                }
                const double far =
                    (Vec3(place[0] + 0.5, place[1] + 0.5, place[2] + 0.5) - at_cell).squaredNorm();
                if (far < least) {
                    least = far;
                    best = cell;
                }
            }
        }
    }
    return best;
}

namespace {

// Of each voxel's upper faces the smaller of the two shares.
std::vector<std::array<double, 3>> faces_between(const CellPlace& count,
                                                 const std::vector<double>& share) {
    std::vector<std::array<double, 3>> open(share.size(), {0.0, 0.0, 0.0});
    for (std::int32_t z = 0; z < count[2]; ++z) {
        for (std::int32_t y = 0; y < count[1]; ++y) {
            for (std::int32_t x = 0; x < count[0]; ++x) {
                const CellPlace here{x, y, z};
                for (std::size_t axis = 0; axis < 3; ++axis) {
                    CellPlace next = here;
                    if (++next[axis] < count[axis]) {
                        open[box_index(count, here)][axis] =
                            std::min(share[box_index(count, here)], share[box_index(count, next)]);
                    }
                }
            }
        }
    }
    return open;
}

}  // namespace

RiseGrid voxel_grid(const RiseVoxels& voxels) {
    const std::size_t size = static_cast<std::size_t>(voxels.count[0]) *
                             static_cast<std::size_t>(voxels.count[1]) *
                             static_cast<std::size_t>(voxels.count[2]);
    std::vector<double> share = voxels.share;
    if (share.empty()) {
        share.assign(size, 1.0);
    }
    if (share.size() != size || voxels.permeability_mm2.size() != size ||
        (!voxels.open_share.empty() && voxels.open_share.size() != size)) {
        throw InvalidInput("A box of voxels needs one value for each voxel.");
    }
    const std::vector<std::array<double, 3>> open =
        voxels.open_share.empty() ? faces_between(voxels.count, share) : voxels.open_share;
    RiseGrid grid = kept_cells(voxels.count, voxels.spacing_mm, share, open, 0.0);
    grid.corner_mm = voxels.corner_mm;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        const double k = voxels.permeability_mm2[box_index(voxels.count, grid.place[c])];
        grid.permeability_mm2.push_back(k);
        grid.gap_mm.push_back(std::sqrt(12.0 * k));
    }
    detail::find_conductances(grid);
    return grid;
}

RiseGrid rise_grid(const TriMesh& mesh, const Vec3& up, const ThicknessMap& thickness,
                   double volume_mm3, const RiseGridOptions& options, const RunContext& context) {
    if (options.cells < kLeastCells || options.cells > kMostCells) {
        throw InvalidInput(fmt::format("The rise is followed on {} to {} cells, not on {}.",
                                       kLeastCells, kMostCells, options.cells));
    }
    const Frame frame = frame_along(up);
    const double edge = edge_for(volume_mm3, area_of(mesh), options.cells);
    int columns = columns_for(thickness, edge);
    const ColumnCut cut = cut_for(mesh, frame, edge, columns, context);
    double floor_mm = std::numeric_limits<double>::max();
    double top_mm = std::numeric_limits<double>::lowest();
    for (const ColumnPiece& piece : cut.pieces) {
        floor_mm = std::min(floor_mm, piece.from_mm);
        top_mm = std::max(top_mm, piece.to_mm);
    }
    const double spacing = columns * cut.spacing_mm;
    const CellPlace count{
        (cut.count_x + columns - 1) / columns, (cut.count_y + columns - 1) / columns,
        std::max(1, static_cast<std::int32_t>(std::ceil((top_mm - floor_mm) / spacing)))};
    const double box = static_cast<double>(count[0]) * count[1] * count[2];
    if (cut.pieces.empty() || box > static_cast<double>(kMostBox)) {
        throw InvalidInput(
            "The part is too thin for its size to be cut into so many cells; ask "
            "for fewer.");
    }
    const Voxelizer voxels(cut, columns, floor_mm, count);
    RiseGrid grid = kept_cells(count, spacing, voxels.share, voxels.open, kSliver);
    grid.frame = cut.frame;
    grid.corner_mm = {cut.corner_mm.x(), cut.corner_mm.y(), floor_mm};
    if (grid.place.empty()) {
        throw InvalidInput("The part is thinner than any cell all over; ask for more cells.");
    }
    // What fell between the columns, and the slivers, spread evenly: the mass must close.
    const double scale = volume_mm3 / grid.total_mm3();
    for (double& volume : grid.volume_mm3) {
        volume *= scale;
    }
    detail::find_gaps(grid, mesh, thickness);
    detail::find_conductances(grid);
    return grid;
}

}  // namespace cavigram
