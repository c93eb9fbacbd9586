// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/core.h>

#include "cavigram/report/svg_text_detail.h"
#include "cavigram/report/xml_detail.h"

namespace cavigram {

namespace {

// Of the size, for each character: narrow ones, wide ones, capitals, all others (from memory, about
// those of the fonts that browsers take for sans-serif). Bytes within a character count nothing.
double width_of(char c) {
    constexpr std::string_view kNarrow = "ijlft.,:;'|!()[] -/";
    constexpr std::string_view kWide = "mwMW%@";
    if ((static_cast<unsigned char>(c) & 0xC0U) == 0x80U) {
        return 0.0;
    }
    return kNarrow.find(c) != std::string_view::npos ? 0.33
           : kWide.find(c) != std::string_view::npos ? 0.87
           : c >= 'A' && c <= 'Z'                    ? 0.7
                                                     : 0.57;
}

constexpr double kAbove = 0.78;  // of the size, above the baseline
constexpr double kBelow = 0.22;

}  // namespace

double text_width(std::string_view words, double size) {
    double width = 0.0;
    for (const char c : words) {
        width += width_of(c);
    }
    return size * width;
}

std::string svg_text(double x, double y, double size, std::string_view anchor,
                     std::string_view words, std::string_view more) {
    return fmt::format(
        "<text x=\"{:.2f}\" y=\"{:.2f}\" font-size=\"{:g}\" text-anchor=\"{}\" "
        "textLength=\"{:.2f}\" lengthAdjust=\"spacingAndGlyphs\"{}{}>{}</text>\n",
        x, y, size, anchor, std::max(0.01, text_width(words, size)), more.empty() ? "" : " ", more,
        xml_text(words));
}

Box2 text_box(double x, double y, double size, std::string_view anchor, std::string_view words) {
    const double width = text_width(words, size);
    const double left = x - (anchor == "start" ? 0.0 : anchor == "end" ? width : 0.5 * width);
    return {Vec2(left, y - kAbove * size), Vec2(left + width, y + kBelow * size)};
}

Vec2 LabelRoom::place(const Vec2& at, double off, double size, std::string_view words) {
    constexpr int kDirections = 16;
    constexpr int kRings = 12;
    const double width = text_width(words, size);
    const Vec2 half(0.5 * width, 0.5 * (kAbove + kBelow) * size);
    const auto box_at = [&](int ring, int i) {
        // From the upper right on, as people look first.
        const double angle = std::numbers::pi * (2.0 * i / kDirections + 0.25);
        const Vec2 way(std::cos(angle), -std::sin(angle));
        const double apart = off + ring * size;
        const Vec2 middle = at + Vec2(way.x() * (apart + half.x()), way.y() * (apart + half.y()));
        return Box2(middle - half, middle + half);
    };
    const auto is_free = [&](const Box2& box) {
        return within_.contains(box) &&
               std::none_of(taken_.begin(), taken_.end(),
                            [&](const Box2& other) { return other.intersects(box); });
    };
    Box2 chosen = box_at(0, 0);
    for (int k = 0; k < kRings * kDirections; ++k) {
        const Box2 box = box_at(k / kDirections, k % kDirections);
        if (is_free(box)) {
            chosen = box;
            break;
        }
    }
    take(chosen);
    return {chosen.min().x(), chosen.max().y() - kBelow * size};
}

std::string axis_name(const Vec3& direction) {
    int axis = 0;
    direction.cwiseAbs().maxCoeff(&axis);
    return std::string(direction[axis] < 0.0 ? "-" : "+") + "xyz"[axis];
}

}  // namespace cavigram
