// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/part.h"

#include <doctest/doctest.h>

#include "cavigram/core/error.h"
#include "cavigram/mesh/solids.h"

using namespace cavigram;

TEST_CASE("a part is closed and outward, or it is none") {
    const Part part = part_from_closed(torus_solid(50, 15, 40).mesh);
    CHECK(part.verdict() == Verdict::sound);
    CHECK(part.shells().count == 1);
    CHECK(part.adjacent().closed());
    CHECK(part.volume_below_mm3() == 0.0);

    TriMesh open = box_solid(1, 1, 1).mesh;
    open.triangles.pop_back();
    CHECK_THROWS_AS(static_cast<void>(part_from_closed(open)), UnusableInput);
    CHECK_THROWS_AS(static_cast<void>(part_from_closed(flipped(box_solid(1, 1, 1).mesh))),
                    UnusableInput);
    CHECK_THROWS_AS(static_cast<void>(part_from_closed(TriMesh{})), UnusableInput);
}
