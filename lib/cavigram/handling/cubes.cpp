// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <queue>
#include <utility>

#include "cavigram/handling/cubes_detail.h"

namespace cavigram::detail {

namespace {

constexpr double kFar = std::numeric_limits<double>::infinity();

// Distance within the part, in edges of a cube: solves sum over the axes of (t - t_axis)^2 = 1 with
// the nearer neighbor on each axis, as far as it is upstream.
double marched(const Cubes& cubes, const std::vector<double>& time, std::size_t c) {
    std::array<double, 3> near{};
    for (int axis = 0; axis < 3; ++axis) {
        near[static_cast<std::size_t>(axis)] = kFar;
        for (const int way : {-1, 1}) {
            const std::int32_t other =
                cubes.beside(c, axis == 0 ? way : 0, axis == 1 ? way : 0, axis == 2 ? way : 0);
            if (other >= 0) {
                near[static_cast<std::size_t>(axis)] = std::min(
                    near[static_cast<std::size_t>(axis)], time[static_cast<std::size_t>(other)]);
            }
        }
    }
    std::sort(near.begin(), near.end());
    double t = near[0] + 1.0;
    double sum = near[0];
    double squares = near[0] * near[0];
    for (std::size_t n = 2; n <= 3 && near[n - 1] < t; ++n) {
        sum += near[n - 1];
        squares += near[n - 1] * near[n - 1];
        const auto count = static_cast<double>(n);
        t = (sum + std::sqrt(std::max(0.0, sum * sum - count * (squares - 1.0)))) / count;
    }
    return t;
}

}  // namespace

Cubes::Cubes(const TriMesh& mesh, const MassProperties& mass, std::size_t wanted,
             const RunContext& context) {
    const Vec3 size = mass.bounds_mm.sizes();
    // No more than so many in the box around the part: thin shells have large boxes.
    constexpr double kMostInBox = 8e6;
    const double edge = std::max(std::cbrt(mass.volume_mm3 / static_cast<double>(wanted)),
                                 std::cbrt(size.prod() / kMostInBox));
    const double across = std::max(size.x(), size.y());
    const ColumnCut cut = cut_columns(
        mesh, Vec3::UnitZ(),
        {.across = std::clamp(static_cast<int>(std::ceil(across / edge)), 1, 8192)}, context);
    edge_ = cut.spacing_mm;
    nx_ = cut.count_x;
    ny_ = cut.count_y;
    nz_ = static_cast<int>(std::ceil(size.z() / edge_)) + 1;
    fill(cut, mass.bounds_mm.min().z());
}

void Cubes::fill(const ColumnCut& cut, double bottom) {
    number_.assign(index(0, 0, nz_), -1);
    for (int y = 0; y < ny_; ++y) {
        for (int x = 0; x < nx_; ++x) {
            for (const ColumnStretch& within : cut.inside(x, y)) {
                const int from = std::max(
                    0, static_cast<int>(std::ceil((within.from_mm - bottom) / edge_ - 0.5)));
                for (int z = from; z < nz_; ++z) {
                    const double height = bottom + (z + 0.5) * edge_;
                    if (height > within.to_mm) {
                        break;
                    }
                    number_[index(x, y, z)] = static_cast<std::int32_t>(middle_.size());
                    middle_.push_back(cut.place_mm(x, y, height));
                    at_.push_back({x, y, z});
                }
            }
        }
    }
}

std::vector<double> distances(const Cubes& cubes, std::size_t from) {
    std::vector<double> time(cubes.size(), kFar);
    std::vector<bool> done(cubes.size(), false);
    using Entry = std::pair<double, std::size_t>;
    std::priority_queue<Entry, std::vector<Entry>, std::greater<>> front;
    time[from] = 0.0;
    front.emplace(0.0, from);
    while (!front.empty()) {
        const std::size_t c = front.top().second;
        front.pop();
        if (done[c]) {
            continue;
        }
        done[c] = true;
        for (int i = 0; i < 6; ++i) {
            const int way = i % 2 == 0 ? -1 : 1;
            const std::int32_t other =
                cubes.beside(c, i / 2 == 0 ? way : 0, i / 2 == 1 ? way : 0, i / 2 == 2 ? way : 0);
            if (other < 0 || done[static_cast<std::size_t>(other)]) {
                continue;
            }
            const auto n = static_cast<std::size_t>(other);
            const double t = marched(cubes, time, n);
            if (t < time[n]) {
                time[n] = t;
                front.emplace(t, n);
            }
        }
    }
    return time;
}

std::size_t farthest(const std::vector<double>& time) {
    std::size_t best = 0;
    for (std::size_t c = 0; c < time.size(); ++c) {
        if (std::isfinite(time[c]) && (!std::isfinite(time[best]) || time[c] > time[best])) {
            best = c;
        }
    }
    return best;
}

}  // namespace cavigram::detail
