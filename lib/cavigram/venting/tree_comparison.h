// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/column_tree.h"

namespace cavigram {

/// A piece of air above a saddle, seen by both trees.
struct PiecePair {
    Vec3 exact_peak_mm = Vec3::Zero();   ///< By the air tree.
    Vec3 column_peak_mm = Vec3::Zero();  ///< By columns.
    double exact_mm3 = 0.0;              ///< Volume by the air tree.
    double column_mm3 = 0.0;             ///< Volume by columns.
};

/// How far the two trees agree.
struct TreeComparison {
    std::vector<PiecePair> pairs;  ///< Larger ones first.
    std::size_t only_exact = 0;    ///< Pieces that the columns do not show.
    std::size_t only_columns = 0;  ///< Pieces that only the columns show.
    double largest_mm3 =
        0.0;  ///< Largest difference of a pair, or size of a piece without a partner.
    double volume_mm3 = 0.0;  ///< Columns' volume less the exact one.
};

/// Compares the pieces of at least `min_volume_mm3` that meet a larger one at their saddle.
///
/// Pieces, not pockets: which of two equally high pieces a tree counts as the pocket is chance.
/// Partners are like in volume and near in peak and saddle height; saddles nearer in height than
/// the columns' spacing count as one.
///
/// O(arcs + pieces^2).
[[nodiscard]] TreeComparison compare(const AirTreeBuilder& solid, const AirTree& exact,
                                     const ColumnTree& columns, double min_volume_mm3);

}  // namespace cavigram
