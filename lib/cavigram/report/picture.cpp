// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/picture.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/io/png_writer.h"
#include "cavigram/report/marks_detail.h"
#include "cavigram/report/shading_detail.h"
#include "cavigram/report/svg_text_detail.h"
#include "cavigram/report/xml_detail.h"

namespace cavigram {

namespace {

constexpr double kRadius_px = 32.0;  // of a mark: readable at arm's length on a printed card
constexpr double kLevel_px = 82.0;   // from one row of marks to the next
constexpr double kLeast_px = 380.0;  // as wide at least, for the words below
constexpr double kFoot_px = 104.0;   // for the bar and the words below
constexpr double kEnds_px = 92.0;    // on both sides, for the names of the ends

struct Placed {
    Mark mark;
    Vec2 at;  // in pixels of the shaded image
    bool hidden = false;
    double x = 0.0;  // of the label
    int level = 0;   // 0: next to the part, then farther up
};

// Labels stand above the part, each in the lowest row in which it touches no other.
std::vector<Placed> placed_marks(const Plan& plan, const View& view, const ShadedImage& image) {
    std::vector<Placed> placed;
    const double tolerance = 0.02 * bounds(plan.display->mesh).diagonal().norm();
    for (const Mark& mark : marks_of(plan)) {
        const Vec2 paper = view.on_paper(mark.at_mm);
        Placed one;
        one.mark = mark;
        one.at = image.pixel(paper) + Vec2(kEnds_px, 0.0);
        one.hidden = image.hides(paper, view.nearness_mm(mark.at_mm), tolerance);
        one.x = std::clamp(one.at.x(), kRadius_px,
                           std::max(kRadius_px, image.width + 2.0 * kEnds_px - kRadius_px));
        placed.push_back(one);
    }
    for (std::size_t i = 0; i < placed.size(); ++i) {
        const auto clashes = [&](const Placed& other) {
            return other.level == placed[i].level &&
                   std::abs(other.x - placed[i].x) < 2.4 * kRadius_px;
        };
        while (
            std::any_of(placed.begin(), placed.begin() + static_cast<std::ptrdiff_t>(i), clashes)) {
            ++placed[i].level;
        }
    }
    return placed;
}

std::string mark_svg(const Placed& p, double top) {
    const double y = top - kRadius_px - 6.0 - p.level * kLevel_px;
    const char* const dash = p.hidden ? " stroke-dasharray=\"6 5\"" : "";
    std::string svg = fmt::format(
        "<path d=\"M{:.1f} {:.1f}V{:.1f}L{:.1f} {:.1f}\" fill=\"none\" stroke=\"#fff\" "
        "stroke-width=\"6\"/>"
        "<path d=\"M{:.1f} {:.1f}V{:.1f}L{:.1f} {:.1f}\" fill=\"none\" stroke=\"#000\" "
        "stroke-width=\"2.5\"{}/>\n",
        p.x, y, std::min(top, p.at.y() + top - 10.0), p.at.x(), p.at.y() + top, p.x, y,
        std::min(top, p.at.y() + top - 10.0), p.at.x(), p.at.y() + top, dash);
    svg += fmt::format(
        "<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"5\" fill=\"{}\" stroke=\"#000\" "
        "stroke-width=\"2\"/>\n",
        p.at.x(), p.at.y() + top, p.hidden ? "#fff" : "#000");
    const double r = kRadius_px;
    if (p.mark.pour_hole) {
        svg += fmt::format(
            "<path d=\"M{:.1f} {:.1f}h{:.1f}l{:.1f} {:.1f}v{:.1f}h{:.1f}v{:.1f}z\" fill=\"#fff\" "
            "stroke=\"#000\" "
            "stroke-width=\"3\"{}/>\n",
            p.x - r, y - r, 2 * r, -0.62 * r, 1.5 * r, 0.5 * r, -0.76 * r, -0.5 * r, dash);
    } else {
        svg += fmt::format(
            "<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\" fill=\"#fff\" stroke=\"#000\" "
            "stroke-width=\"3\"{}/>\n",
            p.x, y, r - 1.5, dash);
    }
    svg += svg_text(p.x, y + (p.mark.pour_hole ? 8.0 : 13.0), p.mark.label.size() > 2 ? 28 : 38,
                    "middle", p.mark.label, "font-weight=\"bold\"");
    return svg;
}

// 50 mm, or 10 on a small part.
double bar_length_mm(const ShadedImage& image) {
    const double room = 0.8 * std::max(kLeast_px, static_cast<double>(image.width));
    return 50.0 * image.pixels_per_mm < room ? 50.0 : 10.0;
}

std::string bar_words(double bar_mm) {
    return fmt::format("{:g} mm ({} in)", bar_mm, significant(bar_mm / 25.4, 3));
}

// The bar, and beneath it which side this is and what becomes of the hole.
std::string foot_svg(const ShadedImage& image, double top, const std::string& title) {
    const double bar_mm = bar_length_mm(image);
    const double y = top + image.height + 22.0;
    return fmt::format(
               "<path d=\"M2 {:.1f}v-12m0 6h{:.1f}m0 -6v12\" fill=\"none\" stroke=\"#000\" "
               "stroke-width=\"3\"/>\n",
               y, bar_mm * image.pixels_per_mm) +
           svg_text(bar_mm * image.pixels_per_mm + 14.0, y + 2.0, 30, "start", bar_words(bar_mm)) +
           svg_text(2.0, y + 48.0, 34, "start", title, "font-weight=\"bold\"");
}

// The ends by the file's axes, so that "from the -x end" can be found.
std::string ends_svg(const ShadedImage& image, const View& view, double top) {
    constexpr double kEndSize = 48.0;  // to be read on a card that holds much else
    const double y = top + 0.5 * image.height + 16.0;
    return svg_text(kEnds_px - 8.0, y, kEndSize, "end", axis_name(-view.right)) +
           svg_text(image.width + kEnds_px + 8.0, y, kEndSize, "start", axis_name(view.right));
}

}  // namespace

double picture_scale(const Plan& plan, int longest_px) {
    CAVIGRAM_ASSERT(plan.display.has_value());
    const DisplayBlock& shown = *plan.display;
    double longest = 1e-9;
    for (const View* view : {&shown.front, &shown.side, &shown.top}) {
        Vec2 low = Vec2::Constant(std::numeric_limits<double>::infinity());
        Vec2 high = -low;
        for (const Vec3& p : shown.mesh.vertices) {
            low = low.cwiseMin(view->on_paper(p));
            high = high.cwiseMax(view->on_paper(p));
        }
        longest = std::max(longest, (high - low).maxCoeff());
    }
    return longest_px / longest;
}

Picture picture(const Plan& plan, const View& view, const PictureOptions& options) {
    CAVIGRAM_ASSERT(plan.display.has_value());
    const ShadedImage image = shaded(plan.display->mesh, view, options.pixels_per_mm);
    const std::vector<Placed> marks = placed_marks(plan, view, image);
    int levels = 0;
    for (const Placed& p : marks) {
        levels = std::max(levels, p.level + 1);
    }
    const double top = levels * kLevel_px + (levels > 0 ? 12.0 : 0.0);
    Picture result;
    const bool plugged =
        std::any_of(marks.begin(), marks.end(), [](const Placed& p) { return p.mark.plugged; });
    const std::string title =
        options.title + ", " + axis_name(view.up) + " at the top" + (plugged ? "; P plugged" : "");
    const double bar_mm = bar_length_mm(image);
    result.width_px =
        std::max({kLeast_px, image.width + 2.0 * kEnds_px,
                  bar_mm * image.pixels_per_mm + 20.0 + text_width(bar_words(bar_mm), 30),
                  text_width(title, 34) + 8.0});
    result.height_px = top + image.height + kFoot_px;
    result.svg = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {:g} {:g}\" width=\"{:g}\" "
        "height=\"{:g}\" font-family=\"sans-serif\" role=\"img\"><title>{}</title>\n",
        result.width_px, result.height_px, result.width_px, result.height_px,
        xml_text(options.title));
    result.svg += fmt::format(
        "<image x=\"{:g}\" y=\"{:g}\" width=\"{}\" height=\"{}\" href=\"data:image/png;base64,",
        kEnds_px, top, image.width, image.height);
    result.svg += base64(png_bytes(image.width, image.height, image.gray)) + "\"/>\n";
    for (const Placed& p : marks) {
        result.svg += mark_svg(p, top);
    }
    result.svg += ends_svg(image, view, top) + foot_svg(image, top, title) + "</svg>\n";
    return result;
}

}  // namespace cavigram
