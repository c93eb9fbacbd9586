// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/cavity/columns.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <tuple>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/spatial/orient.h"

namespace cavigram {

namespace {

// Rows of columns that are cut together.
constexpr int kStrip = 8;

// A column that passes through a triangle. Winding grows by `enters` on the way up.
struct Crossing {
    std::int32_t column = 0;  // within the strip
    int enters = 0;
    double height = 0.0;
};

class Cutter {
  public:
    Cutter(const TriMesh& mesh, ColumnCut& cut, const RunContext& context)
        : mesh_(mesh), cut_(cut), local_(mesh.vertices.size()) {
        for_blocks(mesh.vertices.size(), 65536, context, [&](const Block& block) {
            for (std::size_t v = block.begin; v < block.end; ++v) {
                local_[v] = cut_.frame.local(mesh_.vertices[v]);
            }
        });
    }

    void set_grid(int across) {
        Box3 box;
        for (const Triangle& triangle : mesh_.triangles) {
            for (const std::int32_t v : triangle) {
                box.extend(local_[static_cast<std::size_t>(v)]);
            }
        }
        const Vec2 size = box.sizes().head<2>();
        cut_.spacing_mm = size.maxCoeff() / across;
        if (!(cut_.spacing_mm > 0.0)) {
            cut_.first.assign(1, 0);
            return;  // seen along the direction the part has no extent
        }
        cut_.count_x =
            std::max(1, static_cast<int>(std::ceil(size.x() / cut_.spacing_mm * (1.0 - 1e-12))));
        cut_.count_y =
            std::max(1, static_cast<int>(std::ceil(size.y() / cut_.spacing_mm * (1.0 - 1e-12))));
        const Vec2 grid = cut_.spacing_mm * Vec2(cut_.count_x, cut_.count_y);
        cut_.corner_mm = box.center().head<2>() - 0.5 * grid;
    }

    void cut(const RunContext& context) {
        const std::vector<std::vector<std::int32_t>> triangles = triangles_by_strip();
        struct Strip {
            std::vector<std::size_t> counts;
            std::vector<ColumnPiece> pieces;
        };
        const auto strips =
            map_blocks<Strip>(triangles.size(), 1, context, [&](const Block& block) {
                Strip strip;
                const int from = static_cast<int>(block.begin) * kStrip;
                const int to = std::min(cut_.count_y, from + kStrip);
                std::vector<Crossing> crossings;
                for (const std::int32_t t : triangles[block.begin]) {
                    add_crossings(static_cast<std::size_t>(t), from, to, crossings);
                }
                // At equal heights a column enters before it leaves, so that shells that touch make
                // one piece.
                std::stable_sort(crossings.begin(), crossings.end(),
                                 [](const Crossing& a, const Crossing& b) {
                                     return std::tuple(a.column, a.height, -a.enters) <
                                            std::tuple(b.column, b.height, -b.enters);
                                 });
                strip.counts.assign(
                    static_cast<std::size_t>(to - from) * static_cast<std::size_t>(cut_.count_x),
                    0);
                for (std::size_t i = 0; i < crossings.size();) {
                    std::size_t end = i;
                    while (end < crossings.size() && crossings[end].column == crossings[i].column) {
                        ++end;
                    }
                    const std::size_t before = strip.pieces.size();
                    add_pieces({crossings.data() + i, end - i}, strip.pieces);
                    strip.counts[static_cast<std::size_t>(crossings[i].column)] =
                        strip.pieces.size() - before;
                    i = end;
                }
                return strip;
            });
        cut_.first.assign(1, 0);
        for (const Strip& strip : strips) {
            for (const std::size_t count : strip.counts) {
                cut_.first.push_back(cut_.first.back() + count);
            }
            cut_.pieces.insert(cut_.pieces.end(), strip.pieces.begin(), strip.pieces.end());
        }
    }

  private:
    [[nodiscard]] double middle_x(int x) const {
        return cut_.corner_mm.x() + (x + 0.5) * cut_.spacing_mm;
    }
    [[nodiscard]] double middle_y(int y) const {
        return cut_.corner_mm.y() + (y + 0.5) * cut_.spacing_mm;
    }
    [[nodiscard]] const Vec3& corner(std::size_t triangle, std::size_t i) const {
        return local_[static_cast<std::size_t>(mesh_.triangles[triangle][i])];
    }
    // Columns of [0, count) whose middles lie between two coordinates, and those within rounding of
    // them, which the exact test sorts out; the first beyond the last where there are none. Most
    // triangles of a fine mesh lie between columns.
    static std::pair<int, int> columns_between(double low, double high, double corner,
                                               double spacing, int count) {
        const double rounding = 1e-6 + 16.0 * std::numeric_limits<double>::epsilon() *
                                           (std::abs(low) + std::abs(high) + std::abs(corner)) /
                                           spacing;
        const double from = std::ceil((low - corner) / spacing - 0.5 - rounding);
        const double to = std::floor((high - corner) / spacing - 0.5 + rounding);
        return {static_cast<int>(std::clamp(from, 0.0, static_cast<double>(count))),
                static_cast<int>(std::clamp(to, -1.0, count - 1.0))};
    }

