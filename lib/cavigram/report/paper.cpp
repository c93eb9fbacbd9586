// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/geom/vector.h"
#include "cavigram/report/paper_detail.h"
#include "cavigram/report/svg_text_detail.h"
#include "cavigram/report/xml_detail.h"

namespace cavigram {

namespace {

constexpr double kHead_mm = 9.5;   // for the title above,
constexpr double kNote_mm = 4.5;   // and each line below it
constexpr double kFoot_mm = 22.0;  // for the bars below

// A bar with a tick at each of its parts, the whole ones longer.
std::string bar(double x, double y, double part_mm, int parts, int whole, const char* name) {
    std::string svg = fmt::format("<path d=\"M{:.2f} {:.2f}h{:.3f}", x, y, part_mm * parts);
    for (int i = 0; i <= parts; ++i) {
        svg +=
            fmt::format("M{:.3f} {:.2f}v{:.1f}", x + i * part_mm, y, i % whole == 0 ? -4.0 : -2.5);
    }
    return svg + "\" fill=\"none\" stroke=\"#000\" stroke-width=\"0.25\"/>\n" +
           svg_text(x + part_mm * parts + 2.0, y, 3.5, "start", name);
}

// Both bars, for a printer that is checked with either ruler.
std::string bars(double x, double y) {
    return bar(x, y, 10.0, 10, 5, "100 mm") + bar(x, y + 8.5, 6.35, 16, 4, "4 in");
}

// ---- tiles --------------------------------------------------------------------------------------

// What A4 and Letter both hold with margins of 10 mm: the window onto the drawing, and the page
// around it.
constexpr double kTileWidth_mm = 180.0;
constexpr double kTileHeight_mm = 226.0;
constexpr double kPageWidth_mm = 190.0;
constexpr double kPageHeight_mm = 256.0;
constexpr double kFrame_mm = 5.0;
constexpr double kTileHead_mm = 10.0;

// Half a diamond on each side of a joint, with the joint's number: put together they make one.
std::string joint(const Vec2& at, const Vec2& inward, int number) {
    const Vec2 along(-inward.y(), inward.x());
    const Vec2 a = at - 4.0 * along;
    const Vec2 b = at + 4.0 * inward;
    const Vec2 c = at + 4.0 * along;
    const Vec2 name = at + 8.0 * inward;
    return fmt::format(
               "<path d=\"M{:.2f} {:.2f}L{:.2f} {:.2f}L{:.2f} {:.2f}z\" fill=\"#fff\" "
               "stroke=\"#000\" stroke-width=\"0.3\"/>\n",
               a.x(), a.y(), b.x(), b.y(), c.x(), c.y()) +
           svg_text(name.x(), name.y() + 1.5, 4.0, "middle", fmt::format("{}", number));
}

// The marks along the four edges of one tile; the joints are numbered row by row.
std::string joints(int row, int column, int rows, int columns) {
    const double x = kFrame_mm;
    const double y = kTileHead_mm;
    const Vec2 middle(x + 0.5 * kTileWidth_mm, y + 0.5 * kTileHeight_mm);
    const int upright = rows * (columns - 1);  // joints between columns come first
    std::string svg;
    if (column > 0) {
        svg += joint({x, middle.y()}, Vec2(1.0, 0.0), row * (columns - 1) + column);
    }
    if (column + 1 < columns) {
        svg += joint({x + kTileWidth_mm, middle.y()}, Vec2(-1.0, 0.0),
                     row * (columns - 1) + column + 1);
    }
    if (row > 0) {
        svg += joint({middle.x(), y}, Vec2(0.0, 1.0), upright + (row - 1) * columns + column + 1);
    }
    if (row + 1 < rows) {
        svg += joint({middle.x(), y + kTileHeight_mm}, Vec2(0.0, -1.0),
                     upright + row * columns + column + 1);
    }
    return svg;
}

std::string tile_svg(const Drawing& drawing, int row, int column, int rows, int columns) {
    const std::string title =
        fmt::format("{}: tile {} of {}, row {}, column {}", drawing.title,
                    row * columns + column + 1, rows * columns, row + 1, column + 1);
    return fmt::format(
               "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:g}mm\" height=\"{1:g}mm\" "
               "viewBox=\"0 0 {0:g} {1:g}\" font-family=\"sans-serif\">\n",
               kPageWidth_mm, kPageHeight_mm) +
           svg_text(kFrame_mm, 6.0, std::min(4.5, 4.5 * kTileWidth_mm / text_width(title, 4.5)),
                    "start", title) +
           fmt::format(
               "<svg x=\"{:g}\" y=\"{:g}\" width=\"{:g}\" height=\"{:g}\" viewBox=\"{:g} {:g} {:g} "
               "{:g}\"><use href=\"#drawing\"/></svg>\n"
               "<rect x=\"{:g}\" y=\"{:g}\" width=\"{:g}\" height=\"{:g}\" fill=\"none\" "
               "stroke=\"#000\" stroke-width=\"0.2\" stroke-dasharray=\"2 1\"/>\n",
               kFrame_mm, kTileHead_mm, kTileWidth_mm, kTileHeight_mm, column * kTileWidth_mm,
               row * kTileHeight_mm, kTileWidth_mm, kTileHeight_mm, kFrame_mm, kTileHead_mm,
               kTileWidth_mm, kTileHeight_mm) +
           joints(row, column, rows, columns) +
           bars(kFrame_mm, kTileHead_mm + kTileHeight_mm + 8.0) + "</svg>\n";
}

}  // namespace

std::string drawing_svg(const Drawing& drawing) {
    constexpr double kTitle = 5.0;
    constexpr double kSmall = 3.2;
    double width = std::max(drawing.width, text_width(drawing.title, kTitle) + 8.0);
    std::string words = svg_text(4.0, 7.0, kTitle, "start", drawing.title);
    double head = kHead_mm;
    for (const std::string& note : drawing.notes) {
        width = std::max(width, text_width(note, kSmall) + 8.0);
        words += svg_text(4.0, head + 3.0, kSmall, "start", note);
        head += kNote_mm;
    }
    const double height = drawing.height + head + kFoot_mm;
    return fmt::format(
               "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.2f}mm\" "
               "height=\"{1:.2f}mm\" viewBox=\"0 0 {0:.2f} {1:.2f}\" "
               "font-family=\"sans-serif\">\n"
               "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n",
               width, height) +
           words +
           fmt::format("<g transform=\"translate({:.3f} {:g})\">\n", 0.5 * (width - drawing.width),
                       head) +
           drawing.body + "</g>\n" + bars(4.0, height - 12.0) + "</svg>\n";
}

std::string drawing_tiles_html(const Drawing& drawing) {
    const int columns = static_cast<int>(std::ceil(drawing.width / kTileWidth_mm));
    const int rows = static_cast<int>(std::ceil(drawing.height / kTileHeight_mm));
    if (rows * columns == 1) {
        return "";
    }
    std::string notes;
    for (const std::string& note : drawing.notes) {
        notes += xml_text(note) + " ";
    }
    std::string html =
        "<!doctype html>\n<html lang=\"en\">\n<head><meta charset=\"utf-8\"><title>" +
        xml_text(drawing.title) +
        "</title>\n<style>@page { margin: 10mm; } body { margin: 0; font-family: sans-serif; } "
        "p { margin: 3mm; } .tile + .tile { break-before: page; } .tile svg { display: block; } "
        "@media print { p { display: none; } }</style></head>\n<body>\n<p>" +
        notes +
        "For A4 or Letter: cut along the dashed lines and join the tiles where the halves of a "
        "diamond have the same number.</p>\n"
        "<svg width=\"0\" height=\"0\" style=\"position: absolute\"><defs><g id=\"drawing\" "
        "font-family=\"sans-serif\">\n" +
        drawing.body + "</g></defs></svg>\n";
    for (int row = 0; row < rows; ++row) {
        for (int column = 0; column < columns; ++column) {
            html +=
                "<div class=\"tile\">" + tile_svg(drawing, row, column, rows, columns) + "</div>\n";
        }
    }
    return html + "</body>\n</html>\n";
}

}  // namespace cavigram
