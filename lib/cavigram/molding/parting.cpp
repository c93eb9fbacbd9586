// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/parting.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include <Eigen/Eigenvalues>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/molding/least_cut.h"
#include "cavigram/molding/parting_field.h"

namespace cavigram {

namespace {

// Patches are given up in so many rounds at most; each leaves fewer.
constexpr int kMostRounds = 12;
// What lies in the way is measured up to this share of the diagonal.
constexpr double kFarthest = 0.1;
// Edges that turn by more are where a line belongs.
constexpr double kSharp_deg = 30.0;
// A face is seen with no more than this share of the diagonal in its way.
constexpr double kSeen = 1e-4;

std::size_t at(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

class Maker {
  public:
    Maker(const PartingSurface& surface, const TriangleBvh& index, const Vec3& pull,
          const PartingOptions& options, const RunContext& context)
        : surface_(surface),
          mesh_(surface.mesh_mm),
          options_(options),
          context_(context),
          diagonal_(index.bounds_mm().diagonal().norm()) {
        result_.pull = pull.normalized();
        result_.views = side_views(mesh_, index, result_.pull, kFarthest * diagonal_, context);
        measure_faces();
        smooth_normals();
    }

    Parting run() {
        cut();
        give_up_patches();
        result_.line = line_along_edges(surface_, result_.upper_face, result_.pull);
        if (options_.smooth && !result_.line.loops.empty()) {
            smooth();
        }
        measure();
        return std::move(result_);
    }

  private:
    void measure_faces() {
        const std::size_t count = mesh_.triangles.size();
        area_.resize(count);
        normal_.resize(count);
        for (std::size_t t = 0; t < count; ++t) {
            const Vec3 twice =
                double_area_vector(mesh_.corner(t, 0), mesh_.corner(t, 1), mesh_.corner(t, 2));
            area_[t] = 0.5 * twice.norm();
            normal_[t] = twice.stableNormalized();
        }
    }

    // Bilateral: averaged with those neighbors that look much the same, so that noise makes no
    // sharp edges and sharp edges stay.
    void smooth_normals() {
        smoothed_ = normal_;
        std::vector<Vec3> next(normal_.size());
        for (int round = 0; round < 3; ++round) {
            for_blocks(normal_.size(), 8192, context_, [&](const Block& block) {
                for (std::size_t t = block.begin; t < block.end; ++t) {
                    Vec3 sum = area_[t] * smoothed_[t];
                    for (std::size_t i = 0; i < 3; ++i) {
                        const std::size_t n = at(surface_.adjacent.twin[3 * t + i]) / 3;
                        const double apart = (smoothed_[n] - smoothed_[t]).squaredNorm();
                        sum += area_[n] * std::exp(-apart / (2.0 * 0.35 * 0.35)) * smoothed_[n];
                    }
                    next[t] = sum.norm() > 0.0 ? Vec3(sum.normalized()) : smoothed_[t];
                }
            });
            smoothed_.swap(next);
        }
    }

    // What a line along a halfedge costs, as a length; edges that turn by less than `least_deg` get
    // no favor.
    [[nodiscard]] double edge_cost_mm(std::size_t h, double least_deg = 0.0) const {
        const std::size_t t = h / 3;
        const std::size_t n = at(surface_.adjacent.twin[h]) / 3;
        const Vec3& a = mesh_.corner(t, static_cast<int>(h % 3));
        const Vec3& b = mesh_.corner(t, static_cast<int>((h + 1) % 3));
        const double degrees = std::acos(std::clamp(smoothed_[t].dot(smoothed_[n]), -1.0, 1.0)) *
                               180.0 / std::numbers::pi;
        // Convex: the neighbor's face falls away behind this one's plane.
        const Vec3 inward = smoothed_[t].cross(b - a);
        const bool convex = smoothed_[n].dot(inward) <= 0.0;
        const double favor = degrees < least_deg ? 1.0
                             : convex            ? std::max(0.1, std::exp(-degrees / 30.0))
                                                 : 1.0 + std::min(3.0, degrees / 30.0);
        return (b - a).norm() * favor +
               options_.height_weight * std::abs((b - a).dot(result_.pull));
    }

    void cut() {
        std::vector<SidePrice> prices(mesh_.triangles.size());
        const double full = options_.hidden_share * diagonal_;
        for (std::size_t t = 0; t < prices.size(); ++t) {
            prices[t] = {area_[t] * std::min(1.0, result_.views[t].above_mm / full),
                         area_[t] * std::min(1.0, result_.views[t].below_mm / full)};
        }
        std::vector<CutLink> links;
        const double width = options_.length_share * diagonal_;
        for (std::size_t h = 0; h < surface_.adjacent.twin.size(); ++h) {
            const auto twin = at(surface_.adjacent.twin[h]);
            if (h < twin) {
                links.push_back({static_cast<std::int32_t>(h / 3),
                                 static_cast<std::int32_t>(twin / 3), width * edge_cost_mm(h)});
            }
        }
        context_.check_stop();
        result_.upper_face = least_cut(prices, links);
    }

    // A round turns over the patches that are too small or too little seen, but no two that touch.
    void give_up_patches() {
        for (int round = 0; round < kMostRounds; ++round) {
            const PartingLine line = line_along_edges(surface_, result_.upper_face, result_.pull);
            const std::vector<bool> turn = patches_to_turn(line);
            if (std::find(turn.begin(), turn.end(), true) == turn.end()) {
                return;
            }
            for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
                if (turn[at(line.patch_of[t])]) {
                    result_.upper_face[t] = !result_.upper_face[t];
                }
            }
        }
    }

    [[nodiscard]] std::vector<bool> patches_to_turn(const PartingLine& line) const {
        const std::size_t count = line.patches.size();
        std::vector<double> area(count);
        std::vector<double> seen(count);
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            const std::size_t p = at(line.patch_of[t]);
            const double blocked =
                result_.upper_face[t] ? result_.views[t].above_mm : result_.views[t].below_mm;
            area[p] += area_[t];
            seen[p] += blocked <= kSeen * diagonal_ ? area_[t] : 0.0;
        }
        std::vector<std::vector<std::size_t>> beside(count);
        for (const PartingLoop& loop : line.loops) {
            beside[at(loop.upper_patch)].push_back(at(loop.lower_patch));
            beside[at(loop.lower_patch)].push_back(at(loop.upper_patch));
        }
        std::vector<std::size_t> order;
        for (std::size_t p = 0; p < count; ++p) {
            const double whole = surface_.area_mm2[at(line.patches[p].shell)];
            const bool small = area[p] < options_.small_patch * whole;
            const bool unseen = seen[p] < options_.least_seen * area[p] && area[p] < 0.25 * whole;
            if (!beside[p].empty() && (small || unseen)) {
                order.push_back(p);
            }
        }
        std::stable_sort(order.begin(), order.end(),
                         [&](std::size_t a, std::size_t b) { return area[a] < area[b]; });
        std::vector<bool> turn(count);
        for (const std::size_t p : order) {
            turn[p] = std::none_of(beside[p].begin(), beside[p].end(),
                                   [&](std::size_t n) { return turn[n]; });
        }
        return turn;
    }

