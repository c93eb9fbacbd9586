// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/sphere_map.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/report/color_map.h"
#include "cavigram/report/planned_way_detail.h"
#include "cavigram/report/svg_text_detail.h"

namespace cavigram {

namespace {

constexpr double kRadius = 200.0;
constexpr double kMiddleY = 300.0;
constexpr double kMiddleX[2] = {240.0, 720.0};  // of the upper and the lower half
constexpr double kCell = 5.0;
constexpr int kColors = 24;
constexpr double kWidth = 960.0;
constexpr double kHeight = 660.0;

// A unit direction on the paper, in its own half's disk: Lambert's r = R sqrt(1 - |z|) for a half
// sphere that fills the disk.
Vec2 on_paper(const Vec3& up) {
    const int half = up.z() >= 0.0 ? 0 : 1;
    const double across = std::hypot(up.x(), up.y());
    const double r = kRadius * std::sqrt(std::max(0.0, 1.0 - std::abs(up.z())));
    const double s = across > 0.0 ? r / across : 0.0;
    return {kMiddleX[half] + s * up.x(), kMiddleY - s * up.y()};
}

// The way back, from a place relative to the disk's middle with y upward. \pre within the disk
Vec3 on_sphere(double x, double y, int half) {
    const double share = std::min(1.0, (x * x + y * y) / (kRadius * kRadius));
    const double z = 1.0 - share;
    const double s = std::sqrt(1.0 + z) / kRadius;  // sin = sqrt(1 - z^2) = sqrt(share) sqrt(1 + z)
    return {s * x, s * y, half == 0 ? z : -z};
}

double value_at(const std::vector<ScannedWayUp>& scanned, const Vec3& up) {
    double nearest = -2.0;
    double value = 0.0;
    for (const ScannedWayUp& way : scanned) {
        const double cosine = way.up.dot(up);
        if (cosine > nearest) {
            nearest = cosine;
            value = way.vented_mm3;
        }
    }
    return value;
}

double scale_end(const std::vector<ScannedWayUp>& scanned) {
    std::vector<double> values;
    values.reserve(scanned.size());
    for (const ScannedWayUp& way : scanned) {
        values.push_back(way.vented_mm3);
    }
    std::sort(values.begin(), values.end());
    const double end = values[(values.size() - 1) * 98 / 100];
    return end > 0.0 ? end : std::max(values.back(), 1e-9);
}

// Dark asks for attention, as in all our colors (colored_part.h): most air is the dark end.
std::string color(int step) {
    const Rgb c = viridis(1.0 - static_cast<double>(step) / (kColors - 1));
    return fmt::format("#{:02x}{:02x}{:02x}", static_cast<unsigned>(c[0]),
                       static_cast<unsigned>(c[1]), static_cast<unsigned>(c[2]));
}

// One disk, a row of cells at a time; neighbors of one color make one strip.
std::string disk(const std::vector<ScannedWayUp>& scanned, double end, int half) {
    std::string svg = fmt::format("<g clip-path=\"url(#disk{})\">\n", half);
    const int cells = static_cast<int>(2.0 * kRadius / kCell);
    for (int row = 0; row < cells; ++row) {
        const double y = kRadius - (row + 0.5) * kCell;
        // Whatever is cut by the rim is colored as its nearest place inside.
        const double reach = std::sqrt(std::max(
            0.0, kRadius * kRadius - std::pow(std::max(0.0, std::abs(y) - 0.5 * kCell), 2)));
        const int first = std::max(0, static_cast<int>(std::floor((kRadius - reach) / kCell)));
        int begin = first;
        int shown = -1;
        for (int i = first; i <= cells - first; ++i) {
            int step = -1;
            if (i < cells - first) {
                double x = -kRadius + (i + 0.5) * kCell;
                double v = y;
                const double r = std::hypot(x, v);
                if (r > kRadius) {
                    x *= kRadius / r;
                    v *= kRadius / r;
                }
                const double share =
                    std::clamp(value_at(scanned, on_sphere(x, v, half)) / end, 0.0, 1.0);
                step = static_cast<int>(std::lround(share * (kColors - 1)));
            }
            if (step != shown) {
                if (shown >= 0) {
                    svg += fmt::format(
                        "<rect x=\"{:g}\" y=\"{:g}\" width=\"{:g}\" height=\"{:g}\" "
                        "fill=\"{}\"/>\n",
                        kMiddleX[half] - kRadius + begin * kCell, kMiddleY - kRadius + row * kCell,
                        (i - begin) * kCell + 0.4, kCell + 0.4, color(shown));
                }
                begin = i;
                shown = step;
            }
        }
    }
    return svg + "</g>\n";
}

std::string text_at(double x, double y, int size, const char* anchor, const std::string& words,
                    const char* weight = "normal") {
    return svg_text(x, y, size, anchor, words, fmt::format("font-weight=\"{}\"", weight));
}

std::string rim(int half) {
    const double x = kMiddleX[half];
    std::string svg = fmt::format(
        "<circle cx=\"{:g}\" cy=\"{:g}\" r=\"{:g}\" fill=\"none\" stroke=\"#222\" "
        "stroke-width=\"1.5\"/>\n",
        x, kMiddleY, kRadius);
    // Circles of 30 and 60 degrees from the middle.
    for (const double degrees : {30.0, 60.0}) {
        const double r = kRadius * std::sqrt(1.0 - std::cos(degrees * std::numbers::pi / 180.0));
        svg += fmt::format(
            "<circle cx=\"{:g}\" cy=\"{:g}\" r=\"{:.1f}\" fill=\"none\" stroke=\"#000\" "
            "stroke-opacity=\"0.5\" stroke-dasharray=\"2 4\"/>\n",
            x, kMiddleY, r);
    }
    svg += fmt::format(
        "<path d=\"M{:g} {:g}h8m-4 -4v8\" stroke=\"#000\" stroke-width=\"1.2\" fill=\"none\"/>\n",
        x - 4.0, kMiddleY);
    svg += text_at(x + kRadius + 16.0, kMiddleY + 4.0, 13, "start", "+x");
    svg += text_at(x - kRadius - 16.0, kMiddleY + 4.0, 13, "end", "-x");
    svg += text_at(x, kMiddleY - kRadius - 18.0, 13, "middle", "+y");
    svg += text_at(x, kMiddleY + kRadius + 28.0, 13, "middle", "-y");
    svg += text_at(x, 58.0, 14, "middle",
                   half == 0 ? "z of the part upward (+z in the middle)"
                             : "z of the part downward (-z in the middle)");
    return svg;
}

std::string star(double x, double y, double r) {
    std::string points;
    for (int i = 0; i < 10; ++i) {
        const double a = std::numbers::pi * (i / 5.0 - 0.5);
        const double length = i % 2 == 0 ? r : 0.42 * r;
        points += fmt::format("{:.1f},{:.1f} ", x + length * std::cos(a), y + length * std::sin(a));
    }
    return fmt::format(
        "<polygon points=\"{}\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"1.5\"/>\n", points);
}

std::string square(double x, double y, double half) {
    return fmt::format(
        "<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:g}\" height=\"{:g}\" fill=\"#fff\" "
        "fill-opacity=\"0.85\" stroke=\"#000\" stroke-width=\"1.5\"/>\n",
        x - half, y - half, 2.0 * half, 2.0 * half);
}

std::string ring(double x, double y, double r) {
    return fmt::format(
        "<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:g}\" fill=\"#fff\" fill-opacity=\"0.85\" "
        "stroke=\"#000\" stroke-width=\"1.5\"/>\n",
        x, y, r);
}

std::string marks(const std::vector<RankedWayUp>& rows, int planned_rank) {
    std::string svg;
    // The better choices last, so that they lie on top.
    for (auto row = rows.rbegin(); row != rows.rend(); ++row) {
        const Vec2 at = on_paper(row->value.up);
        const std::string rank = fmt::format("{}", row->rank);
        if (row->asked) {
            svg += square(at.x(), at.y(), 9.0);
        }
        if (row->rank == planned_rank) {
            svg += star(at.x(), at.y(), row->asked ? 8.0 : 14.0);
        } else {
            svg += row->asked ? std::string() : ring(at.x(), at.y(), 8.5);
            svg += text_at(at.x(), at.y() + 4.0, 12, "middle", rank);
        }
    }
    return svg;
}

std::string legend(const Orientations& found, int planned_rank, double end) {
    const double left = 60.0;
    const double top = 548.0;
    const double width = 360.0;
    std::string svg;
    for (int i = 0; i < kColors; ++i) {
        svg += fmt::format(
            "<rect x=\"{:.1f}\" y=\"{:g}\" width=\"{:.1f}\" height=\"16\" fill=\"{}\"/>\n",
            left + width * i / kColors, top, width / kColors + 0.4, color(i));
    }
    svg += fmt::format(
        "<rect x=\"{:g}\" y=\"{:g}\" width=\"{:g}\" height=\"16\" fill=\"none\" "
        "stroke=\"#222\"/>\n",
        left, top, width);
    for (int i = 0; i <= 4; ++i) {
        svg += text_at(left + width * i / 4.0, top + 32.0, 12, "middle",
                       significant(0.25 * i * end / 1000.0, 2) + (i == 4 ? " or more" : ""));
    }
    svg += text_at(
        left, top + 52.0, 12, "start",
        fmt::format("cm3 of air that stays with {}",
                    found.most_vents == 0   ? "no vent"
                    : found.most_vents == 1 ? "up to one vent"
                                            : fmt::format("up to {} vents", found.most_vents)));
    // Beside each sign what it is, in two columns; beneath them how to read the disks.
    const double x = 530.0;
    svg += star(x, top + 8.0, 12.0) + text_at(x + 20.0, top + 12.0, 12, "start",
                                              planned_rank == 1 ? "first choice" : "planned");
    svg += ring(x + 130.0, top + 8.0, 8.5) +
           text_at(x + 150.0, top + 12.0, 12, "start", "others, by rank");
    svg += square(x, top + 32.0, 9.0) +
           text_at(x + 20.0, top + 36.0, 12, "start", "as asked, or as the file stands");
    double line = top + 60.0;
    for (const char* const words :
         {"Each place is one direction that could look up in the mold.",
          "Dashed: 30 and 60 degrees from the middle.", "The scale of areas is true."}) {
        svg += text_at(x - 12.0, line, 12, "start", words);
        line += 18.0;
    }
    return svg;
}

}  // namespace

std::string sphere_map_svg(const Orientations& found, int planned_rank) {
    const double end = scale_end(found.scanned);
    std::string svg = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {:g} {:g}\" width=\"{:g}\" "
        "height=\"{:g}\" font-family=\"sans-serif\" stroke=\"none\">\n"
        "<rect width=\"{:g}\" height=\"{:g}\" fill=\"#fff\"/>\n<defs>\n",
        kWidth, kHeight, kWidth, kHeight, kWidth, kHeight);
    for (int half = 0; half < 2; ++half) {
        svg += fmt::format(
            "<clipPath id=\"disk{}\"><circle cx=\"{:g}\" cy=\"{:g}\" r=\"{:g}\"/></clipPath>\n",
            half, kMiddleX[half], kMiddleY, kRadius);
    }
    svg += "</defs>\n" +
           text_at(0.5 * kWidth, 30.0, 18, "middle", "Which way up: air that stays", "bold");
    for (int half = 0; half < 2; ++half) {
        svg += disk(found.scanned, end, half) + rim(half);
    }
    return svg + marks(found.rows, planned_rank) + legend(found, planned_rank, end) + "</svg>\n";
}

std::string sphere_map_svg(const Plan& plan) {
    return sphere_map_svg(*plan.orientations, planned_way(plan).rank);
}

}  // namespace cavigram
