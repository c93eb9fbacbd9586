// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// The parting line from one side on paper at 1:1, as an SVG sized in millimeters: the part's
/// outline as it stands on the table with the pull upright, the line, solid where it is seen and
/// dashed where the part hides it, its height above the table at marks, the table with a ruler
/// along it, rulers upward in mm and in inches, and bars of 100 mm and 4 in to check the printer.
/// From above and below there is no table. Same plan, same bytes.
///
/// \pre plan.display with so many views of the line
[[nodiscard]] std::string parting_svg(const Plan& plan, std::size_t view);

/// The same in tiles, as template_tiles_html. Empty if one page holds it all.
///
/// \pre as parting_svg
[[nodiscard]] std::string parting_tiles_html(const Plan& plan, std::size_t view);

/// All of them as files, by name: `parting_front.svg` and so on, and `parting_front_tiles.html`
/// where a page is too small. None where there is no line.
///
/// \pre plan.display
[[nodiscard]] std::vector<std::pair<std::string, std::string>> parting_files(const Plan& plan);

}  // namespace cavigram