    // What may belong to either half: what would catch rubber by no more than a little. On a round
    // wall of radius R that turns by a, the way out through the part is 2 R sin a long and the
    // rubber moves aside by R (1 - cos a), about a quarter of that way times sin a, which is |n d|.
    [[nodiscard]] std::vector<bool> either_faces() const {
        const double aside = options_.aside_share * diagonal_;
        std::vector<bool> either(mesh_.triangles.size());
        for (std::size_t t = 0; t < either.size(); ++t) {
            const double way = std::max(result_.views[t].above_mm, result_.views[t].below_mm);
            either[t] = way < kFarthest * diagonal_ &&
                        0.25 * way * std::abs(normal_[t].dot(result_.pull)) < aside;
        }
        return either;
    }

    // Along edges, with the favor that sharp ones have: what a scan's noise favors is no edge.
    [[nodiscard]] double cost_along_edges_mm() const {
        double sum = 0.0;
        for (std::size_t h = 0; h < surface_.adjacent.twin.size(); ++h) {
            const std::size_t n = at(surface_.adjacent.twin[h]) / 3;
            if (result_.upper_face[h / 3] && !result_.upper_face[n]) {
                sum += edge_cost_mm(h, kSharp_deg);
            }
        }
        return sum;
    }

    [[nodiscard]] double cost_across_faces_mm(const PartingLine& line) const {
        double sum = 0.0;
        for (const PartingLoop& loop : line.loops) {
            for (std::size_t i = 0; i < loop.points_mm.size(); ++i) {
                const Vec3 piece =
                    loop.points_mm[(i + 1) % loop.points_mm.size()] - loop.points_mm[i];
                sum += piece.norm() + options_.height_weight * std::abs(piece.dot(result_.pull));
            }
        }
        return sum;
    }

