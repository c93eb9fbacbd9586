// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

namespace cavigram {

// A drawing at 1:1 on paper, in mm, without its head and its bars.
struct Drawing {
    std::string title;
    std::vector<std::string> notes;  // how to print and read it, a line each
    double width = 0.0;
    double height = 0.0;
    std::string body;  // SVG, y downward from the upper left corner
};

constexpr double kLeastDrawing_mm = 120.0;  // as wide at least, so that the bar of 100 mm fits

// The whole as one SVG sized in millimeters, with bars of 100 mm and 4 in to check the printer.
std::string drawing_svg(const Drawing& drawing);

// The same in tiles that A4 and Letter both hold, as one HTML page to print: each tile with its own
// bars, joints marked by halves of a diamond with a number. Empty if one page holds it all.
std::string drawing_tiles_html(const Drawing& drawing);

}  // namespace cavigram
