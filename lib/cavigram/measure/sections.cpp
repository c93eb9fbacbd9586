// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/sections.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <limits>
#include <optional>
#include <utility>

#include "cavigram/core/parallel.h"
#include "cavigram/mesh/union_find.h"

namespace cavigram {

namespace {

constexpr std::size_t kBlock = 16384;

using Edge = std::pair<std::int32_t, std::int32_t>;  // smaller vertex first

struct Crossing {
    std::size_t plane = 0;
    SectionPiece piece;
    Edge from_edge;
    Edge to_edge;
};

class Cutter {
  public:
    Cutter(const TriMesh& mesh, const Vec3& at_mm, const Vec3& normal,
           std::span<const double> heights_mm)
        : mesh_(mesh), at_(at_mm), frame_(frame_along(normal)), heights_(heights_mm) {
        height_of_.reserve(mesh.vertices.size());
        for (const Vec3& v : mesh.vertices) {
            height_of_.push_back(frame_.z.dot(v - at_));
        }
    }

    [[nodiscard]] const Frame& frame() const { return frame_; }

    // A plane at z crosses where one corner is below, h < z, and another is not: z in (least,
    // most].
    void cut(std::size_t triangle, std::vector<Crossing>& found) const {
        const Triangle& t = mesh_.triangles[triangle];
        const auto [least, most] = std::minmax({height(t[0]), height(t[1]), height(t[2])});
        auto plane = std::upper_bound(heights_.begin(), heights_.end(), least);
        for (; plane != heights_.end() && *plane <= most; ++plane) {
            found.push_back(crossing(t, *plane));
            found.back().plane = static_cast<std::size_t>(plane - heights_.begin());
        }
    }

  private:
    [[nodiscard]] double height(std::int32_t v) const {
        return height_of_[static_cast<std::size_t>(v)];
    }

    // With outward normal N and the plane's normal n the solid lies to the left of n x N. Around a
    // triangle that leads from the edge that goes down through the plane to the one that goes up.
    [[nodiscard]] Crossing crossing(const Triangle& t, double z) const {
        Crossing c;
        for (std::size_t i = 0; i < 3; ++i) {
            const std::int32_t a = t[i];
            const std::int32_t b = t[(i + 1) % 3];
            const bool a_above = height(a) >= z;
            if (a_above == (height(b) >= z)) {
                continue;
            }
            (a_above ? c.from_edge : c.to_edge) = std::minmax(a, b);
            (a_above ? c.piece.from_mm : c.piece.to_mm) =
                point_on(std::min(a, b), std::max(a, b), z);
        }
        return c;
    }

    // Always from the smaller vertex to the larger, so that both triangles of an edge get the same
    // point.
    [[nodiscard]] Vec2 point_on(std::int32_t a, std::int32_t b, double z) const {
        const double share = (z - height(a)) / (height(b) - height(a));
        const Vec3 p = mesh_.vertices[static_cast<std::size_t>(a)] - at_;
        const Vec3 q = mesh_.vertices[static_cast<std::size_t>(b)] - at_;
        const Vec3 at = p + share * (q - p);
        return {frame_.x.dot(at), frame_.y.dot(at)};
    }

    const TriMesh& mesh_;
    Vec3 at_;
    Frame frame_;
    std::span<const double> heights_;
    std::vector<double> height_of_;
};

// Pieces that share a crossed edge of the mesh belong to the same closed line.
void number_loops(std::vector<SectionPiece>& pieces, const std::vector<Edge>& from,
                  const std::vector<Edge>& to) {
    std::vector<std::pair<Edge, std::int32_t>> ends;
    ends.reserve(2 * pieces.size());
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        ends.emplace_back(from[i], static_cast<std::int32_t>(i));
        ends.emplace_back(to[i], static_cast<std::int32_t>(i));
    }
    std::sort(ends.begin(), ends.end());
    UnionFind lines(pieces.size());
    for (std::size_t i = 1; i < ends.size(); ++i) {
        if (ends[i].first == ends[i - 1].first) {
            lines.join(ends[i].second, ends[i - 1].second);
        }
    }
    const std::vector<std::int32_t> number = lines.numbered();
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        pieces[i].loop = number[i];
    }
}

double cross(const Vec2& a, const Vec2& b) {
    return a.x() * b.y() - a.y() * b.x();
}

}  // namespace

