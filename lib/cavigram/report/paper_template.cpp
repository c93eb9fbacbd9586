// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/paper_template.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/report/marks_detail.h"
#include "cavigram/report/svg_text_detail.h"
#include "cavigram/report/xml_detail.h"

namespace cavigram {

namespace {

constexpr double kMargin_mm = 26.0;  // around the outline, for the names of the ends
constexpr double kHead_mm = 14.0;    // for the words above
constexpr double kFoot_mm = 22.0;    // for the bars below
constexpr double kLeast_mm = 120.0;  // as wide at least, so that the bar of 100 mm fits

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

std::string mark_name(const Mark& mark) {
    std::string name = mark.pour_hole ? mark.label : "vent " + mark.label;
    name += mark.plugged ? ", plugged" : "";
    if (mark.diameter_mm <= 0.0) {
        return name;
    }
    // "2.0 mm (5/64 in)": told the other way around by told_drill.
    const std::string us = rendered(told_drill(mark.diameter_mm), UnitSystem::us);
    return name + ", " + rendered(told_drill(mark.diameter_mm)) + " (" +
           us.substr(0, us.find(" (")) + ")";
}

// Seen along its axis a hole is its circle; seen from the side only its place tells.
double radius_of(const Mark& mark, bool along) {
    return along ? std::max(0.5 * mark.diameter_mm, 0.75) : 0.75;
}

constexpr double kArm_mm = 3.0;  // of the cross hairs beyond the circle

std::string mark_svg(const Mark& mark, const Vec2& at, double r) {
    const double arm = r + kArm_mm;
    return fmt::format(
        "<path d=\"M{:.2f} {:.2f}h{:.2f}M{:.2f} {:.2f}v{:.2f}\" stroke=\"#000\" "
        "stroke-width=\"0.2\"/>\n"
        "<circle cx=\"{:.2f}\" cy=\"{:.2f}\" r=\"{:.2f}\" fill=\"none\" stroke=\"#000\" "
        "stroke-width=\"{:.1f}\"/>\n",
        at.x() - arm, at.y(), 2 * arm, at.x(), at.y() - arm, 2 * arm, at.x(), at.y(), r,
        mark.pour_hole ? 0.6 : 0.35);
}

// A name, and a hair line to its place where that is not right beside it.
std::string name_svg(LabelRoom& room, const std::string& name, const Vec2& at, double off) {
    constexpr double kSize = 4.0;
    const Vec2 put = room.place(at, off, kSize, name);
    const Vec2 near = put + Vec2(std::clamp(at.x() - put.x(), 0.0, text_width(name, kSize)),
                                 at.y() < put.y() ? -0.7 * kSize : 0.0);
    std::string svg;
    if ((near - at).norm() > off + kSize) {
        const Vec2 from = at + (near - at).normalized() * off;
        svg = fmt::format(
            "<path d=\"M{:.2f} {:.2f}L{:.2f} {:.2f}\" stroke=\"#000\" stroke-width=\"0.15\"/>\n",
            from.x(), from.y(), near.x(), near.y());
    }
    return svg + svg_text(put.x(), put.y(), kSize, "start", name);
}

// The drawing in mm, without its bars.
struct Drawing {
    std::string title;
    double width = 0.0;
    double height = 0.0;
    std::string body;
};

Drawing drawing_of(const Plan& plan, TemplateSide side) {
    CAVIGRAM_ASSERT(plan.display.has_value());
    const bool top = side == TemplateSide::top;
    const View& view = top ? plan.display->top : plan.display->front;
    const Silhouette& outline = top ? plan.display->top_outline : plan.display->front_outline;
    Box2 box;
    for (const auto& loop : outline.loops) {
        for (const Vec2& p : loop) {
            box.extend(p);
        }
    }
    const Vec2 size = box.sizes();
    Drawing drawing;
    drawing.title = plan.input.file + (top ? ": from above, as it is poured" : ": from the front");
    drawing.width = std::max(size.x() + 2 * kMargin_mm, kLeast_mm + 2 * kMargin_mm);
    drawing.height = size.y() + 2 * kMargin_mm;
    const double left = 0.5 * (drawing.width - size.x());
    const auto on_sheet = [&](const Vec2& p) {
        return Vec2(left + p.x() - box.min().x(), kMargin_mm + box.max().y() - p.y());
    };
    std::string path;
    for (const auto& loop : outline.loops) {
        for (std::size_t i = 0; i < loop.size(); ++i) {
            const Vec2 p = on_sheet(loop[i]);
            path += fmt::format("{}{:.3f} {:.3f}", i == 0 ? "M" : "L", p.x(), p.y());
        }
        path += "z";
    }
    drawing.body = "<path d=\"" + path +
                   "\" fill=\"#e8e8e8\" fill-rule=\"evenodd\" stroke=\"#000\" "
                   "stroke-width=\"0.35\"/>\n";
    LabelRoom room(Box2(Vec2(1.0, 1.0), Vec2(drawing.width - 1.0, drawing.height - 1.0)));
    const auto say = [&](double x, double y, const char* anchor, const std::string& words) {
        constexpr double kSize = 3.5;
        room.take(text_box(x, y, kSize, anchor, words));
        drawing.body += svg_text(x, y, kSize, anchor, words);
    };
    const double middle = kMargin_mm + 0.5 * size.y();
    say(left - 2.0, middle, "end", "left (" + axis_name(-view.right) + ")");
    say(left + size.x() + 2.0, middle, "start", "right (" + axis_name(view.right) + ")");
    say(left + 0.5 * size.x(), kMargin_mm - 14.0, "middle",
        (top ? "back (" : "up (") + axis_name(view.up) + ")");
    say(left + 0.5 * size.x(), kMargin_mm + size.y() + 15.0, "middle",
        (top ? "front (" : "down (") + axis_name(-view.up) + ")");
    const std::vector<Mark> marks = marks_of(plan);
    for (const Mark& mark : marks) {
        const Vec2 at = on_sheet(view.on_paper(mark.at_mm));
        const double r = radius_of(mark, top);
        // The circle and both its hairs.
        const double arm = r + kArm_mm;
        room.take(Box2(at - Vec2(r, r), at + Vec2(r, r)));
        room.take(Box2(at - Vec2(arm, 0.4), at + Vec2(arm, 0.4)));
        room.take(Box2(at - Vec2(0.4, arm), at + Vec2(0.4, arm)));
        drawing.body += mark_svg(mark, at, r);
    }
    for (const Mark& mark : marks) {
        const Vec2 at = on_sheet(view.on_paper(mark.at_mm));
        drawing.body += name_svg(room, mark_name(mark), at, radius_of(mark, top) + 1.0);
    }
    return drawing;
}

std::string advice(const Plan& plan, TemplateSide side) {
    const Silhouette& outline =
        side == TemplateSide::top ? plan.display->top_outline : plan.display->front_outline;
    return "Print at 100 %, not fitted to the page; measure the bars. Outline true to " +
           significant(outline.cell_mm + plan.display->deviation_mm, 2) + " mm.";
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

std::string template_svg(const Plan& plan, TemplateSide side) {
    const Drawing drawing = drawing_of(plan, side);
    const std::string how = advice(plan, side);
    const double width =
        std::max({drawing.width, text_width(drawing.title, 5.0) + 8.0, text_width(how, 3.2) + 8.0});
    const double height = drawing.height + kHead_mm + kFoot_mm;
    return fmt::format(
               "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.2f}mm\" "
               "height=\"{1:.2f}mm\" viewBox=\"0 0 {0:.2f} {1:.2f}\" "
               "font-family=\"sans-serif\">\n"
               "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n",
               width, height) +
           svg_text(4.0, 7.0, 5.0, "start", drawing.title) +
           svg_text(4.0, 12.5, 3.2, "start", how) +
           fmt::format("<g transform=\"translate({:.3f} {:g})\">\n", 0.5 * (width - drawing.width),
                       kHead_mm) +
           drawing.body + "</g>\n" + bars(4.0, height - 12.0) + "</svg>\n";
}

std::string template_tiles_html(const Plan& plan, TemplateSide side) {
    const Drawing drawing = drawing_of(plan, side);
    const int columns = static_cast<int>(std::ceil(drawing.width / kTileWidth_mm));
    const int rows = static_cast<int>(std::ceil(drawing.height / kTileHeight_mm));
    if (rows * columns == 1) {
        return "";
    }
    std::string html =
        "<!doctype html>\n<html lang=\"en\">\n<head><meta charset=\"utf-8\"><title>" +
        xml_text(drawing.title) +
        "</title>\n<style>@page { margin: 10mm; } body { margin: 0; font-family: sans-serif; } "
        "p { margin: 3mm; } .tile + .tile { break-before: page; } .tile svg { display: block; } "
        "@media print { p { display: none; } }</style></head>\n<body>\n<p>" +
        xml_text(advice(plan, side)) +
        " For A4 or Letter: cut along the dashed lines and join the tiles where the halves of a "
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
