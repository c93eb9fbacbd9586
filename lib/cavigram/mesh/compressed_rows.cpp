// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/compressed_rows.h"

namespace cavigram {

namespace {

// Counting sort: `row(k)` of `count` items, each filed as `item(k)`.
template <class RowOf, class ItemOf>
CompressedRows filed(std::size_t count, std::size_t rows, const RowOf& row, const ItemOf& item) {
    CompressedRows result;
    result.first.assign(rows + 1, 0);
    for (std::size_t k = 0; k < count; ++k) {
        if (row(k) >= 0) {
            ++result.first[static_cast<std::size_t>(row(k)) + 1];
        }
    }
    for (std::size_t r = 0; r < rows; ++r) {
        result.first[r + 1] += result.first[r];
    }
    result.items.resize(static_cast<std::size_t>(result.first.back()));
    std::vector<std::int32_t> next(result.first.begin(), result.first.end() - 1);
    for (std::size_t k = 0; k < count; ++k) {
        if (row(k) >= 0) {
            result.items[static_cast<std::size_t>(next[static_cast<std::size_t>(row(k))]++)] =
                item(k);
        }
    }
    return result;
}

}  // namespace

CompressedRows by_row(const std::vector<std::int32_t>& row_of_item, std::size_t rows) {
    return filed(
        row_of_item.size(), rows, [&](std::size_t k) { return row_of_item[k]; },
        [](std::size_t k) { return static_cast<std::int32_t>(k); });
}

CompressedRows triangles_at_vertices(const TriMesh& mesh) {
    return filed(
        3 * mesh.triangles.size(), mesh.vertices.size(),
        [&](std::size_t k) { return mesh.triangles[k / 3][k % 3]; },
        [](std::size_t k) { return static_cast<std::int32_t>(k / 3); });
}

}  // namespace cavigram
