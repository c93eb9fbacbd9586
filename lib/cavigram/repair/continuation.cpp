// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <Eigen/LU>

#include "cavigram/core/parallel.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/repair/continuation_detail.h"
#include "cavigram/repair/submesh_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kPlaces = 140;
constexpr std::size_t kLeastPlaces = 30;
constexpr double kReach = 0.6;    // rim radii from the rim
constexpr double kBeside = 0.04;  // rim radii off the surface
constexpr double kSmooth = 1e-4;  // stiffness; lets noise of a few thousandths of a radius pass
constexpr int kSteps = 12;
constexpr std::size_t kTrials = 6;
constexpr std::size_t kPolynomial = 10;

using Polynomial = std::array<double, kPolynomial>;

Polynomial polynomial(const Vec3& p) {
    return {1.0,           p.x(),         p.y(),         p.z(),         p.x() * p.x(),
            p.y() * p.y(), p.z() * p.z(), p.x() * p.y(), p.y() * p.z(), p.z() * p.x()};
}

struct Nearby {
    std::vector<Vec3> points;
    std::vector<Vec3> normals;
};

// The surface within reach of the rim, connected to it, with normals averaged twice.
Nearby surface_near(const TriMesh& mesh, const CompressedRows& at,
                    const std::vector<std::int32_t>& rim, const Vec3& center, double radius) {
    std::vector<std::int32_t> order(rim.begin(), rim.end());
    std::vector<std::int32_t> index(mesh.vertices.size(), -1);
    for (std::size_t i = 0; i < order.size(); ++i) {
        index[static_cast<std::size_t>(order[i])] = static_cast<std::int32_t>(i);
    }
    std::vector<std::vector<std::int32_t>> neighbors;
    std::vector<Vec3> normal;
    for (std::size_t i = 0; i < order.size(); ++i) {
        const auto v = static_cast<std::size_t>(order[i]);
        neighbors.emplace_back();
        normal.emplace_back(Vec3::Zero());
        for (const std::int32_t k : at[v]) {
            const auto t = static_cast<std::size_t>(k);
            normal.back() +=
                double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
            for (const std::int32_t w : mesh.triangles[t]) {
                const bool near = (position(mesh, w) - center).norm() < (1.0 + kReach) * radius;
                if (index[static_cast<std::size_t>(w)] < 0 && near) {
                    index[static_cast<std::size_t>(w)] = static_cast<std::int32_t>(order.size());
                    order.push_back(w);
                }
                if (index[static_cast<std::size_t>(w)] >= 0) {
                    neighbors.back().push_back(index[static_cast<std::size_t>(w)]);
                }
            }
        }
    }
    for (int pass = 0; pass < 2; ++pass) {
        std::vector<Vec3> sum(normal.size(), Vec3::Zero());
        for (std::size_t i = 0; i < normal.size(); ++i) {
            for (const std::int32_t k : neighbors[i]) {
                sum[i] += normal[static_cast<std::size_t>(k)];
            }
        }
        normal = std::move(sum);
    }
    Nearby near;
    for (std::size_t i = 0; i < order.size(); ++i) {
        if (normal[i].norm() > 0.0) {
            near.points.push_back((position(mesh, order[i]) - center) / radius);
            near.normals.push_back(normal[i].normalized());
        }
    }
    return near;
}

// Places spread as evenly as can be: each the farthest from those before it.
std::vector<std::size_t> spread(const std::vector<Vec3>& points, std::size_t most) {
    std::vector<std::size_t> chosen{0};
    std::vector<double> distance(points.size(), std::numeric_limits<double>::infinity());
    while (chosen.size() < std::min(most, points.size())) {
        std::size_t farthest = 0;
        for (std::size_t i = 0; i < points.size(); ++i) {
            distance[i] = std::min(distance[i], (points[i] - points[chosen.back()]).squaredNorm());
            farthest = distance[i] > distance[farthest] ? i : farthest;
        }
        if (!(distance[farthest] > 0.0)) {
            break;
        }
        chosen.push_back(farthest);
    }
    return chosen;
}

