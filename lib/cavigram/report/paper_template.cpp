// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/paper_template.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/report/marks_detail.h"
#include "cavigram/report/xml_detail.h"

namespace cavigram {

namespace {

constexpr double kMargin_mm = 26.0;  // around the outline, for the names of the ends
constexpr double kHead_mm = 14.0;    // for the words above
constexpr double kFoot_mm = 22.0;    // for the bars below
constexpr double kLeast_mm = 120.0;  // as wide at least, so that the bar of 100 mm fits

std::string words(double x, double y, double size, const char* anchor, const std::string& text) {
    return fmt::format(
        "<text x=\"{:.2f}\" y=\"{:.2f}\" font-size=\"{:.1f}\" text-anchor=\"{}\">{}</text>\n", x, y,
        size, anchor, xml_text(text));
}

// The coordinate direction that a direction is nearest to, as people name it: "+x".
std::string axis_name(const Vec3& direction) {
    int axis = 0;
    direction.cwiseAbs().maxCoeff(&axis);
    return std::string(direction[axis] < 0.0 ? "-" : "+") + "xyz"[axis];
}

// A bar with a tick at each of its parts, the whole ones longer.
std::string bar(double x, double y, double part_mm, int parts, int whole, const char* name) {
    std::string svg = fmt::format("<path d=\"M{:.2f} {:.2f}h{:.3f}", x, y, part_mm * parts);
    for (int i = 0; i <= parts; ++i) {
        svg +=
            fmt::format("M{:.3f} {:.2f}v{:.1f}", x + i * part_mm, y, i % whole == 0 ? -4.0 : -2.5);
    }
    return svg + "\" fill=\"none\" stroke=\"#000\" stroke-width=\"0.25\"/>\n" +
           words(x + part_mm * parts + 2.0, y, 3.5, "start", name);
}

// Seen along its axis a hole is its circle; seen from the side only its place tells.
std::string mark_svg(const Mark& mark, const Vec2& at, bool along) {
    const double r = along ? std::max(0.5 * mark.diameter_mm, 0.75) : 0.75;
    const double arm = r + 3.0;
    std::string svg = fmt::format(
        "<path d=\"M{:.2f} {:.2f}h{:.2f}M{:.2f} {:.2f}v{:.2f}\" stroke=\"#000\" "
        "stroke-width=\"0.2\"/>\n",
        at.x() - arm, at.y(), 2 * arm, at.x(), at.y() - arm, 2 * arm);
    svg += fmt::format(
        "<circle cx=\"{:.2f}\" cy=\"{:.2f}\" r=\"{:.2f}\" fill=\"none\" stroke=\"#000\" "
        "stroke-width=\"{:.1f}\"/>\n",
        at.x(), at.y(), r, mark.pour_hole ? 0.6 : 0.35);
    const std::string name = !mark.pour_hole ? "vent " + mark.label
                             : mark.plugged  ? mark.label + ", plugged"
                                             : mark.label;
    return svg + words(at.x() + 0.75 * arm, at.y() - 0.75 * arm, 4.0, "start",
                       mark.diameter_mm > 0.0
                           ? name + fmt::format(", {} mm", significant(mark.diameter_mm, 2))
                           : name);
}

}  // namespace

std::string template_svg(const Plan& plan, TemplateSide side) {
    CAVIGRAM_ASSERT(plan.display.has_value());
    const bool top = side == TemplateSide::top;
    const View& view = top ? plan.display->top : plan.display->front;
    const Silhouette& outline = top ? plan.display->top_outline : plan.display->front_outline;
    Vec2 low = Vec2::Constant(1e300);
    Vec2 high = -low;
    for (const auto& loop : outline.loops) {
        for (const Vec2& p : loop) {
            low = low.cwiseMin(p);
            high = high.cwiseMax(p);
        }
    }
    const Vec2 size = high - low;
    const double width = std::max(size.x() + 2 * kMargin_mm, kLeast_mm + 2 * kMargin_mm);
    const double height = size.y() + 2 * kMargin_mm + kHead_mm + kFoot_mm;
    const double left = 0.5 * (width - size.x());
    const auto on_sheet = [&](const Vec2& p) {
        return Vec2(left + p.x() - low.x(), kHead_mm + kMargin_mm + high.y() - p.y());
    };
    std::string svg = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.2f}mm\" height=\"{:.2f}mm\" "
        "viewBox=\"0 0 {:.2f} {:.2f}\" font-family=\"sans-serif\">\n",
        width, height, width, height);
    svg += "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n";
    svg += words(4.0, 7.0, 5.0, "start",
                 plan.input.file + (top ? ": from above, as it is poured" : ": from the front"));
    svg +=
        words(4.0, 12.5, 3.2, "start",
              "Print at 100 %, not fitted to the page; measure the bars below. Outline true to " +
                  significant(outline.cell_mm + plan.display->deviation_mm, 2) + " mm.");
    std::string path;
    for (const auto& loop : outline.loops) {
        for (std::size_t i = 0; i < loop.size(); ++i) {
            const Vec2 p = on_sheet(loop[i]);
            path += fmt::format("{}{:.3f} {:.3f}", i == 0 ? "M" : "L", p.x(), p.y());
        }
        path += "z";
    }
    svg += "<path d=\"" + path +
           "\" fill=\"#e8e8e8\" fill-rule=\"evenodd\" stroke=\"#000\" stroke-width=\"0.35\"/>\n";
    for (const Mark& mark : marks_of(plan)) {
        svg += mark_svg(mark, on_sheet(view.on_paper(mark.at_mm)), top);
    }
    const double middle = kHead_mm + kMargin_mm + 0.5 * size.y();
    svg += words(left - 2.0, middle, 3.5, "end", "left (" + axis_name(-view.right) + ")");
    svg +=
        words(left + size.x() + 2.0, middle, 3.5, "start", "right (" + axis_name(view.right) + ")");
    svg += words(left + 0.5 * size.x(), kHead_mm + kMargin_mm - 4.0, 3.5, "middle",
                 top ? "back (" + axis_name(view.up) + ")" : "up");
    svg += words(left + 0.5 * size.x(), kHead_mm + kMargin_mm + size.y() + 7.0, 3.5, "middle",
                 top ? "front (" + axis_name(-view.up) + ")" : "down");
    svg += bar(4.0, height - 12.0, 10.0, 10, 5, "100 mm");
    svg += bar(4.0, height - 3.5, 6.35, 16, 4, "4 in");
    return svg + "</svg>\n";
}

}  // namespace cavigram
