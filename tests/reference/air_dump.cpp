// SPDX-License-Identifier: GPL-3.0-or-later
// Writes what gudhi_test.py compares: the column tree's intervals and the peaks and saddles of both
// trees, heights in full precision.
//
// Usage: air_dump PART COLUMNS x,y,z...
//   part TRIANGLES CROSSING_PAIRS
//   up X Y Z SPACING COLUMN_VOLUME VOLUME  for each direction, then
//   i X Y TOP BOTTOM                       an interval of column (X, Y)
//   c PEAK SADDLE VOLUME                   a peak of the column tree and where it joins a higher one
//   e PEAK SADDLE VOLUME                   the same of the surface tree
// The saddle of a whole solid is -inf.
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <limits>

#include "cavigram/io/mesh_reader.h"
#include "cavigram/repair/mend.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/column_tree.h"

using namespace cavigram;

namespace {

void pairs(char mark, const std::vector<AirTree::Arc>& arcs) {
    for (const AirTree::Arc& arc : arcs) {
        const bool root = arc.parent < 0;
        if (root ||
            arcs[static_cast<std::size_t>(arc.parent)].peak_vertex != arc.peak_vertex) {
            std::printf("%c %.17g %.17g %.17g\n", mark, arc.peak_height_mm,
                        root ? -std::numeric_limits<double>::infinity() : arc.saddle_height_mm,
                        arc.volume_mm3);
        }
    }
}

}  // namespace

int main(int argc, char** argv) try {
    if (argc < 4) {
        return 2;
    }
    const Part part = mend(read_mesh(argv[1]).soup);
    const AirTreeBuilder solid(part);
    std::printf("part %zu %zu\n", part.mesh().triangles.size(), part.crossings().size());
    for (int i = 3; i < argc; ++i) {
        Vec3 up;
        if (std::sscanf(argv[i], "%lf,%lf,%lf", &up.x(), &up.y(), &up.z()) != 3) {
            return 2;
        }
        const AirTree tree = solid.build(up);
        const ColumnTree columns =
            column_tree(part.mesh(), up, {.columns = std::atoi(argv[2])});
        std::printf("up %.17g %.17g %.17g %.17g %.17g %.17g\n", tree.up.x(), tree.up.y(),
                    tree.up.z(), columns.spacing_mm, columns.volume_mm3, tree.volume_mm3);
        for (const ColumnInterval& c : columns.intervals) {
            std::printf("i %d %d %.17g %.17g\n", c.x, c.y, c.top_height_mm, c.bottom_height_mm);
        }
        pairs('c', columns.arcs);
        pairs('e', tree.arcs);
    }
    return 0;
} catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 3;
}