// Volume between the triangles and a point.
double volume_from(const TriMesh& mesh, const std::vector<Triangle>& triangles,
                   const Vec3& center) {
    double six = 0.0;
    for (const Triangle& t : triangles) {
        six += (position(mesh, t[0]) - center)
                   .dot((position(mesh, t[1]) - center).cross(position(mesh, t[2]) - center));
    }
    return six / 6.0;
}

// Moves vertices onto the continuation; how many of them would not come to rest stay, and more than
// a tenth of them is a failure.
bool settle_all(TriMesh& mesh, const Continuation& continuation,
                const std::vector<std::int32_t>& vertices, const RunContext& context) {
    const auto lost = map_blocks<std::size_t>(vertices.size(), 256, context, [&](const Block& b) {
        std::size_t count = 0;
        for (std::size_t i = b.begin; i < b.end; ++i) {
            Vec3& p = mesh.vertices[static_cast<std::size_t>(vertices[i])];
            const std::optional<Vec3> rest = continuation.settled(p);
            count += rest ? 0 : 1;
            p = rest.value_or(p);
        }
        return count;
    });
    std::size_t all = 0;
    for (const std::size_t one : lost) {
        all += one;
    }
    return 10 * all <= vertices.size();
}

// The surface with a piece cut out of it.
struct CutOut {
    TriMesh open;                       // the same vertices, without the piece
    std::vector<Triangle> gone;         // the piece
    std::vector<std::int32_t> numbers;  // of its triangles
};

Vec3 middle_of(const TriMesh& mesh, std::size_t t) {
    return (mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0;
}

// The triangles nearest to one, up to an area.
CutOut cut_out(const TriMesh& mesh, std::size_t middle, double area_mm2) {
    std::vector<std::pair<double, std::int32_t>> order;
    order.reserve(mesh.triangles.size());
    const Vec3 center = middle_of(mesh, middle);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        order.emplace_back((middle_of(mesh, t) - center).squaredNorm(),
                           static_cast<std::int32_t>(t));
    }
    std::sort(order.begin(), order.end());
    CutOut cut;
    cut.open.vertices = mesh.vertices;
    double area = 0.0;
    for (const auto& [distance, k] : order) {
        const auto t = static_cast<std::size_t>(k);
        if (area < area_mm2) {
            area +=
                0.5 *
                double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2)).norm();
            cut.gone.push_back(mesh.triangles[t]);
            cut.numbers.push_back(k);
        } else {
            cut.open.triangles.push_back(mesh.triangles[t]);
        }
    }
    return cut;
}

std::vector<bool> used_by(const std::vector<Triangle>& triangles, std::size_t vertices) {
    std::vector<bool> used(vertices, false);
    for (const Triangle& t : triangles) {
        for (const std::int32_t v : t) {
            used[static_cast<std::size_t>(v)] = true;
        }
    }
    return used;
}