    // The cheaper of the smoothed and the harmonic line, if it is as valid as that along edges and
    // costs less. The first is shorter where it is free to move, the second where the free band is
    // narrow, since it keeps to its middle.
    void smooth() {
        const std::vector<bool> either = either_faces();
        const bool must_be_valid = result_.line.valid;
        const int most_slits = result_.line.slits;
        double least = cost_along_edges_mm();
        std::vector<double> best;
        for (const int steps : {PartingFieldOptions{}.steps, 0}) {
            std::vector<double> field =
                parting_field(surface_, result_.upper_face, either, {.steps = steps}, context_);
            PartingLine line = line_across_faces(surface_, field, result_.pull);
            const double cost = cost_across_faces_mm(line);
            if ((line.valid || !must_be_valid) && line.slits <= most_slits &&
                line.wrapped <= result_.line.wrapped && cost < least) {
                least = cost;
                result_.line = std::move(line);
                best = std::move(field);
            }
        }
        result_.smooth = !best.empty();
        for (std::size_t t = 0; t < mesh_.triangles.size() && result_.smooth; ++t) {
            const Triangle& c = mesh_.triangles[t];
            result_.upper_face[t] = best[at(c[0])] + best[at(c[1])] + best[at(c[2])] >= 0.0;
        }
        result_.field = std::move(best);
    }

    void measure() {
        double bottom = std::numeric_limits<double>::infinity();
        double top = -bottom;
        for (const Triangle& t : mesh_.triangles) {
            for (const std::int32_t v : t) {
                const double z = mesh_.vertices[at(v)].dot(result_.pull);
                bottom = std::min(bottom, z);
                top = std::max(top, z);
            }
        }
        result_.height_mm = top - bottom;
        double low = std::numeric_limits<double>::infinity();
        double high = -low;
        for (const PartingLoop& loop : result_.line.loops) {
            result_.length_mm += loop.length_mm;
            low = std::min(low, loop.low_mm);
            high = std::max(high, loop.high_mm);
        }
        if (!result_.line.loops.empty()) {
            result_.low_mm = low - bottom;
            result_.high_mm = high - bottom;
            result_.upper_height_mm = top - low;
            result_.lower_height_mm = high - bottom;
            result_.off_plane_mm = off_plane_mm();
        }
        for (std::size_t t = 0; t < area_.size(); ++t) {
            const SideView& view = result_.views[t];
            result_.hidden_mm2 += view.above_mm > kSeen * diagonal_ &&
                                          view.below_mm > kSeen * diagonal_ &&
                                          !surface_.hollow[at(surface_.shells.of_triangle[t])]
                                      ? area_[t]
                                      : 0.0;
        }
    }

    // Plane through the middle of the line's pieces, across the direction in which they spread
    // least.
    [[nodiscard]] double off_plane_mm() const {
        Vec3 middle = Vec3::Zero();
        double length = 0.0;
        const auto each = [&](const auto& visit) {
            for (const PartingLoop& loop : result_.line.loops) {
                for (std::size_t i = 0; i < loop.points_mm.size(); ++i) {
                    visit(loop.points_mm[i], loop.points_mm[(i + 1) % loop.points_mm.size()]);
                }
            }
        };
        each([&](const Vec3& p, const Vec3& q) {
            middle += (q - p).norm() * 0.5 * (p + q);
            length += (q - p).norm();
        });
        middle /= length > 0.0 ? length : 1.0;
        Mat3 spread = Mat3::Zero();
        each([&](const Vec3& p, const Vec3& q) {
            const Vec3 away = 0.5 * (p + q) - middle;
            spread += (q - p).norm() * away * away.transpose();
        });
        const Eigen::SelfAdjointEigenSolver<Mat3> axes(spread);
        const Vec3 across = axes.eigenvectors().col(0);
        double most = 0.0;
        each([&](const Vec3& p, const Vec3&) {
            most = std::max(most, std::abs((p - middle).dot(across)));
        });
        return most;
    }

    const PartingSurface& surface_;
    const TriMesh& mesh_;
    const PartingOptions& options_;
    const RunContext& context_;
    double diagonal_;
    std::vector<double> area_;
    std::vector<Vec3> normal_;
    std::vector<Vec3> smoothed_;
    Parting result_;
};

}  // namespace

Parting parting(const PartingSurface& surface, const TriangleBvh& index, const Vec3& pull,
                const PartingOptions& options, const RunContext& context) {
    if (!(pull.squaredNorm() > 0.0) || !pull.allFinite()) {
        throw InvalidInput("The pull direction must not be zero.");
    }
    return Maker(surface, index, pull, options, context).run();
}

}  // namespace cavigram
