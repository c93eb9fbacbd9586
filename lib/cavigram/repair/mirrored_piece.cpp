// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "cavigram/geom/triangle.h"
#include "cavigram/repair/border_detail.h"
#include "cavigram/repair/faults.h"
#include "cavigram/repair/mirrored_piece_detail.h"
#include "cavigram/repair/submesh_detail.h"

namespace cavigram {

namespace {

// Shares of the part's largest extent, tried on the shapes of docs/rooms/repair.md: how far images
// may lie off the surface, and those of the rim, which decides (the first alone let planes pass
// whose pieces put the volume 7 % off).
constexpr double kAgreeing = 0.01;
constexpr double kRimAgreeing = 0.006;
constexpr double kNoises = 3.0;
constexpr double kMostTaken = 0.45;  // of the triangles
constexpr double kGap = 0.3;         // of the rim's mean edge, between rim and piece
constexpr int kStepsFromRim = 4;     // triangles

// Triangles of the surface that lie over the hole when mirrored: from those beside the image of the
// rim on, all whose corners' images keep clear of the surface.
class PieceFinder {
  public:
    PieceFinder(const TriMesh& mesh, const Adjacency& adjacent, const TriangleBvh& tree,
                const MirrorPlane& plane, double gap_mm)
        : mesh_(mesh),
          adjacent_(adjacent),
          tree_(tree),
          plane_(plane),
          gap_mm_(gap_mm),
          clear_(mesh.vertices.size(), -1),
          reached_(mesh.triangles.size(), false) {}

    // Rising; empty if it meets a border or takes too much.
    std::vector<std::int32_t> beside(const Rim& rim) {
        std::vector<std::int32_t> piece = first_ones(rim);
        reached_.assign(mesh_.triangles.size(), false);
        for (const std::int32_t t : piece) {
            reached_[static_cast<std::size_t>(t)] = true;
        }
        for (std::size_t i = 0; i < piece.size(); ++i) {
            for (std::size_t k = 0; k < 3; ++k) {
                const std::int32_t twin =
                    adjacent_.twin[3 * static_cast<std::size_t>(piece[i]) + k];
                if (twin < 0 ||
                    static_cast<double>(i) > kMostTaken * static_cast<double>(reached_.size())) {
                    return {};
                }
                if (is_clear(twin / 3)) {
                    reach(twin / 3, piece);
                }
            }
        }
        std::sort(piece.begin(), piece.end());
        return piece;
    }

  private:
    void reach(std::int32_t t, std::vector<std::int32_t>& list) {
        if (!reached_[static_cast<std::size_t>(t)]) {
            reached_[static_cast<std::size_t>(t)] = true;
            list.push_back(t);
        }
    }

    // Within a few triangles of the rim's image, those that are clear and whose middle is mirrored
    // to where the nearest of the surface is a border.
    std::vector<std::int32_t> first_ones(const Rim& rim) {
        std::vector<std::int32_t> near;
        for (const std::int32_t v : rim.vertices) {
            reach(tree_.nearest(plane_.image(position(mesh_, v))).triangle, near);
        }
        std::size_t begin = 0;
        for (int step = 0; step < kStepsFromRim; ++step) {
            const std::size_t end = near.size();
            for (; begin < end; ++begin) {
                for (std::size_t k = 0; k < 3; ++k) {
                    const std::int32_t twin =
                        adjacent_.twin[3 * static_cast<std::size_t>(near[begin]) + k];
                    if (twin >= 0) {
                        reach(twin / 3, near);
                    }
                }
            }
        }
        const BorderSides border(mesh_, adjacent_);
        std::vector<std::int32_t> first;
        for (const std::int32_t k : near) {
            const auto t = static_cast<std::size_t>(k);
            const Vec3 middle =
                (mesh_.corner(t, 0) + mesh_.corner(t, 1) + mesh_.corner(t, 2)) / 3.0;
            if (is_clear(k) && border.holds(tree_.nearest(plane_.image(middle)))) {
                first.push_back(k);
            }
        }
        return first;
    }

    bool is_clear(std::int32_t t) {
        const Triangle& corners = mesh_.triangles[static_cast<std::size_t>(t)];
        return std::all_of(corners.begin(), corners.end(), [&](std::int32_t v) {
            std::int8_t& known = clear_[static_cast<std::size_t>(v)];
            if (known < 0) {
                const NearestPoint near = tree_.nearest(plane_.image(position(mesh_, v)), gap_mm_);
                known = near.triangle < 0 ? 1 : 0;
            }
            return known == 1;
        });
    }