// A piece of the surface as large as the hole, cut out around a triangle, if that leaves one rim
// more: the error with which continuation brings it back.
std::optional<double> trial_error(const TriMesh& mesh, std::size_t middle, double area_mm2,
                                  const RunContext& context) {
    CutOut cut = cut_out(mesh, middle, area_mm2);
    // One disc: connected, with one rim, and apart from the rims that are there.
    const TriMesh piece = submesh(mesh, cut.numbers);
    const Adjacency adjacent = adjacency(piece);
    const auto rims = border_loops(piece, adjacent);
    const long euler =
        static_cast<long>(piece.vertices.size() + piece.triangles.size()) -
        static_cast<long>((3 * piece.triangles.size() + adjacent.border_halfedges) / 2);
    if (rims.size() != 1 || shells(piece, adjacent).count != 1 || euler != 1) {
        return std::nullopt;
    }
    const std::vector<bool> inner = used_by(cut.gone, mesh.vertices.size());
    const std::vector<bool> outer = used_by(cut.open.triangles, mesh.vertices.size());
    std::vector<std::int32_t> rim;
    std::vector<std::int32_t> vertices;
    for (std::size_t v = 0; v < inner.size(); ++v) {
        if (inner[v] && outer[v]) {
            rim.push_back(static_cast<std::int32_t>(v));
        } else if (inner[v]) {
            vertices.push_back(static_cast<std::int32_t>(v));
        }
    }
    if (rim.size() != rims.front().size()) {
        return std::nullopt;  // it reaches a rim that is there
    }
    const auto continuation = Continuation::across(cut.open, triangles_at_vertices(cut.open), rim);
    if (!continuation) {
        return std::nullopt;
    }
    const Vec3 center = middle_of(mesh, middle);
    const double before = volume_from(cut.open, cut.gone, center);
    if (!settle_all(cut.open, *continuation, vertices, context)) {
        return std::nullopt;
    }
    return volume_from(cut.open, cut.gone, center) - before;
}

double trials(const TriMesh& mesh, double area_mm2, const RunContext& context) {
    std::vector<Vec3> middles;
    std::vector<std::size_t> triangles;
    const std::size_t stride = mesh.triangles.size() / 4000 + 1;
    for (std::size_t t = 0; t < mesh.triangles.size(); t += stride) {
        middles.push_back((mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0);
        triangles.push_back(t);
    }
    double sum = 0.0;
    std::size_t done = 0;
    for (const std::size_t i : spread(middles, 4 * kTrials)) {
        if (done == kTrials) {
            break;
        }
        context.check_stop();
        const std::optional<double> error = trial_error(mesh, triangles[i], area_mm2, context);
        if (error) {
            sum += *error * *error;
            ++done;
        }
    }
    return done < 2 ? -1.0 : std::sqrt(sum / static_cast<double>(done));
}

}  // namespace

std::optional<Continuation> Continuation::across(const TriMesh& mesh, const CompressedRows& at,
                                                 const std::vector<std::int32_t>& rim) {
    Continuation result;
    for (const std::int32_t v : rim) {
        result.center_ += position(mesh, v) / static_cast<double>(rim.size());
    }
    double radius = 0.0;
    for (const std::int32_t v : rim) {
        radius += (position(mesh, v) - result.center_).norm() / static_cast<double>(rim.size());
    }
    result.radius_ = radius;
    const Nearby near = surface_near(mesh, at, rim, result.center_, radius);
    if (near.points.size() < kLeastPlaces) {
        return std::nullopt;
    }
    std::vector<double> value;
    for (const std::size_t i : spread(near.points, kPlaces)) {
        for (const double off : {0.0, kBeside, -kBeside}) {
            result.places_.emplace_back(near.points[i] + off * near.normals[i]);
            value.push_back(off);
        }
    }
    const auto n = static_cast<Eigen::Index>(result.places_.size());
    const auto all = n + static_cast<Eigen::Index>(kPolynomial);
    Eigen::MatrixXd matrix = Eigen::MatrixXd::Zero(all, all);
    Eigen::VectorXd right = Eigen::VectorXd::Zero(all);
    for (Eigen::Index i = 0; i < n; ++i) {
        const Vec3& p = result.places_[static_cast<std::size_t>(i)];
        for (Eigen::Index k = 0; k < n; ++k) {
            const double r = (p - result.places_[static_cast<std::size_t>(k)]).norm();
            matrix(i, k) = r * r * r;
        }
        matrix(i, i) += kSmooth;
        const Polynomial q = polynomial(p);
        for (std::size_t k = 0; k < kPolynomial; ++k) {
            matrix(i, n + static_cast<Eigen::Index>(k)) = q[k];
            matrix(n + static_cast<Eigen::Index>(k), i) = q[k];
        }
        right(i) = value[static_cast<std::size_t>(i)];
    }
    const Eigen::VectorXd weight = matrix.partialPivLu().solve(right);
    if (!weight.allFinite()) {
        return std::nullopt;
    }
    result.weight_.assign(weight.data(), weight.data() + all);
    return result;
}

