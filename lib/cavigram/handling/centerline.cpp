// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/handling/centerline.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <optional>
#include <queue>

#include "cavigram/handling/cubes_detail.h"
#include "cavigram/mesh/union_find.h"

namespace cavigram {

namespace {

using detail::Cubes;
using detail::distances;
using detail::farthest;

constexpr double kFar = std::numeric_limits<double>::infinity();
// A section so much wider than a disc of its area, by the square of its radius of gyration, is that
// of a shell or a plate. Twice that of a bar four times as wide as thick is 2.2.
constexpr double kCompact = 3.0;
// A part shorter than so many of its mean widths has no line to speak of.
constexpr double kSlender = 3.0;
// Of the volume: what may be cut off from the rest, or lead back into it, without mattering.
constexpr double kLittle = 0.03;

// The part in bands of equal distance from one end, each band in its pieces.
class Bands {
  public:
    Bands(const Cubes& cubes, std::size_t first, const CenterlineOptions& options)
        : cubes_(cubes), time_(distances(cubes, first)), last_(farthest(time_)) {
        // Bands of two and a half cubes are the thinnest that hang together.
        constexpr double kCubesAcross = 2.5;
        const double length = time_[last_] + 1.0;
        count_ = std::clamp<std::size_t>(static_cast<std::size_t>(length / kCubesAcross), 2,
                                         std::max<std::size_t>(2, options.elements));
        // From the end that is farther: fronts are flat only far from where they start.
        const std::vector<double> back = distances(cubes, last_);
        for (std::size_t c = 0; c < cubes.size(); ++c) {
            if (!std::isfinite(time_[c])) {
                ++unreached_;
                band_.push_back(count_);
                continue;
            }
            const double there = std::min(1.0, time_[c] / length);
            const double along = (1.0 - there) * (length - 1.0 - back[c]) + there * time_[c] + 0.5;
            band_.push_back(
                std::min(count_ - 1, static_cast<std::size_t>(std::max(0.0, along) / length *
                                                              static_cast<double>(count_))));
        }
        find_pieces();
        walk_back();
        hang_branches();
    }

    [[nodiscard]] std::size_t count() const { return count_; }
    [[nodiscard]] std::size_t last() const { return last_; }
    [[nodiscard]] double length_mm() const { return (time_[last_] + 1.0) * cubes_.edge_mm(); }
    [[nodiscard]] double unreached_share() const {
        return static_cast<double>(unreached_) / static_cast<double>(cubes_.size());
    }
    // Of the part: pieces that lead back into the line.
    [[nodiscard]] double ring_share() const {
        return static_cast<double>(ring_) / static_cast<double>(cubes_.size());
    }
    [[nodiscard]] bool on_line(std::size_t c) const {
        return band_[c] < count_ && is_main_[static_cast<std::size_t>(piece_[c])];
    }
    [[nodiscard]] std::size_t band(std::size_t c) const { return band_[c]; }
    // The band on which a cube hangs.
    [[nodiscard]] std::size_t hangs_on(std::size_t c) const { return hangs_on_[c]; }

  private:
    void find_pieces() {
        UnionFind pieces(cubes_.size());
        for (std::size_t c = 0; c < cubes_.size(); ++c) {
            cubes_.around(c, [&](std::size_t other) {
                if (other < c && band_[other] == band_[c]) {
                    pieces.join(static_cast<std::int32_t>(other), static_cast<std::int32_t>(c));
                }
            });
        }
        piece_ = pieces.numbered();
        pieces_ = static_cast<std::size_t>(*std::max_element(piece_.begin(), piece_.end())) + 1;
    }

    // From the last cube always to the nearest neighbor: the pieces on the way are the line's.
    void walk_back() {
        is_main_.assign(pieces_, false);
        std::size_t c = last_;
        for (;;) {
            is_main_[static_cast<std::size_t>(piece_[c])] = true;
            std::size_t next = c;
            cubes_.around(
                c, [&](std::size_t other) { next = time_[other] < time_[next] ? other : next; });
            if (next == c) {
                return;
            }
            c = next;
        }
    }

