// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/duplicates.h"

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("repeats go, folds go in pairs, the rest stays in order") {
    TriMesh mesh;
    mesh.vertices = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 1, 1}};
    mesh.triangles = {{0, 1, 2}, {0, 1, 3}, {1, 2, 0}, {3, 4, 0},
                      {4, 3, 0}, {1, 0, 3}, {0, 1, 3}, {1, 2, 4}};
    const DuplicateRemoval removal = remove_duplicates(mesh);
    CHECK(removal.repeated ==
          std::vector<std::int32_t>{2, 5,
                                    6});  // 5 runs against 1 and 6, which leaves one of the three
    CHECK(removal.folded == std::vector<std::int32_t>{3, 4});
    CHECK(removal.mesh.triangles == std::vector<Triangle>{{0, 1, 2}, {0, 1, 3}, {1, 2, 4}});
}