std::optional<Vec3> Continuation::settled(const Vec3& start) const {
    Vec3 p = (start - center_) / radius_;
    const Vec3 from = p;
    for (int step = 0; step < kSteps; ++step) {
        double value = 0.0;
        Vec3 slope = Vec3::Zero();
        for (std::size_t i = 0; i < places_.size(); ++i) {
            const Vec3 way = p - places_[i];
            const double r = way.norm();
            value += weight_[i] * r * r * r;
            slope += 3.0 * weight_[i] * r * way;
        }
        const double* c = weight_.data() + places_.size();
        const Polynomial q = polynomial(p);
        for (std::size_t k = 0; k < kPolynomial; ++k) {
            value += c[k] * q[k];
        }
        slope += Vec3(c[1] + 2 * c[4] * p.x() + c[7] * p.y() + c[9] * p.z(),
                      c[2] + 2 * c[5] * p.y() + c[7] * p.x() + c[8] * p.z(),
                      c[3] + 2 * c[6] * p.z() + c[8] * p.y() + c[9] * p.x());
        const double steep = slope.squaredNorm();
        if (!(steep > 1e-4)) {
            return std::nullopt;
        }
        Vec3 move = -value / steep * slope;
        move *= std::min(1.0, 0.2 / move.norm());
        p += move;
        if ((p - from).norm() > 1.0) {
            return std::nullopt;
        }
        if (move.norm() < 1e-6) {
            break;
        }
    }
    return Vec3(center_ + radius_ * p);
}

std::optional<LargePatch> carry_on(TriMesh& mesh, const CompressedRows& at, const Rim& rim,
                                   const std::vector<Triangle>& patch, std::size_t first,
                                   double area_mm2, const RunContext& context) {
    const auto continuation = Continuation::across(mesh, at, rim.vertices);
    if (!continuation || first >= mesh.vertices.size()) {
        return std::nullopt;
    }
    const double faired = volume_from(mesh, patch, rim.center);
    const std::vector<Vec3> before(mesh.vertices.begin() + static_cast<std::ptrdiff_t>(first),
                                   mesh.vertices.end());
    std::vector<std::int32_t> own;
    for (std::size_t v = first; v < mesh.vertices.size(); ++v) {
        own.push_back(static_cast<std::int32_t>(v));
    }
    if (!settle_all(mesh, *continuation, own, context)) {
        std::copy(before.begin(), before.end(),
                  mesh.vertices.begin() + static_cast<std::ptrdiff_t>(first));
        return std::nullopt;
    }
    const double difference = std::abs(volume_from(mesh, patch, rim.center) - faired);
    LargePatch result;
    TriMesh whole;
    whole.vertices = mesh.vertices;
    whole.triangles = mesh.triangles;
    result.trial_mm3 = trials(whole, area_mm2, context);
    // Inverse squares of the errors: of the continuation by trial, of the faired patch by how far
    // it is from it. Without trials both count alike.
    const double trial = result.trial_mm3 >= 0.0 ? result.trial_mm3 : difference;
    const double share = difference > 0.0
                             ? difference * difference / (difference * difference + trial * trial)
                             : 1.0;
    for (std::size_t i = 0; i < before.size(); ++i) {
        Vec3& p = mesh.vertices[first + i];
        p = before[i] + share * (p - before[i]);
    }
    const double chosen = volume_from(mesh, patch, rim.center);
    result.moved_mm3 = chosen - faired;
    result.doubt_mm3 = (1.0 - share) * difference;
    return result;
}

}  // namespace cavigram