    // What is left when the line's own pieces are taken away falls into branches. Each hangs on the
    // first band of the line that it touches; one that touches it at two places far from each other
    // is the other half of a ring.
    void hang_branches() {
        UnionFind branches(pieces_);
        each_contact([&](std::size_t p, std::size_t o, std::size_t) {
            if (!is_main_[o]) {
                branches.join(static_cast<std::int32_t>(p), static_cast<std::int32_t>(o));
            }
        });
        std::vector<std::size_t> least(pieces_, count_);
        std::vector<std::size_t> most(pieces_, 0);
        each_contact([&](std::size_t p, std::size_t o, std::size_t band) {
            if (is_main_[o]) {
                const auto branch =
                    static_cast<std::size_t>(branches.find(static_cast<std::int32_t>(p)));
                least[branch] = std::min(least[branch], band);
                most[branch] = std::max(most[branch], band);
            }
        });
        hangs_on_.resize(cubes_.size());
        constexpr std::size_t kSamePlace = 3;  // bands; fronts lie aslant where a branch begins
        for (std::size_t c = 0; c < cubes_.size(); ++c) {
            const auto p = static_cast<std::size_t>(piece_[c]);
            const auto branch =
                static_cast<std::size_t>(branches.find(static_cast<std::int32_t>(p)));
            hangs_on_[c] = is_main_[p] ? band_[c] : std::min(least[branch], count_ - 1);
            ring_ += !is_main_[p] && most[branch] > least[branch] + kSamePlace ? 1 : 0;
        }
    }

    // Calls with each piece off the line, one that it touches, and that one's band.
    template <class Call>
    void each_contact(const Call& call) const {
        for (std::size_t c = 0; c < cubes_.size(); ++c) {
            const auto p = static_cast<std::size_t>(piece_[c]);
            if (is_main_[p]) {
                continue;
            }
            cubes_.around(c, [&](std::size_t other) {
                const auto o = static_cast<std::size_t>(piece_[other]);
                if (o != p) {
                    call(p, o, band_[other]);
                }
            });
        }
    }

