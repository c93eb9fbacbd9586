// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/measure/view.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// A part in shades of gray on white, seen along parallel lines.
struct ShadedImage {
    int width = 0;
    int height = 0;
    std::vector<std::uint8_t> gray;  ///< Row by row from the top.
    std::vector<float> nearness_mm;  ///< Likewise; -infinity where nothing is seen.
    double pixels_per_mm = 1.0;
    Vec2 top_left_mm = Vec2::Zero();  ///< Of the image, on the view's paper.

    /// Where a point of the paper lies, in pixels from the top left.
    [[nodiscard]] Vec2 pixel(const Vec2& paper_mm) const {
        return {(paper_mm.x() - top_left_mm.x()) * pixels_per_mm,
                (top_left_mm.y() - paper_mm.y()) * pixels_per_mm};
    }
    /// Whether the surface hides a point that lies so near. Outside of the image nothing does.
    [[nodiscard]] bool hides(const Vec2& paper_mm, double point_nearness_mm,
                             double tolerance_mm) const;
};

/// Light from the upper left, smooth normals, dark lines where the depth jumps: readable on a black
/// and white printer. O(triangles + pixels).
[[nodiscard]] ShadedImage shaded(const TriMesh& mesh, const View& view, double pixels_per_mm);

/// Base64 (RFC 4648), padded.
[[nodiscard]] std::string base64(std::string_view bytes);

}  // namespace cavigram
