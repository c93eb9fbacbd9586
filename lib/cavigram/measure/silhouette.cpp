// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/silhouette.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

// The paper as cells, with an empty rim so that outlines never run along the edge of memory.
class Paper {
  public:
    Paper(const TriMesh& mesh, const View& view, int cells) {
        Vec2 low = Vec2::Constant(std::numeric_limits<double>::infinity());
        Vec2 high = -low;
        for (const Vec3& p : mesh.vertices) {
            low = low.cwiseMin(view.on_paper(p));
            high = high.cwiseMax(view.on_paper(p));
        }
        cell_ = std::max((high - low).maxCoeff() / cells, 1e-300);
        const Vec2 counts = (high - low) / cell_;
        width_ = static_cast<int>(std::ceil(counts.x())) + 3;
        height_ = static_cast<int>(std::ceil(counts.y())) + 3;
        origin_ = low - Vec2::Constant(cell_);
        covered_.assign(static_cast<std::size_t>(width_) * static_cast<std::size_t>(height_), 0);
    }

    [[nodiscard]] bool covered(int x, int y) const { return covered_[at(x, y)] != 0; }
    [[nodiscard]] int width() const { return width_; }
    [[nodiscard]] int height() const { return height_; }
    [[nodiscard]] double cell_mm() const { return cell_; }
    [[nodiscard]] Vec2 corner_mm(int x, int y) const { return origin_ + cell_ * Vec2(x, y); }

    [[nodiscard]] std::size_t count() const {
        return static_cast<std::size_t>(std::count(covered_.begin(), covered_.end(), 1));
    }

    // Marks the cells whose middle a triangle covers, row by row: a row's middle line crosses the
    // triangle in one stretch.
    void cover(std::array<Vec2, 3> corners) {
        for (Vec2& p : corners) {
            p = (p - origin_) / cell_ - Vec2::Constant(0.5);
        }
        std::sort(corners.begin(), corners.end(),
                  [](const Vec2& p, const Vec2& q) { return p.y() < q.y(); });
        const auto& [a, b, c] = corners;
        const int first = static_cast<int>(std::ceil(a.y()));
        const int last = static_cast<int>(std::floor(c.y()));
        const auto crossing = [](const Vec2& p, const Vec2& q, double y) {
            return q.y() > p.y() ? p.x() + (q.x() - p.x()) * (y - p.y()) / (q.y() - p.y()) : p.x();
        };
        for (int y = first; y <= last; ++y) {
            double from = crossing(a, c, y);
            double to = y < b.y() ? crossing(a, b, y) : crossing(b, c, y);
            if (a.y() == c.y()) {
                from = std::min({a.x(), b.x(), c.x()});
                to = std::max({a.x(), b.x(), c.x()});
            }
            const auto [left, right] = std::minmax(from, to);
            for (int x = static_cast<int>(std::ceil(left)); x <= right; ++x) {
                covered_[at(x, y)] = 1;
            }
        }
    }

  private:
    [[nodiscard]] std::size_t at(int x, int y) const {
        return static_cast<std::size_t>(y) * static_cast<std::size_t>(width_) +
               static_cast<std::size_t>(x);
    }

    double cell_ = 1.0;
    int width_ = 0;
    int height_ = 0;
    Vec2 origin_ = Vec2::Zero();
    std::vector<std::uint8_t> covered_;
};

// The four ways along a border: right, up, left, down.
constexpr std::array<int, 4> kStepX = {1, 0, -1, 0};
constexpr std::array<int, 4> kStepY = {0, 1, 0, -1};

// Follows the borders with the shadow on the left. At a corner where two cells of shadow touch
// across, the way turns left, so that they are two shadows and not one.
class Tracer {
  public:
    explicit Tracer(const Paper& paper)
        : paper_(paper),
          used_(static_cast<std::size_t>(paper.width()) *
                static_cast<std::size_t>(paper.height())) {}

    std::vector<std::vector<Vec2>> loops() {
        std::vector<std::vector<Vec2>> all;
        for (int y = 1; y < paper_.height(); ++y) {
            for (int x = 1; x < paper_.width(); ++x) {
                // Each border has a stretch that runs to the right, below a cell of shadow.
                if (is_border(x, y, 0) && !used(x, y)) {
                    all.push_back(follow(x, y));
                }
            }
        }
        return all;
    }

  private:
    // Whether the step in `way` from the corner (x, y) has shadow on its left and none on its
    // right.
    [[nodiscard]] bool is_border(int x, int y, int way) const {
        static constexpr std::array<std::array<int, 2>, 4> kLeft = {
            {{0, 0}, {-1, 0}, {-1, -1}, {0, -1}}};
        static constexpr std::array<std::array<int, 2>, 4> kRight = {
            {{0, -1}, {0, 0}, {-1, 0}, {-1, -1}}};
        const auto w = static_cast<std::size_t>(way);
        return cell(x + kLeft[w][0], y + kLeft[w][1]) && !cell(x + kRight[w][0], y + kRight[w][1]);
    }

