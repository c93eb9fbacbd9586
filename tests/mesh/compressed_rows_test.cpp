// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/compressed_rows.h"

#include <random>

#include <doctest/doctest.h>

#include "cavigram/mesh/solids.h"

using namespace cavigram;

TEST_CASE("items by row, against lists that are filled one by one") {
    std::mt19937 bits(11);  // fixed seed
    constexpr std::size_t kRows = 17;
    std::vector<std::int32_t> row_of_item;
    std::vector<std::vector<std::int32_t>> lists(kRows);
    for (std::int32_t i = 0; i < 500; ++i) {
        const auto row = static_cast<std::int32_t>(bits() % (kRows + 1)) - 1;
        row_of_item.push_back(row);
        if (row >= 0) {
            lists[static_cast<std::size_t>(row)].push_back(i);
        }
    }
    const CompressedRows rows = by_row(row_of_item, kRows);
    REQUIRE(rows.size() == kRows);
    for (std::size_t r = 0; r < kRows; ++r) {
        CHECK(std::vector<std::int32_t>(rows[r].begin(), rows[r].end()) == lists[r]);
    }
    CHECK(by_row({}, 3)[2].empty());
    CHECK(CompressedRows().size() == 0);
}

TEST_CASE("the triangles at a vertex are those that name it") {
    const TriMesh mesh = sphere_solid(10, 12).mesh;
    const CompressedRows at = triangles_at_vertices(mesh);
    REQUIRE(at.size() == mesh.vertices.size());
    CHECK(at.items.size() == 3 * mesh.triangles.size());
    for (std::size_t v = 0; v < at.size(); ++v) {
        for (const std::int32_t t : at[v]) {
            const Triangle& corners = mesh.triangles[static_cast<std::size_t>(t)];
            CHECK(std::count(corners.begin(), corners.end(), static_cast<std::int32_t>(v)) == 1);
        }
    }
}
