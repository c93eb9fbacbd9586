// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/plan/prepare.h"
#include "cavigram/tally/casting.h"

namespace cavigram {

/// What the log keeps of a cavity, and what was noticed about its mesh.
struct CastingShape {
    std::string part;                              ///< The file's name.
    double volume_mm3 = 0.0;                       ///< Of the cavity.
    double area_mm2 = 0.0;                         ///< Of its surface.
    double skin_reference_mm = kSkinReference_mm;  ///< The depth of skin_volume_mm3.
    double skin_volume_mm3 = 0.0;                  ///< Within that depth of the surface.
    double skin_error_mm3 = 0.0;                   ///< Its estimated error.
    std::vector<Finding> findings;                 ///< What was noticed about the mesh.
};

/// Reads a part and measures what a casting of it is compared by: its volume, its area, and the
/// volume within kSkinReference_mm of its surface.
///
/// \throw InvalidInput, UnusableInput, Cancelled
[[nodiscard]] CastingShape casting_shape(const PartRequest& request,
                                         const RunContext& context = {});

}  // namespace cavigram
