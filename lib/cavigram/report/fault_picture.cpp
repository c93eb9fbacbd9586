// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/fault_picture.h"

#include <algorithm>
#include <array>
#include <string>

#include <fmt/core.h>

#include "cavigram/io/png_writer.h"
#include "cavigram/report/shading_detail.h"
#include "cavigram/report/svg_text_detail.h"
#include "cavigram/report/xml_detail.h"

namespace cavigram {

namespace {

constexpr double kRing_px = 13.0;
constexpr double kNumber_px = 24.0;
constexpr double kMargin_px = 40.0;    // for rings and numbers at the edge
constexpr double kFoot_px = 44.0;      // for the words below
constexpr double kHiddenShare = 0.01;  // of the diagonal: what lies so little behind is seen

// Where things with one number are.
struct Numbered {
    std::size_t number = 0;
    const std::vector<std::array<double, 3>>* places_mm = nullptr;
};

struct Ring {
    std::size_t number = 0;
    Vec2 at = Vec2::Zero();  // in pixels of the whole picture
    bool hidden = false;
};

std::vector<Ring> rings_of(const std::vector<Numbered>& all, const View& view,
                           const ShadedImage& image, double tolerance_mm) {
    std::vector<Ring> rings;
    for (const Numbered& one : all) {
        const std::size_t most = std::min(one.places_mm->size(), kMostMarkedPlaces);
        for (std::size_t i = 0; i < most; ++i) {
            const auto& p = (*one.places_mm)[i];
            const Vec3 place(p[0], p[1], p[2]);
            const Vec2 paper = view.on_paper(place);
            const Ring ring{one.number, image.pixel(paper) + Vec2(kMargin_px, kMargin_px),
                            image.hides(paper, view.nearness_mm(place), tolerance_mm)};
            const bool drawn = std::any_of(rings.begin(), rings.end(), [&](const Ring& other) {
                return other.number == ring.number && other.hidden == ring.hidden &&
                       (other.at - ring.at).norm() < kRing_px;
            });
            if (!drawn) {
                rings.push_back(ring);
            }
        }
    }
    return rings;
}

std::string ring_svg(const Ring& ring) {
    const auto circle = [&](const char* color, double width, const char* more) {
        return fmt::format(
            "<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:g}\" fill=\"none\" stroke=\"{}\" "
            "stroke-width=\"{:g}\"{}/>",
            ring.at.x(), ring.at.y(), kRing_px, color, width, more);
    };
    return circle("#fff", 7.0, "") +
           circle("#000", 3.0, ring.hidden ? " stroke-dasharray=\"5 5\"" : "") + "\n";
}

std::string numbers_svg(const std::vector<Ring>& rings, double width, double height) {
    LabelRoom room(Box2(Vec2::Zero(), Vec2(width, height)));
    for (const Ring& ring : rings) {
        room.take(Box2(ring.at - Vec2::Constant(kRing_px), ring.at + Vec2::Constant(kRing_px)));
    }
    std::string svg;
    for (const Ring& ring : rings) {
        const std::string number = std::to_string(ring.number);
        const Vec2 at = room.place(ring.at, kRing_px + 2.0, kNumber_px, number);
        // White beneath, so that it reads on a dark place.
        svg += svg_text(at.x(), at.y(), kNumber_px, "start", number,
                        "font-weight=\"bold\" stroke=\"#fff\" stroke-width=\"5\" "
                        "stroke-linejoin=\"round\"") +
               svg_text(at.x(), at.y(), kNumber_px, "start", number, "font-weight=\"bold\"");
    }
    return svg;
}

Picture drawn(const TriMesh& mesh, const std::vector<Numbered>& all, const View& view,
              const PictureOptions& options) {
    const ShadedImage image = shaded(mesh, view, options.pixels_per_mm);
    const double tolerance_mm = kHiddenShare * bounds(mesh).diagonal().norm();
    const std::vector<Ring> rings = rings_of(all, view, image, tolerance_mm);
    const std::string title = options.title + ", " + axis_name(view.up) + " at the top";
    Picture result;
    result.width_px = std::max(image.width + 2.0 * kMargin_px, text_width(title, kNumber_px) + 8.0);
    result.height_px = image.height + 2.0 * kMargin_px + kFoot_px;
    result.svg = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:g} {1:g}\" width=\"{0:g}\" "
        "height=\"{1:g}\" font-family=\"sans-serif\" role=\"img\"><title>{2}</title>\n"
        "<rect width=\"{0:g}\" height=\"{1:g}\" fill=\"#fff\"/>\n"
        "<image x=\"{3:g}\" y=\"{3:g}\" width=\"{4}\" height=\"{5}\" "
        "href=\"data:image/png;base64,",
        result.width_px, result.height_px, xml_text(title), kMargin_px, image.width, image.height);
    result.svg += base64(png_bytes(image.width, image.height, image.gray)) + "\"/>\n";
    for (const Ring& ring : rings) {
        result.svg += ring_svg(ring);
    }
    result.svg +=
        numbers_svg(rings, result.width_px, image.height + 2.0 * kMargin_px) +
        svg_text(4.0, result.height_px - 12.0, kNumber_px, "start", title, "font-weight=\"bold\"") +
        "</svg>\n";
    return result;
}

template <typename List>
std::vector<Numbered> numbered(const List& list) {
    std::vector<Numbered> all;
    all.reserve(list.size());
    for (const auto& one : list) {
        all.push_back({all.size() + 1, &one.places_mm});
    }
    return all;
}

}  // namespace

Picture faults_picture(const TriMesh& surface_mm, const std::vector<Fault>& faults,
                       const View& view, const PictureOptions& options) {
    return drawn(surface_mm, numbered(faults), view, options);
}

Picture mending_picture(const TriMesh& mended_mm, const std::vector<RepairStep>& steps,
                        const View& view, const PictureOptions& options) {
    return drawn(mended_mm, numbered(steps), view, options);
}

}  // namespace cavigram
