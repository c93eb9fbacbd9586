// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/orient.h"

#include <cmath>
#include <cstdint>
#include <random>

#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

namespace {

__extension__ using Wide = __int128;

// Oracle: coordinates are whole numbers times one power of two, so 128-bit integers hold the
// determinant exactly.
int integer_orient(const std::int64_t (&v)[6]) {
    const Wide left = (static_cast<Wide>(v[0]) - v[4]) * (static_cast<Wide>(v[3]) - v[5]);
    const Wide right = (static_cast<Wide>(v[1]) - v[5]) * (static_cast<Wide>(v[2]) - v[4]);
    return left > right ? 1 : left < right ? -1 : 0;
}

}  // namespace

TEST_CASE("orient is exact on points that are nearly or truly on one line") {
    std::mt19937_64 random(11);  // fixed seed
    int on_line = 0;
    for (int round = 0; round < 20000; ++round) {
        // a, b anywhere in 52 bits; p near the line between them, at a distance of a few last
        // places.
        std::int64_t v[6];
        for (int i = 0; i < 4; ++i) {
            v[i] = static_cast<std::int64_t>(random() >> 12);
        }
        const double share = static_cast<double>(random() >> 11) * 0x1p-53;
        for (int i = 0; i < 2; ++i) {
            v[4 + i] = v[i] +
                       static_cast<std::int64_t>(share * static_cast<double>(v[2 + i] - v[i])) +
                       static_cast<std::int64_t>(random() % 3) - 1;
        }
        if (round % 4 == 0) {
            v[4] = (v[0] + v[2]) / 2;
            v[5] = (v[1] + v[3]) / 2;
        }
        const auto at = [&](int i) {
            return Vec2(static_cast<double>(v[i]) * 0x1p-40,
                        static_cast<double>(v[i + 1]) * 0x1p-40);
        };
        const int expected = integer_orient(v);
        on_line += expected == 0 ? 1 : 0;
        CHECK(orient(at(0), at(2), at(4)) == expected);
        CHECK(side(at(0), at(2), at(4)) == -side(at(2), at(0), at(4)));
        CHECK((expected == 0 || side(at(0), at(2), at(4)) == expected));
    }
    CHECK(on_line > 500);
}

TEST_CASE(
    "every point of the plane is covered by a closed surface as often from above as from below") {
    // Points on projected corners and edges of a cube, where a careless test counts twice or not at
    // all.
    const TriMesh cube = box_solid(2.0, 2.0, 2.0).mesh;
    for (double x = -0.5; x <= 2.5; x += 0.25) {
        for (double y = -0.5; y <= 2.5; y += 0.25) {
            int up = 0;
            int down = 0;
            for (std::size_t t = 0; t < cube.triangles.size(); ++t) {
                const int covered =
                    triangle_winding(cube.corner(t, 0).head<2>(), cube.corner(t, 1).head<2>(),
                                     cube.corner(t, 2).head<2>(), Vec2(x, y));
                up += covered > 0 ? 1 : 0;
                down += covered < 0 ? 1 : 0;
            }
            // Half-open: a point on the left or lower border is moved in, one on the right or upper
            // border out.
            const int expected = x >= 0.0 && x < 2.0 && y >= 0.0 && y < 2.0 ? 1 : 0;
            CHECK(up == expected);
            CHECK(down == expected);
        }
    }
}