    [[nodiscard]] bool cell(int x, int y) const {
        return x >= 0 && y >= 0 && x < paper_.width() && y < paper_.height() &&
               paper_.covered(x, y);
    }

    [[nodiscard]] std::size_t at(int x, int y) const {
        return static_cast<std::size_t>(y) * static_cast<std::size_t>(paper_.width()) +
               static_cast<std::size_t>(x);
    }
    [[nodiscard]] bool used(int x, int y) const { return used_[at(x, y)]; }

    std::vector<Vec2> follow(int x, int y) {
        std::vector<Vec2> points;
        const int x0 = x;
        const int y0 = y;
        int way = 0;
        do {
            if (way == 0) {
                used_[at(x, y)] = true;
            }
            points.push_back(paper_.corner_mm(x, y));
            x += kStepX[static_cast<std::size_t>(way)];
            y += kStepY[static_cast<std::size_t>(way)];
            for (const int turn : {1, 0, 3}) {
                if (is_border(x, y, (way + turn) % 4)) {
                    way = (way + turn) % 4;
                    break;
                }
            }
        } while (x != x0 || y != y0 || way != 0);
        return points;
    }

    const Paper& paper_;
    std::vector<bool> used_;
};

double distance_to_segment(const Vec2& p, const Vec2& a, const Vec2& b) {
    const Vec2 segment = b - a;
    const double length2 = segment.squaredNorm();
    const double t = length2 > 0.0 ? std::clamp((p - a).dot(segment) / length2, 0.0, 1.0) : 0.0;
    return (p - a - t * segment).norm();
}

// Keeps of points[begin..end] those that are needed to stay within the tolerance; without the last.
void straighten(const std::vector<Vec2>& points, std::size_t begin, std::size_t end,
                double tolerance, std::vector<Vec2>& simplified) {
    // By hand instead of by recursion: an outline may have a hundred thousand points.
    std::vector<std::pair<std::size_t, std::size_t>> stack = {{begin, end}};
    while (!stack.empty()) {
        const auto [i, j] = stack.back();
        stack.pop_back();
        double farthest = tolerance;
        std::size_t worst = 0;
        for (std::size_t k = i + 1; k < j; ++k) {
            const double d = distance_to_segment(points[k], points[i], points[j]);
            if (d > farthest) {
                farthest = d;
                worst = k;
            }
        }
        if (worst == 0) {
            simplified.push_back(points[i]);
        } else {
            stack.push_back({worst, j});
            stack.push_back({i, worst});
        }
    }
}

std::vector<Vec2> straightened(std::vector<Vec2> loop, double tolerance) {
    // Two anchors that surely belong to the outline: the first point, and the one farthest from it.
    std::size_t far = 0;
    for (std::size_t i = 0; i < loop.size(); ++i) {
        if ((loop[i] - loop[0]).squaredNorm() > (loop[far] - loop[0]).squaredNorm()) {
            far = i;
        }
    }
    loop.push_back(loop.front());
    std::vector<Vec2> simplified;
    straighten(loop, 0, far, tolerance, simplified);
    straighten(loop, far, loop.size() - 1, tolerance, simplified);
    return simplified;
}

double signed_area(const std::vector<Vec2>& loop) {
    double twice = 0.0;
    for (std::size_t i = 0; i < loop.size(); ++i) {
        const Vec2& p = loop[i];
        const Vec2& q = loop[(i + 1) % loop.size()];
        twice += p.x() * q.y() - p.y() * q.x();
    }
    return 0.5 * twice;
}

}  // namespace

Silhouette silhouette(const TriMesh& mesh, const View& view, const SilhouetteOptions& options,
                      const RunContext& context) {
    if (options.cells < 8 || options.cells > 20'000) {
        throw InvalidInput(fmt::format("A silhouette of {} cells can't be drawn; give 8 to 20000.",
                                       options.cells));
    }
    Paper paper(mesh, view, options.cells);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        if (t % 65536 == 0) {
            context.check_stop();
        }
        paper.cover({view.on_paper(mesh.corner(t, 0)), view.on_paper(mesh.corner(t, 1)),
                     view.on_paper(mesh.corner(t, 2))});
    }
    Silhouette result;
    result.cell_mm = paper.cell_mm();
    result.area_mm2 = static_cast<double>(paper.count()) * result.cell_mm * result.cell_mm;
    for (std::vector<Vec2>& loop : Tracer(paper).loops()) {
        std::vector<Vec2> line = straightened(std::move(loop), 0.5 * result.cell_mm);
        if (line.size() >= 3) {
            result.loops.push_back(std::move(line));
        }
    }
    std::stable_sort(result.loops.begin(), result.loops.end(), [](const auto& p, const auto& q) {
        return std::abs(signed_area(p)) > std::abs(signed_area(q));
    });
    return result;
}

}  // namespace cavigram
