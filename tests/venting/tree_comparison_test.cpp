// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/tree_comparison.h"

#include <cmath>

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

// Random cubes whose solid and hollow touch nowhere in only an edge or a corner: columns could not
// tell whether such hang together.
std::vector<bool> cubes_without_pinches(int n, std::uint32_t seed) {
    std::mt19937 random(seed);
    std::vector<bool> filled(std::size_t(n * n * n), false);
    const auto at = [&](int x, int y, int z) {
        return x >= 0 && y >= 0 && z >= 0 && x < n && y < n && z < n &&
               filled[std::size_t(x + n * (y + n * z))];
    };
    // Whether the cubes of a 2 x 2 x 2 block that are in `set` hang together over faces.
    const auto connected = [](unsigned set) {
        unsigned seen = set & (~set + 1U);
        for (unsigned before = 0; before != seen;) {
            before = seen;
            for (unsigned i = 0; i < 8; ++i) {
                for (unsigned axis = 0; (seen >> i & 1U) != 0 && axis < 3; ++axis) {
                    seen |= set & 1U << (i ^ 1U << axis);
                }
            }
        }
        return seen == set;
    };
    const auto pinched_about = [&](int cx, int cy, int cz) {
        for (int k = 0; k < 8; ++k) {
            unsigned set = 0;
            for (int i = 0; i < 8; ++i) {
                const bool in = at(cx - (k & 1) + (i & 1), cy - (k >> 1 & 1) + (i >> 1 & 1),
                                   cz - (k >> 2 & 1) + (i >> 2 & 1));
                set |= in ? 1U << i : 0U;
            }
            if (!connected(set) || !connected(255U & ~set)) {
                return true;
            }
        }
        return false;
    };
    for (int step = 0; step < 8 * n * n * n; ++step) {
        const auto draw = [&] { return static_cast<int>(random() % static_cast<unsigned>(n)); };
        const int x = draw();
        const int y = draw();
        const int z = draw();
        const auto cell = std::size_t(x + n * (y + n * z));
        const bool before = filled[cell];
        filled[cell] = random() % 100 < 55;
        if (filled[cell] != before && pinched_about(x, y, z)) {
            filled[cell] = before;
        }
    }
    return filled;
}

}  // namespace

TEST_CASE("columns that fit the cubes give the very volumes") {
    struct Row {
        Solid solid;
        int columns;  // a whole number to each cube
        std::vector<double> pieces;
    };
    const std::vector<Row> rows = {
        {two_towers(), 192, {3.0}}, {u_arms(), 120, {36.0}}, {stalagmite(), 160, {24.0}}};
    for (const Row& row : rows) {
        const ColumnTree tree = column_tree(row.solid.mesh, Vec3::UnitZ(), {row.columns});
        CHECK_NEAR(tree.volume_mm3, row.solid.volume_mm3, 1e-12);
        const AirTreeBuilder solid(row.solid.mesh);
        const TreeComparison with = compare(solid, solid.build(Vec3::UnitZ()), tree, 0.01);
        CHECK(with.only_exact == 0);
        CHECK(with.only_columns == 0);
        CHECK(with.largest_mm3 < 1e-9);
        REQUIRE(with.pairs.size() == row.pieces.size());
        for (std::size_t i = 0; i < row.pieces.size(); ++i) {
            CHECK_NEAR(with.pairs[i].column_mm3, row.pieces[i], 1e-11);
        }
    }
}

TEST_CASE("both trees agree on random cubes") {
    constexpr int n = 5;
    std::size_t pairs = 0;
    for (std::uint32_t seed = 1000; seed < 1060; ++seed) {
        CAPTURE(seed);
        std::mt19937 random(seed);
        const Solid solid_shape =
            blocks(n, n, n, [&](int, int, int) { return random() % 100 < 35 + 10 * (seed % 3); });
        const AirTreeBuilder solid(solid_shape.mesh);
        for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, -1, 0)}) {
            // 60 columns are a whole number to each cube for any side from 1 to 5.
            const ColumnTree columns = column_tree(solid_shape.mesh, up, {60});
            const AirTree exact = solid.build(up);
            CHECK_NEAR(columns.volume_mm3, exact.volume_mm3, 1e-11);
            CHECK(columns.roots.size() == exact.roots.size());
            const TreeComparison with = compare(solid, exact, columns, 0.5);
            CHECK(with.largest_mm3 < 1e-9);
            CHECK(with.only_exact + with.only_columns == 0);
            pairs += with.pairs.size();
        }
    }
    CHECK(pairs > 100);
}

TEST_CASE("the column tree converges to the surface tree") {
    // Pockets differ by about the saddle's section times its height error, which falls with the
    // spacing; the mean over many pockets shows the order.
    const TriMesh mesh = bumpy_ball(50, 5, 9, 0.25, 0.0, 1);
    const AirTreeBuilder solid(mesh);
    const std::vector<Vec3> ups = sphere_directions(6);
    std::vector<double> mean;
    for (const int n : {32, 128, 512}) {
        CAPTURE(n);
        double sum = 0.0;
        std::size_t pairs = 0;
        for (const Vec3& up : ups) {
            const AirTree exact = solid.build(up);
            const TreeComparison with = compare(solid, exact, column_tree(mesh, up, {n}), 100.0);
            pairs += with.pairs.size();
            for (const PiecePair& pair : with.pairs) {
                sum += std::abs(pair.column_mm3 - pair.exact_mm3);
                if (n == 512) {
                    CHECK((pair.column_peak_mm - pair.exact_peak_mm).norm() < 1.5);
                }
            }
            if (n >= 128) {
                CHECK(with.only_exact == 0);
                CHECK(with.only_columns == 0);
            }
            if (n == 512) {
                CHECK(with.largest_mm3 < 1e-4 * exact.volume_mm3);
                CHECK(std::abs(with.volume_mm3) < 1e-4 * exact.volume_mm3);
            }
        }
        CHECK(pairs > (n >= 128 ? 20 : 5));
        mean.push_back(sum / static_cast<double>(pairs));
    }
    CAPTURE(mean[0]);
    CAPTURE(mean[1]);
    CAPTURE(mean[2]);
    // First order: each time a quarter of the spacing, so about a quarter of the difference.
    CHECK(mean[1] < mean[0] / 2.5);
    CHECK(mean[2] < mean[1] / 2.5);
}

TEST_CASE("both trees agree on cubes askew, level edges and faces included") {
    constexpr int n = 6;
    std::size_t pairs = 0;
    double sum = 0.0;
    for (std::uint32_t seed = 0; seed < 8; ++seed) {
        CAPTURE(seed);
        const Solid cubes = polycube_solid(cubes_without_pinches(n, seed), n, n, n);
        const AirTreeBuilder solid(cubes.mesh);
        for (const Vec3& up : {Vec3(1, 1, 0), Vec3(0.3, 0.2, 0.9), Vec3(1, 1, 1)}) {
            const TreeComparison with =
                compare(solid, solid.build(up), column_tree(cubes.mesh, up, {250}), 0.3);
            CHECK(with.only_exact == 0);
            CHECK(with.only_columns == 0);
            // A spacing of 1/25 to 1/35 of a cube times a section of a dozen faces.
            CHECK(with.largest_mm3 < 0.5);
            pairs += with.pairs.size();
            for (const PiecePair& pair : with.pairs) {
                sum += std::abs(pair.column_mm3 - pair.exact_mm3);
            }
        }
    }
    CHECK(pairs > 60);
    CHECK(sum / static_cast<double>(pairs) < 0.04);
}