    const TriMesh& mesh_;
    const Adjacency& adjacent_;
    const TriangleBvh& tree_;
    const MirrorPlane& plane_;
    double gap_mm_;
    std::vector<std::int8_t> clear_;  // for each vertex: -1 not asked yet
    std::vector<bool> reached_;
};

// The strip of least area between two loops of border halfedges that go around one another, from
// their nearest corners on. Empty for loops so long that it would take too much memory.
//
// The patch runs against both, and they run against each other: the rim forward, the loop back.
// Cheapest ways to each pair of corners (i along the rim, k along the loop), one step on the rim or
// one on the loop at a time.
class Strip {
  public:
    Strip(const std::vector<Vec3>& points, const std::vector<std::int32_t>& rim,
          const std::vector<std::int32_t>& loop)
        : points_(points), rim_(rim), loop_(loop), columns_(loop.size() + 1) {
        double least = std::numeric_limits<double>::infinity();
        for (std::size_t r = 0; r < rim.size(); ++r) {
            for (std::size_t p = 0; p < loop.size(); ++p) {
                const double apart = (at(rim[r]) - at(loop[p])).squaredNorm();
                if (apart < least) {
                    least = apart;
                    first_of_rim_ = r;
                    first_of_loop_ = p;
                }
            }
        }
    }

    std::vector<Triangle> triangles() {
        if ((rim_.size() + 1) * columns_ > kMostPairs) {
            return {};
        }
        find_ways();
        std::vector<Triangle> strip;
        std::size_t i = rim_.size();
        std::size_t k = loop_.size();
        while (i + k > 0) {
            const bool on_rim = on_rim_[i * columns_ + k];
            strip.push_back(on_rim ? step_on_rim(i - 1, k) : step_on_loop(i, k - 1));
            i -= on_rim ? 1 : 0;
            k -= on_rim ? 0 : 1;
        }
        return strip;
    }

  private:
    static constexpr std::size_t kMostPairs = 4'000'000;

    [[nodiscard]] const Vec3& at(std::int32_t v) const {
        return points_[static_cast<std::size_t>(v)];
    }
    [[nodiscard]] std::int32_t on_rim(std::size_t i) const {
        return rim_[(first_of_rim_ + i) % rim_.size()];
    }
    [[nodiscard]] std::int32_t on_loop(std::size_t k) const {
        return loop_[(first_of_loop_ + 2 * loop_.size() - k) % loop_.size()];
    }
    [[nodiscard]] Triangle step_on_rim(std::size_t i, std::size_t k) const {
        return {on_rim(i + 1), on_rim(i), on_loop(k)};
    }
    [[nodiscard]] Triangle step_on_loop(std::size_t i, std::size_t k) const {
        return {on_loop(k), on_loop(k + 1), on_rim(i)};
    }
    [[nodiscard]] double area(const Triangle& t) const {
        return double_area_vector(at(t[0]), at(t[1]), at(t[2])).norm();
    }

    void find_ways() {
        std::vector<double> before(columns_, std::numeric_limits<double>::infinity());
        on_rim_.assign((rim_.size() + 1) * columns_, false);
        for (std::size_t i = 0; i <= rim_.size(); ++i) {
            std::vector<double> cost(columns_, std::numeric_limits<double>::infinity());
            for (std::size_t k = 0; k < columns_; ++k) {
                if (i + k == 0) {
                    cost[k] = 0.0;
                    continue;
                }
                if (k > 0) {
                    cost[k] = cost[k - 1] + area(step_on_loop(i, k - 1));
                }
                const double by_rim = i > 0 ? before[k] + area(step_on_rim(i - 1, k)) : before[k];
                if (by_rim < cost[k]) {
                    cost[k] = by_rim;
                    on_rim_[i * columns_ + k] = true;
                }
            }
            before = std::move(cost);
        }
    }

