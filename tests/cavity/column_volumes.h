// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/cavity/columns.h"
#include "cavigram/core/sum.h"

/// What the columns say about volumes, in mm3.
struct ColumnVolumes {
    double inside = 0.0;    ///< Where the surface winds at least once.
    double repeated = 0.0;  ///< What the signed volume counts too often: winding less 1, summed.
    double inverted = 0.0;  ///< Where the winding is negative; positive, each turn counted.

    [[nodiscard]] double signed_volume() const { return inside + repeated - inverted; }
};

inline ColumnVolumes column_volumes(const cavigram::ColumnCut& cut) {
    cavigram::CompensatedSum inside;
    cavigram::CompensatedSum repeated;
    cavigram::CompensatedSum inverted;
    for (const cavigram::ColumnPiece& piece : cut.pieces) {
        const double length = piece.to_mm - piece.from_mm;
        if (piece.winding > 0) {
            inside.add(length);
            repeated.add((piece.winding - 1) * length);
        } else {
            inverted.add(-piece.winding * length);
        }
    }
    const double area = cut.spacing_mm * cut.spacing_mm;
    return {area * inside.value(), area * repeated.value(), area * inverted.value()};
}