    [[nodiscard]] std::vector<std::vector<std::int32_t>> triangles_by_strip() const {
        std::vector<std::vector<std::int32_t>> strips(
            static_cast<std::size_t>((cut_.count_y + kStrip - 1) / kStrip));
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            const auto [low, high] =
                std::minmax({corner(t, 0).y(), corner(t, 1).y(), corner(t, 2).y()});
            const auto [from, to] =
                columns_between(low, high, cut_.corner_mm.y(), cut_.spacing_mm, cut_.count_y);
            for (int strip = from / kStrip; from <= to && strip <= to / kStrip; ++strip) {
                strips[static_cast<std::size_t>(strip)].push_back(static_cast<std::int32_t>(t));
            }
        }
        return strips;
    }

    void add_crossings(std::size_t t, int from_row, int to_row,
                       std::vector<Crossing>& crossings) const {
        const Vec3& a = corner(t, 0);
        const Vec3& b = corner(t, 1);
        const Vec3& c = corner(t, 2);
        const auto [low, high] = std::minmax({a.y(), b.y(), c.y()});
        const auto [first_row, last_row] =
            columns_between(low, high, cut_.corner_mm.y(), cut_.spacing_mm, cut_.count_y);
        for (int y = std::max(first_row, from_row); y <= std::min(last_row, to_row - 1); ++y) {
            const double at_y = middle_y(y);
            // Where the row's line passes through the triangle: between the least and the largest x
            // on its edges.
            double left = std::numeric_limits<double>::infinity();
            double right = -left;
            for (const auto& [p, q] : {std::pair(a, b), std::pair(b, c), std::pair(c, a)}) {
                const double share =
                    p.y() != q.y() ? std::clamp((at_y - p.y()) / (q.y() - p.y()), 0.0, 1.0) : 0.0;
                left = std::min(
                    {left, p.x() + share * (q.x() - p.x()), p.y() == q.y() ? q.x() : left});
                right = std::max(
                    {right, p.x() + share * (q.x() - p.x()), p.y() == q.y() ? q.x() : right});
            }
            const auto [first, last] =
                columns_between(left, right, cut_.corner_mm.x(), cut_.spacing_mm, cut_.count_x);
            for (int x = first; x <= last; ++x) {
                const Vec2 p(middle_x(x), at_y);
                const int up = triangle_winding(a.head<2>(), b.head<2>(), c.head<2>(), p);
                if (up != 0) {
                    crossings.push_back(
                        {(y - from_row) * cut_.count_x + x, -up, height(a, b, c, p)});
                }
            }
        }
    }

    // Height of the triangle's plane over `p`, kept within the triangle's own heights: on an edge
    // seen end-on anything in between is right.
    static double height(const Vec3& a, const Vec3& b, const Vec3& c, const Vec2& p) {
        const auto cross = [](const Vec2& u, const Vec2& v) {
            return u.x() * v.y() - u.y() * v.x();
        };
        const Vec2 pa = a.head<2>() - p;
        const Vec2 pb = b.head<2>() - p;
        const Vec2 pc = c.head<2>() - p;
        const double wa = cross(pb, pc);
        const double wb = cross(pc, pa);
        const double wc = cross(pa, pb);
        const double sum = wa + wb + wc;
        const auto [low, high] = std::minmax({a.z(), b.z(), c.z()});
        const double z = sum != 0.0 ? (wa * a.z() + wb * b.z() + wc * c.z()) / sum : low;
        return std::clamp(z, low, high);
    }

    static void add_pieces(std::span<const Crossing> crossings, std::vector<ColumnPiece>& pieces) {
        int winding = 0;
        const std::size_t before = pieces.size();
        for (std::size_t i = 0; i + 1 < crossings.size(); ++i) {
            winding += crossings[i].enters;
            const double from = crossings[i].height;
            const double to = crossings[i + 1].height;
            if (winding == 0 || !(to > from)) {
                continue;
            }
            if (pieces.size() > before && pieces.back().winding == winding &&
                pieces.back().to_mm == from) {
                pieces.back().to_mm = to;
            } else {
                pieces.push_back({from, to, winding});
            }
        }
    }

    const TriMesh& mesh_;
    ColumnCut& cut_;
    std::vector<Vec3> local_;
};

}  // namespace

std::vector<ColumnStretch> ColumnCut::inside(int x, int y) const {
    std::vector<ColumnStretch> stretches;
    for (const ColumnPiece& piece : column(x, y)) {
        if (piece.winding <= 0 || !(piece.to_mm > piece.from_mm)) {
            continue;
        }
        if (stretches.empty() || piece.from_mm > stretches.back().to_mm) {
            stretches.push_back({piece.from_mm, piece.to_mm});
        } else {
            stretches.back().to_mm = piece.to_mm;
        }
    }
    return stretches;
}

ColumnCut cut_columns(const TriMesh& mesh, const Vec3& direction, const ColumnCutOptions& options,
                      const RunContext& context) {
    if (options.across < 1 || options.across > 8192) {
        throw InvalidInput("The number of columns across must be between 1 and 8192.");
    }
    if (!(direction.squaredNorm() > 0.0) || !direction.allFinite()) {
        throw InvalidInput("The direction of the columns must not be zero.");
    }
    ColumnCut cut;
    cut.frame = frame_along(direction);
    Cutter cutter(mesh, cut, context);
    cut.first.assign(1, 0);
    if (!mesh.triangles.empty()) {
        cutter.set_grid(options.across);
    }
    if (cut.count_x > 0) {
        cutter.cut(context);
    }
    return cut;
}

}  // namespace cavigram
