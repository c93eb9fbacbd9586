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
#include "cavigram/report/xml_detail.h"

namespace cavigram {

namespace {

constexpr double kRadius_px = 32.0;     // of a mark: readable at arm's length on a printed card
constexpr double kLevel_px = 82.0;      // from one row of marks to the next
constexpr double kLeast_px = 380.0;     // as wide at least, for the words below
constexpr double kFoot_px = 104.0;      // for the bar and the words below
constexpr double kBarWords_px = 270.0;  // beside the bar: how long it is

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
        one.at = image.pixel(paper);
        one.hidden = image.hides(paper, view.nearness_mm(mark.at_mm), tolerance);
        one.x = std::clamp(one.at.x(), kRadius_px, std::max(kRadius_px, image.width - kRadius_px));
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
    svg += fmt::format(
        "<text x=\"{:.1f}\" y=\"{:.1f}\" font-size=\"38\" font-weight=\"bold\" "
        "text-anchor=\"middle\">{}</text>\n",
        p.x, y + (p.mark.pour_hole ? 8.0 : 13.0), p.mark.label);
    if (p.mark.plugged) {
        svg += fmt::format(
            "<text x=\"{:.1f}\" y=\"{:.1f}\" font-size=\"22\" stroke=\"#fff\" stroke-width=\"5\" "
            "paint-order=\"stroke\">plugged</text>\n",
            p.x + 0.5 * r, y + r);
    }
    return svg;
}

// 50 mm, or 10 on a small part.
double bar_length_mm(const ShadedImage& image) {
    const double room = 0.8 * std::max(kLeast_px, static_cast<double>(image.width));
    return 50.0 * image.pixels_per_mm < room ? 50.0 : 10.0;
}

std::string foot_svg(const ShadedImage& image, double top, const std::string& title) {
    const double bar_mm = bar_length_mm(image);
    const double y = top + image.height + 22.0;
    std::string svg = fmt::format(
        "<path d=\"M2 {:.1f}v-12m0 6h{:.1f}m0 -6v12\" fill=\"none\" stroke=\"#000\" "
        "stroke-width=\"3\"/>\n",
        y, bar_mm * image.pixels_per_mm);
    svg += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" font-size=\"30\">{:g} mm ({} in)</text>\n",
                       bar_mm * image.pixels_per_mm + 14.0, y + 2.0, bar_mm,
                       significant(bar_mm / 25.4, 3));
    svg +=
        fmt::format("<text x=\"2\" y=\"{:.1f}\" font-size=\"34\" font-weight=\"bold\">{}</text>\n",
                    y + 48.0, xml_text(title));
    return svg;
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
    result.width_px = std::max({kLeast_px, static_cast<double>(image.width),
                                bar_length_mm(image) * image.pixels_per_mm + kBarWords_px});
    result.height_px = top + image.height + kFoot_px;
    result.svg = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {:g} {:g}\" width=\"{:g}\" "
        "height=\"{:g}\" font-family=\"sans-serif\" role=\"img\"><title>{}</title>\n",
        result.width_px, result.height_px, result.width_px, result.height_px,
        xml_text(options.title));
    result.svg += fmt::format(
        "<image x=\"0\" y=\"{:g}\" width=\"{}\" height=\"{}\" href=\"data:image/png;base64,", top,
        image.width, image.height);
    result.svg += base64(png_bytes(image.width, image.height, image.gray)) + "\"/>\n";
    for (const Placed& p : marks) {
        result.svg += mark_svg(p, top);
    }
    result.svg += foot_svg(image, top, options.title) + "</svg>\n";
    return result;
}

}  // namespace cavigram