// For the triangle (0, a, b) with doubled area c: the integral of x is c (a+b)/6, and that of x x^T
// is c/24 (a a^T + b b^T + s s^T) with s = a+b.
AreaMoments area_moments(std::span<const SectionPiece> pieces) {
    Eigen::AlignedBox2d box;
    for (const SectionPiece& piece : pieces) {
        box.extend(piece.from_mm);
    }
    AreaMoments result;
    if (box.isEmpty()) {
        return result;
    }
    const Vec2 origin = box.center();
    double area2 = 0.0;
    Vec2 first6 = Vec2::Zero();
    Eigen::Matrix2d second24 = Eigen::Matrix2d::Zero();
    for (const SectionPiece& piece : pieces) {
        const Vec2 a = piece.from_mm - origin;
        const Vec2 b = piece.to_mm - origin;
        const Vec2 s = a + b;
        const double c = cross(a, b);
        area2 += c;
        first6 += c * s;
        second24 += c * (a * a.transpose() + b * b.transpose() + s * s.transpose());
    }
    result.area_mm2 = 0.5 * area2;
    if (result.area_mm2 == 0.0) {
        return result;
    }
    const Vec2 center = first6 / (6.0 * result.area_mm2);
    result.centroid_mm = origin + center;
    result.second_mm4 = second24 / 24.0 - result.area_mm2 * center * center.transpose();
    return result;
}

AreaMoments joined(const AreaMoments& one, const AreaMoments& other) {
    AreaMoments both;
    both.area_mm2 = one.area_mm2 + other.area_mm2;
    if (both.area_mm2 == 0.0) {
        return both;
    }
    both.centroid_mm =
        (one.area_mm2 * one.centroid_mm + other.area_mm2 * other.centroid_mm) / both.area_mm2;
    for (const AreaMoments& part : {one, other}) {
        const Vec2 off = part.centroid_mm - both.centroid_mm;
        both.second_mm4 += part.second_mm4 + part.area_mm2 * off * off.transpose();
    }
    return both;
}

std::vector<Section> sections(const TriMesh& mesh, const Vec3& at_mm, const Vec3& normal,
                              std::span<const double> heights_mm, const RunContext& context) {
    const Cutter cutter(mesh, at_mm, normal, heights_mm);
    std::vector<Section> found(heights_mm.size());
    std::vector<std::vector<Edge>> from(found.size());
    std::vector<std::vector<Edge>> to(found.size());
    for (const std::vector<Crossing>& block : map_blocks<std::vector<Crossing>>(
             mesh.triangles.size(), kBlock, context, [&](const Block& block) {
                 std::vector<Crossing> crossings;
                 for (std::size_t t = block.begin; t < block.end; ++t) {
                     cutter.cut(t, crossings);
                 }
                 return crossings;
             })) {
        for (const Crossing& crossing : block) {
            found[crossing.plane].pieces.push_back(crossing.piece);
            from[crossing.plane].push_back(crossing.from_edge);
            to[crossing.plane].push_back(crossing.to_edge);
        }
    }
    for (std::size_t i = 0; i < found.size(); ++i) {
        found[i].frame = cutter.frame();
        found[i].origin_mm = at_mm + heights_mm[i] * cutter.frame().z;
        number_loops(found[i].pieces, from[i], to[i]);
        found[i].moments = area_moments(found[i].pieces);
    }
    return found;
}

bool within(std::span<const SectionPiece> pieces, const Vec2& p_mm) {
    // Pieces that cross the ray to the right of the point, upward ones less downward ones.
    int winding = 0;
    for (const SectionPiece& piece : pieces) {
        const Vec2 a = piece.from_mm - p_mm;
        const Vec2 b = piece.to_mm - p_mm;
        const bool up = a.y() < 0.0 && b.y() >= 0.0;
        const bool down = b.y() < 0.0 && a.y() >= 0.0;
        if (up && cross(a, b) > 0.0) {
            ++winding;
        } else if (down && cross(a, b) < 0.0) {
            --winding;
        }
    }
    return winding > 0;
}

std::vector<std::vector<SectionPiece>> regions(const Section& section) {
    std::int32_t count = 0;
    for (const SectionPiece& piece : section.pieces) {
        count = std::max(count, piece.loop + 1);
    }
    std::vector<std::vector<SectionPiece>> loops(static_cast<std::size_t>(count));
    for (const SectionPiece& piece : section.pieces) {
        loops[static_cast<std::size_t>(piece.loop)].push_back(piece);
    }
    std::vector<double> area;
    area.reserve(loops.size());
    for (const std::vector<SectionPiece>& loop : loops) {
        area.push_back(area_moments(loop).area_mm2);
    }
    // A hole belongs to the smallest outer loop around it.
    std::vector<std::vector<SectionPiece>> found = loops;
    for (std::size_t i = 0; i < loops.size(); ++i) {
        if (area[i] > 0.0) {
            continue;
        }
        std::optional<std::size_t> around;
        for (std::size_t j = 0; j < loops.size(); ++j) {
            if (area[j] > 0.0 && (!around || area[j] < area[*around]) &&
                within(loops[j], loops[i].front().from_mm)) {
                around = j;
            }
        }
        if (around) {
            found[*around].insert(found[*around].end(), loops[i].begin(), loops[i].end());
        }
        found[i].clear();
    }
    std::erase_if(found, [](const std::vector<SectionPiece>& region) { return region.empty(); });
    return found;
}

}  // namespace cavigram