    const Cubes& cubes_;
    std::vector<double> time_;
    std::size_t last_;
    std::size_t count_ = 0;
    std::size_t unreached_ = 0;
    std::size_t ring_ = 0;
    std::vector<std::size_t> band_;
    std::vector<std::int32_t> piece_;
    std::size_t pieces_ = 0;
    std::vector<bool> is_main_;
    std::vector<std::size_t> hangs_on_;
};

struct Middles {
    std::vector<Vec3> at_mm;    // of the line's piece in each band
    std::vector<double> cubes;  // in it
    std::vector<Mat3> second;   // mean of x x^T about it
};

Middles middles_of(const Cubes& cubes, const Bands& bands) {
    Middles m;
    m.at_mm.assign(bands.count(), Vec3::Zero());
    m.cubes.assign(bands.count(), 0.0);
    m.second.assign(bands.count(), Mat3::Zero());
    for (std::size_t c = 0; c < cubes.size(); ++c) {
        if (bands.on_line(c)) {
            m.cubes[bands.band(c)] += 1.0;
            m.at_mm[bands.band(c)] += cubes.middle_mm(c);
        }
    }
    for (std::size_t b = 0; b < bands.count(); ++b) {
        m.at_mm[b] /= std::max(1.0, m.cubes[b]);
    }
    for (std::size_t c = 0; c < cubes.size(); ++c) {
        if (bands.on_line(c)) {
            const Vec3 off = cubes.middle_mm(c) - m.at_mm[bands.band(c)];
            m.second[bands.band(c)] += off * off.transpose() / m.cubes[bands.band(c)];
        }
    }
    return m;
}

// 1 2 1, the ends as they are.
std::vector<Vec3> smoothed(std::vector<Vec3> at, int times) {
    for (int i = 0; i < times; ++i) {
        const std::vector<Vec3> before = at;
        for (std::size_t k = 1; k + 1 < at.size(); ++k) {
            at[k] = 0.25 * (before[k - 1] + 2.0 * before[k] + before[k + 1]);
        }
    }
    return at;
}

// Fronts start at a corner of an end, so the bands there are slivers and no slices. As far from the
// end as the part is wide there, the line goes straight on instead, to where the part ends. Gives
// back that end. `order` counts bands from that end.
Vec3 straighten_end(const Cubes& cubes, const Bands& bands, Middles& m,
                    const std::vector<std::size_t>& order) {
    constexpr double kSlivers = 1.2;  // half widths
    constexpr std::size_t kAhead = 3;
    const std::size_t n = order.size();
    const double width = bands.length_mm() / static_cast<double>(n);
    const double edge = cubes.edge_mm();
    double radius = 0.0;
    std::size_t k = 0;
    for (std::size_t seen = 0; k + kAhead + 1 < n / 2; ++k) {
        for (; seen <= k + kAhead; ++seen) {
            const double area = m.cubes[order[seen]] * edge * edge * edge / width;
            radius = std::max(radius, std::sqrt(area / std::numbers::pi));
        }
        if ((static_cast<double>(k) + 0.5) * width >= kSlivers * radius) {
            break;
        }
    }
    const Vec3 at = m.at_mm[order[k]];
    const Vec3 out = (at - m.at_mm[order[k + kAhead]]).normalized();
    double reach = 0.5 * edge;
    std::vector<bool> near(bands.count(), false);
    for (std::size_t j = 0; j <= k; ++j) {
        near[order[j]] = true;
    }
    for (std::size_t c = 0; c < cubes.size(); ++c) {
        // Near the line only: where it meets an end aslant, the end's rim lies farther out.
        constexpr double kNear = 0.35;
        const Vec3 off = cubes.middle_mm(c) - at;
        if (bands.on_line(c) && near[bands.band(c)] &&
            off.cross(out).norm() <= std::max(edge, kNear * radius)) {
            reach = std::max(reach, out.dot(off) + 0.5 * edge);
        }
    }
    for (std::size_t j = 0; j < k; ++j) {
        m.at_mm[order[j]] =
            at + reach * static_cast<double>(k - j) / (static_cast<double>(k) + 0.5) * out;
    }
    return at + reach * out;
}

// Between the middles, and at both ends.
std::vector<Vec3> nodes_of(const std::vector<Vec3>& middle, const Vec3& one_end,
                           const Vec3& other_end) {
    std::vector<Vec3> nodes = {one_end};
    for (std::size_t k = 1; k < middle.size(); ++k) {
        nodes.emplace_back(0.5 * (middle[k - 1] + middle[k]));
    }
    nodes.push_back(other_end);
    return nodes;
}

double bow_of(const std::vector<Vec3>& nodes) {
    const Vec3 chord = (nodes.back() - nodes.front()).normalized();
    double most = 0.0;
    for (const Vec3& node : nodes) {
        most = std::max(most, (node - nodes.front()).cross(chord).norm());
    }
    return most;
}

// The median over the bands of the squared radius of gyration across the line, over that of a disc
// of the same area.
double spread_of(const Middles& m, const std::vector<Vec3>& nodes, double edge) {
    std::vector<double> spread;
    for (std::size_t b = 0; b < m.at_mm.size(); ++b) {
        const Vec3 along = nodes[b + 1] - nodes[b];
        const double length = along.norm();
        const Vec3 t = along / length;
        const double area = m.cubes[b] * edge * edge * edge / length;
        const double across = m.second[b].trace() - t.dot(m.second[b] * t);
        spread.push_back(2.0 * std::numbers::pi * across / area);
    }
    const auto middle = spread.begin() + static_cast<std::ptrdiff_t>(spread.size() / 2);
    std::nth_element(spread.begin(), middle, spread.end());
    return *middle;
}

Centerline straight_line(const TriMesh& mesh, const MassProperties& mass, std::size_t elements) {
    const Vec3 axis = mass.principal_axes.col(0);
    double least = kFar;
    double most = -kFar;
    for (const Triangle& t : mesh.triangles) {
        for (const std::int32_t v : t) {
            const double at =
                axis.dot(mesh.vertices[static_cast<std::size_t>(v)] - mass.centroid_mm);
            least = std::min(least, at);
            most = std::max(most, at);
        }
    }
    Centerline line;
    for (std::size_t i = 0; i <= elements; ++i) {
        const double share = static_cast<double>(i) / static_cast<double>(elements);
        line.nodes_mm.emplace_back(mass.centroid_mm + (least + share * (most - least)) * axis);
    }
    return line;
}

// Bends of the line are counted only where there is a line.
std::optional<Centerline> curved_line(const Cubes& cubes, const MassProperties& mass,
                                      const CenterlineOptions& options) {
    std::size_t middle = 0;
    for (std::size_t c = 0; c < cubes.size(); ++c) {
        if ((cubes.middle_mm(c) - mass.centroid_mm).squaredNorm() <
            (cubes.middle_mm(middle) - mass.centroid_mm).squaredNorm()) {
            middle = c;
        }
    }
    const std::size_t first = farthest(distances(cubes, middle));
    const Bands bands(cubes, first, options);
    const double length = bands.length_mm();
    if (bands.unreached_share() > kLittle || bands.ring_share() > kLittle || bands.count() < 10 ||
        length < kSlender * std::sqrt(mass.volume_mm3 / length)) {
        return std::nullopt;
    }
    Middles m = middles_of(cubes, bands);
    std::vector<std::size_t> order(bands.count());
    std::iota(order.begin(), order.end(), 0);
    const Vec3 one_end = straighten_end(cubes, bands, m, order);
    std::reverse(order.begin(), order.end());
    const Vec3 other_end = straighten_end(cubes, bands, m, order);
    constexpr int kSmoothed = 2;
    Centerline line;
    line.straight = false;
    line.nodes_mm = nodes_of(smoothed(m.at_mm, kSmoothed), one_end, other_end);
    line.bow_mm = bow_of(line.nodes_mm);
    if (spread_of(m, line.nodes_mm, cubes.edge_mm()) > kCompact ||
        line.bow_mm <=
            options.straight_share * (line.nodes_mm.back() - line.nodes_mm.front()).norm()) {
        return std::nullopt;
    }
    line.volume_mm3.assign(bands.count(), 0.0);
    line.centroid_mm.assign(bands.count(), Vec3::Zero());
    double counted = 0.0;
    for (std::size_t c = 0; c < cubes.size(); ++c) {
        if (bands.band(c) < bands.count()) {
            line.volume_mm3[bands.hangs_on(c)] += 1.0;
            line.centroid_mm[bands.hangs_on(c)] += cubes.middle_mm(c);
            counted += 1.0;
        }
    }
    for (std::size_t b = 0; b < bands.count(); ++b) {
        line.centroid_mm[b] /= std::max(1.0, line.volume_mm3[b]);
        line.volume_mm3[b] *= mass.volume_mm3 / counted;
    }
    return line;
}

}  // namespace

double Centerline::length_mm() const {
    double sum = 0.0;
    for (std::size_t i = 1; i < nodes_mm.size(); ++i) {
        sum += (nodes_mm[i] - nodes_mm[i - 1]).norm();
    }
    return sum;
}

Centerline centerline(const TriMesh& mesh, const MassProperties& mass,
                      const CenterlineOptions& options, const RunContext& context) {
    const Cubes cubes(mesh, mass, options.cells, context);
    if (cubes.size() > 1) {
        context.check_stop();
        if (std::optional<Centerline> curved = curved_line(cubes, mass, options)) {
            return *std::move(curved);
        }
    }
    return straight_line(mesh, mass, options.elements);
}

}  // namespace cavigram
