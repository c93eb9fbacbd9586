// SPDX-License-Identifier: GPL-3.0-or-later
// Writes what gudhi_test.py compares: the column tree's intervals and the peaks and saddles of both
// trees, heights in full precision.
//
// Usage: air_dump [--cubes] PART COLUMNS x,y,z...
//   --cubes: of the part as a heap of unit cubes, upright: those whose middle lies in a column's
//   interval. The columns then fit the cubes.
//
//   part TRIANGLES CROSSING_PAIRS
//   up X Y Z SPACING COLUMN_VOLUME VOLUME  for each direction, then
//   i X Y TOP BOTTOM                       an interval of column (X, Y)
//   c PEAK SADDLE VOLUME                   a peak of the column tree and where it joins a higher
//   one e PEAK SADDLE VOLUME                   the same of the surface tree
// The saddle of a whole solid is -inf.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <exception>
#include <limits>
#include <vector>

#include "cavigram/io/mesh_reader.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/repair/mend.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/column_tree.h"

using namespace cavigram;

namespace {

void pairs(char mark, const std::vector<AirTree::Arc>& arcs) {
    for (const AirTree::Arc& arc : arcs) {
        const bool root = arc.parent < 0;
        if (root || arcs[static_cast<std::size_t>(arc.parent)].peak_vertex != arc.peak_vertex) {
            std::printf("%c %.17g %.17g %.17g\n", mark, arc.peak_height_mm,
                        root ? -std::numeric_limits<double>::infinity() : arc.saddle_height_mm,
                        arc.volume_mm3);
        }
    }
}

void dump(const TriMesh& mesh, const AirTree& tree, const ColumnOptions& options) {
    const ColumnTree columns = column_tree(mesh, tree.up, options);
    std::printf("up %.17g %.17g %.17g %.17g %.17g %.17g\n", tree.up.x(), tree.up.y(), tree.up.z(),
                columns.spacing_mm, columns.volume_mm3, tree.volume_mm3);
    for (const ColumnInterval& c : columns.intervals) {
        std::printf("i %d %d %.17g %.17g\n", c.x, c.y, c.top_height_mm, c.bottom_height_mm);
    }
    pairs('c', columns.arcs);
    pairs('e', tree.arcs);
}

// The heap of cubes, cut to its own bounding box.
void dump_cubes(const ColumnTree& columns) {
    std::array<int, 3> low = {1 << 30, 1 << 30, 1 << 30};
    std::array<int, 3> high = {-(1 << 30), -(1 << 30), -(1 << 30)};
    std::vector<std::array<int, 3>> cubes;
    for (const ColumnInterval& c : columns.intervals) {
        const double h = columns.spacing_mm;
        for (int z = static_cast<int>(std::ceil(c.bottom_height_mm / h - 0.5));
             (z + 0.5) * h < c.top_height_mm; ++z) {
            cubes.push_back({c.x, c.y, z});
            for (std::size_t i = 0; i < 3; ++i) {
                low[i] = std::min(low[i], cubes.back()[i]);
                high[i] = std::max(high[i], cubes.back()[i]);
            }
        }
    }
    const int nx = high[0] - low[0] + 1;
    const int ny = high[1] - low[1] + 1;
    const int nz = high[2] - low[2] + 1;
    std::vector<bool> filled(static_cast<std::size_t>(nx) * ny * nz, false);
    for (const std::array<int, 3>& c : cubes) {
        filled[static_cast<std::size_t>(c[0] - low[0]) +
               static_cast<std::size_t>(nx) *
                   (static_cast<std::size_t>(c[1] - low[1]) +
                    static_cast<std::size_t>(ny) * static_cast<std::size_t>(c[2] - low[2]))] = true;
    }
    const Solid heap = polycube_solid(filled, nx, ny, nz);
    dump(heap.mesh, air_tree(heap.mesh, Vec3::UnitZ()), {.columns = std::max({nx, ny, 2})});
}

}  // namespace

int main(int argc, char** argv) try {
    const bool cubes = argc > 1 && std::strcmp(argv[1], "--cubes") == 0;
    const int first = cubes ? 2 : 1;
    if (argc < first + 3) {
        return 2;
    }
    const Part part = mend(read_mesh(argv[first]).mesh).part;
    const AirTreeBuilder solid(part);
    const ColumnOptions options{.columns = std::atoi(argv[first + 1])};
    std::printf("part %zu %zu\n", part.mesh().triangles.size(), part.crossings().size());
    for (int i = first + 2; i < argc; ++i) {
        Vec3 up;
        if (std::sscanf(argv[i], "%lf,%lf,%lf", &up.x(), &up.y(), &up.z()) != 3) {
            return 2;
        }
        if (cubes) {
            dump_cubes(column_tree(part.mesh(), up, options));
        } else {
            dump(part.mesh(), solid.build(up), options);
        }
    }
    return 0;
} catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 3;
}
