// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// How a picture is drawn.
struct PictureOptions {
    double pixels_per_mm = 4.0;  ///< The same for pictures that stand side by side.
    std::string title;           ///< Said to those who can't see it, and written below.
};

/// A picture of the part from one side.
struct Picture {
    std::string svg;         ///< The picture.
    double width_px = 0.0;   ///< Of the whole, in the units of its pixels.
    double height_px = 0.0;  ///< Its other side.
};

/// The shaded surface as a grayscale PNG inside an SVG, pour hole (a funnel with P) and vents
/// (numbered rings) above it with a leader to their place, dashed where the part hides the place,
/// and a bar of 50 mm (10 mm on a small part). Black and white. Same plan, same bytes.
///
/// \pre plan.display
[[nodiscard]] Picture picture(const Plan& plan, const View& view, const PictureOptions& options);

/// Pixels for each mm at which the part is `longest_px` long in the widest of the display's views.
///
/// \pre plan.display
[[nodiscard]] double picture_scale(const Plan& plan, int longest_px = 900);

}  // namespace cavigram
