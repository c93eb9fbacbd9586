// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/molding/parting_loops.h"

namespace cavigram {

/// How a field is smoothed.
struct PartingFieldOptions {
    int steps = 8;  ///< Reweighted after the harmonic start; 0: harmonic only. Measured: enough.
};

/// A field on the vertices whose zero line is a short parting line: 1 on the upper half's faces, -1
/// on the lower's, and between them, where a face may belong to either, as the least integral of
/// its gradient's length.
///
/// That integral is the sum of the lengths of all level lines (co-area formula), so its least has a
/// short zero line. Harmonic first, then least squares weighted by the inverse of the gradient (as
/// Chan & Mulet, SIAM J. Numer. Anal. 36 (1999) 354). A vertex between fixed faces of both halves
/// is on the line.
///
/// \pre one entry for each face
///
/// \throw Cancelled
[[nodiscard]] std::vector<double> parting_field(const PartingSurface& surface,
                                                const std::vector<bool>& upper_face,
                                                const std::vector<bool>& either_face,
                                                const PartingFieldOptions& options = {},
                                                const RunContext& context = {});

}  // namespace cavigram
