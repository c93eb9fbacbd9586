// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/paper_template.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/report/marks_detail.h"
#include "cavigram/report/paper_detail.h"
#include "cavigram/report/svg_text_detail.h"

namespace cavigram {

namespace {

constexpr double kMargin_mm = 26.0;  // around the outline, for the names of the ends

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

std::string advice(const Plan& plan, TemplateSide side) {
    const Silhouette& outline =
        side == TemplateSide::top ? plan.display->top_outline : plan.display->front_outline;
    return "Print at 100 %, not fitted to the page; measure the bars. Outline true to " +
           significant(outline.cell_mm + plan.display->deviation_mm, 2) + " mm.";
}

Box2 box_of(const Silhouette& outline) {
    Box2 box;
    for (const auto& loop : outline.loops) {
        for (const Vec2& p : loop) {
            box.extend(p);
        }
    }
    return box;
}

Drawing drawing_of(const Plan& plan, TemplateSide side) {
    CAVIGRAM_ASSERT(plan.display.has_value());
    const bool top = side == TemplateSide::top;
    const View& view = top ? plan.display->top : plan.display->front;
    const Silhouette& outline = top ? plan.display->top_outline : plan.display->front_outline;
    const Box2 box = box_of(outline);
    const Vec2 size = box.sizes();
    Drawing drawing;
    drawing.title = plan.input.file + (top ? ": from above, as it is poured" : ": from the front");
    drawing.notes = {advice(plan, side)};
    drawing.width = std::max(size.x() + 2 * kMargin_mm, kLeastDrawing_mm + 2 * kMargin_mm);
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

}  // namespace

std::string template_svg(const Plan& plan, TemplateSide side) {
    return drawing_svg(drawing_of(plan, side));
}

std::string template_tiles_html(const Plan& plan, TemplateSide side) {
    return drawing_tiles_html(drawing_of(plan, side));
}

}  // namespace cavigram
