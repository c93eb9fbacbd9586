// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// Which outline a template shows.
enum class TemplateSide {
    top,    ///< From above, as the part stands for the pour: for marking pour hole and vents.
    front,  ///< The widest side: for building the mold box around it.
};

/// A paper template at 1:1 as an SVG sized in millimeters: the part's outline, pour hole and vents
/// at their true diameters with cross hairs and labels, the two ends of the part named, bars of 100
/// mm and 4 in to check the printer. Print it without scaling. Same plan, same bytes.
///
/// \pre plan.display
[[nodiscard]] std::string template_svg(const Plan& plan, TemplateSide side);

/// The same in tiles that A4 and Letter both hold, as one HTML page to print: each tile with its
/// own bars, joints marked by halves of a diamond with a number. Empty if one page holds it all.
///
/// \pre plan.display
[[nodiscard]] std::string template_tiles_html(const Plan& plan, TemplateSide side);

}  // namespace cavigram
