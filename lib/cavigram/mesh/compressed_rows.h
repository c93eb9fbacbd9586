// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Lists of numbers, one after the other in one array: row i is `items[first[i]]` up to, without,
/// `items[first[i + 1]]`.
struct CompressedRows {
    std::vector<std::int32_t> first;  ///< One more than rows.
    std::vector<std::int32_t> items;  ///< Of all rows, one row after the other.

    /// How many rows.
    [[nodiscard]] std::size_t size() const { return first.empty() ? 0 : first.size() - 1; }
    /// One row.
    [[nodiscard]] std::span<const std::int32_t> operator[](std::size_t row) const {
        const auto begin = static_cast<std::size_t>(first[row]);
        return {items.data() + begin, static_cast<std::size_t>(first[row + 1]) - begin};
    }
};

/// Items 0 to n-1 by the row that each belongs to, rising in each row; -1 belongs to none. O(n).
///
/// \pre rows of items below `rows`
[[nodiscard]] CompressedRows by_row(const std::vector<std::int32_t>& row_of_item, std::size_t rows);

/// The triangles at each vertex, rising; a triangle that repeats a vertex stands there as often.
/// O(n).
[[nodiscard]] CompressedRows triangles_at_vertices(const TriMesh& mesh);

}  // namespace cavigram