    const std::vector<Vec3>& points_;
    const std::vector<std::int32_t>& rim_;
    const std::vector<std::int32_t>& loop_;
    std::size_t columns_;
    std::size_t first_of_rim_ = 0;
    std::size_t first_of_loop_ = 0;
    std::vector<bool> on_rim_;
};

bool is_disc(const TriMesh& piece, const Adjacency& adjacent,
             const std::vector<std::vector<std::int32_t>>& loops) {
    const std::size_t edges = (3 * piece.triangles.size() + adjacent.border_halfedges) / 2;
    return adjacent.irregular_halfedges == 0 && loops.size() == 1 &&
           shells(piece, adjacent).count == 1 &&
           piece.vertices.size() + piece.triangles.size() == edges + 1;
}

}  // namespace

Mirroring::Mirroring(const TriMesh& mesh, const Adjacency& adjacent, const RunContext& context)
    : mesh_(mesh),
      adjacent_(adjacent),
      tree_(mesh, context),
      extent_mm_(bounds(mesh).sizes().maxCoeff()),
      noise_mm_(survey_shape(mesh, context).noise_mm),
      planes_(mirror_planes(mesh, adjacent, tree_,
                            std::max(kNoises * noise_mm_, kAgreeing * extent_mm_), context)) {}

std::optional<MirroredPiece> Mirroring::across(const MirrorPlane& plane, const Rim& rim) const {
    const BorderSides border(mesh_, adjacent_);
    double squares = 0.0;
    for (const std::int32_t v : rim.vertices) {
        const NearestPoint near = tree_.nearest(plane.image(position(mesh_, v)));
        if (border.holds(near)) {
            return std::nullopt;
        }
        squares += near.distance_mm * near.distance_mm;
    }
    const double off = std::sqrt(squares / static_cast<double>(rim.vertices.size()));
    if (off > std::max(kNoises * noise_mm_, kRimAgreeing * extent_mm_)) {
        return std::nullopt;
    }
    const double edge = rim.length_mm / static_cast<double>(rim.vertices.size());
    PieceFinder finder(mesh_, adjacent_, tree_, plane, std::max(2.0 * off, kGap * edge));
    const TriMesh there = submesh(mesh_, finder.beside(rim));
    if (there.triangles.empty()) {
        return std::nullopt;
    }
    TriMesh piece = flipped(there);
    for (Vec3& v : piece.vertices) {
        v = plane.image(v);
    }
    const Adjacency own = adjacency(piece);
    std::vector<std::vector<std::int32_t>> loops = border_loops(piece, own);
    if (!is_disc(piece, own, loops)) {
        return std::nullopt;
    }
    MirroredPiece result;
    const auto first = static_cast<std::int32_t>(mesh_.vertices.size());
    std::vector<Vec3> points = mesh_.vertices;
    points.insert(points.end(), piece.vertices.begin(), piece.vertices.end());
    for (std::int32_t& v : loops.front()) {
        v += first;
    }
    result.triangles = Strip(points, rim.vertices, loops.front()).triangles();
    if (result.triangles.empty()) {
        return std::nullopt;
    }
    for (const Triangle& t : piece.triangles) {
        result.triangles.push_back({t[0] + first, t[1] + first, t[2] + first});
    }
    for (const Triangle& t : result.triangles) {
        const Vec3 a = points[static_cast<std::size_t>(t[0])] - rim.center;
        const Vec3 b = points[static_cast<std::size_t>(t[1])] - rim.center;
        const Vec3 c = points[static_cast<std::size_t>(t[2])] - rim.center;
        result.area_mm2 += 0.5 * (b - a).cross(c - a).norm();
        result.volume_mm3 += a.dot(b.cross(c)) / 6.0;
    }
    result.vertices = std::move(piece.vertices);
    result.residual_mm = std::hypot(off, plane.residual_mm);
    result.agreeing_share = plane.agreeing_share;
    result.taken_from_mm = plane.image(rim.center);
    return result;
}

std::optional<MirroredPiece> Mirroring::piece_for(const Rim& rim) const {
    std::optional<MirroredPiece> best;
    double least = 0.0;
    double most = 0.0;
    for (const MirrorPlane& plane : planes_) {
        std::optional<MirroredPiece> piece = across(plane, rim);
        if (!piece) {
            continue;
        }
        least = best ? std::min(least, piece->volume_mm3) : piece->volume_mm3;
        most = best ? std::max(most, piece->volume_mm3) : piece->volume_mm3;
        if (!best || piece->residual_mm < best->residual_mm) {
            best = std::move(piece);
        }
    }
    if (best) {
        best->others_below_mm3 = best->volume_mm3 - least;
        best->others_above_mm3 = most - best->volume_mm3;
    }
    return best;
}

}  // namespace cavigram
