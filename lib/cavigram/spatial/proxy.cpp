// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/proxy.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include <meshoptimizer.h>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"

namespace cavigram {

namespace {

constexpr std::size_t kBlock = 2048;
constexpr double kFirstTolerance =
    1e-5;  // of the diagonal: rms distance to the planes that a collapse may cause
constexpr double kLastTolerance =
    0.03;  // beyond, a stand-in says little; more triangles stay instead
constexpr double kLengthShare =
    1e-3;  // of an edge's length that counts as distance, so that flat places stay even
constexpr double kNear = 5e-3;  // of the diagonal: a quick stand-in farther off is made again
constexpr double kTurn = 0.3;   // cosine of how far a collapse may turn a triangle

template <class Row, class Index>
auto& at(Row& row, Index i) {
    return row[static_cast<std::size_t>(i)];
}

// Sum over planes of area times squared distance: x'Ax + 2b'x + c. Taken about a fixed origin near
// the part.
struct Quadric {
    Mat3 a = Mat3::Zero();
    Vec3 b = Vec3::Zero();
    double c = 0.0;
    double area = 0.0;

    void add(const Quadric& o) {
        a += o.a;
        b += o.b;
        c += o.c;
        area += o.area;
    }
    [[nodiscard]] double mean_squared(const Vec3& x) const {
        return area > 0.0 ? std::max(0.0, x.dot(a * x) + 2.0 * b.dot(x) + c) / area : 0.0;
    }
};

// Collapses edges pass by pass: in each, any edge below a tolerance whose surroundings are
// untouched in that pass; then the tolerance rises.
class Decimation {
  public:
    explicit Decimation(const TriMesh& mesh)
        : mesh_(mesh), twin_(adjacency(mesh).twin), dead_(mesh.triangles.size(), 0) {
        const Box3 box = bounds(mesh);
        origin_ = 0.5 * (box.min() + box.max());
        diagonal_ = box.sizes().norm();
        left_ = mesh.triangles.size();
        quadric_.resize(mesh.vertices.size());
        for (Vec3& v : mesh_.vertices) {
            v -= origin_;
        }
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            const Vec3 normal = 0.5 * normal_of(static_cast<std::int32_t>(t), -1, Vec3::Zero());
            const double area = normal.norm();
            if (area == 0.0) {
                continue;
            }
            const Vec3 n = normal / area;
            const double d = -n.dot(mesh_.corner(t, 0));
            Quadric q;
            q.a = area * n * n.transpose();
            q.b = area * d * n;
            q.c = area * d * d;
            q.area = area;
            for (const std::int32_t v : mesh_.triangles[t]) {
                at(quadric_, v).add(q);
            }
        }
    }

    [[nodiscard]] TriMesh run(std::size_t wanted, const RunContext& context) {
        double tolerance = kFirstTolerance * diagonal_;
        const double all = static_cast<double>(left_);
        while (left_ > wanted && tolerance < kLastTolerance * diagonal_) {
            context.report("simplifying", (all - static_cast<double>(left_)) /
                                              (all - static_cast<double>(wanted)));
            const std::size_t before = left_;
            pass(tolerance * tolerance, wanted);
            compact();
            // Few edges fit any more: be less strict; else take the cheap ones first.
            tolerance *= before - left_ < before / 20 ? 1.6 : 1.1;
        }
        TriMesh result = std::move(mesh_);
        std::vector<std::int32_t> place(result.vertices.size(), -1);
        std::vector<Vec3> used;
        for (Triangle& t : result.triangles) {
            for (std::int32_t& v : t) {
                if (at(place, v) < 0) {
                    at(place, v) = static_cast<std::int32_t>(used.size());
                    used.push_back(at(result.vertices, v) + origin_);
                }
                v = at(place, v);
            }
        }
        result.vertices = std::move(used);
        return result;
    }

  private:
    [[nodiscard]] std::int32_t from(std::int32_t h) const {
        return at(mesh_.triangles, h / 3)[static_cast<std::size_t>(h % 3)];
    }
    [[nodiscard]] std::int32_t to(std::int32_t h) const { return from(next_halfedge(h)); }

    // Twice the area along the normal, with `moved` at another place.
    [[nodiscard]] Vec3 normal_of(std::int32_t t, std::int32_t moved, const Vec3& place) const {
        std::array<Vec3, 3> p;
        for (std::size_t i = 0; i < 3; ++i) {
            const std::int32_t v = at(mesh_.triangles, t)[i];
            p[i] = v == moved ? place : at(mesh_.vertices, v);
        }
        return (p[1] - p[0]).cross(p[2] - p[0]);
    }

    void pass(double limit_mm2, std::size_t wanted) {
        touched_.assign(mesh_.vertices.size(), 0);
        const auto count = static_cast<std::int32_t>(twin_.size());
        for (std::int32_t h = 0; h < count && left_ > wanted; ++h) {
            if (at(dead_, h / 3) != 0 || at(twin_, h) < h) {
                continue;
            }
            const std::int32_t a = from(h);
            const std::int32_t b = to(h);
            if (at(touched_, a) != 0 || at(touched_, b) != 0) {
                continue;
            }
            const auto [cost, place] = best(a, b);
            if (cost <= limit_mm2) {
                collapse(h, place);
            }
        }
    }

    // The cheapest of both ends and the middle.
    [[nodiscard]] std::pair<double, Vec3> best(std::int32_t a, std::int32_t b) const {
        const Vec3& p = at(mesh_.vertices, a);
        const Vec3& q = at(mesh_.vertices, b);
        Quadric both = at(quadric_, a);
        both.add(at(quadric_, b));
        const double extra = kLengthShare * kLengthShare * (p - q).squaredNorm();
        std::pair<double, Vec3> found{both.mean_squared(0.5 * (p + q)), 0.5 * (p + q)};
        for (const Vec3& x : {p, q}) {
            const double cost = both.mean_squared(x);
            if (cost < found.first) {
                found = {cost, x};
            }
        }
        found.first += extra;
        return found;
    }

    // Halfedges that leave the vertex at the start of `first`.
    void fan(std::int32_t first, std::vector<std::int32_t>& out) const {
        out.clear();
        std::int32_t h = first;
        do {
            out.push_back(h);
            h = at(twin_, previous_halfedge(h));
        } while (h != first);
    }

    [[nodiscard]] bool turns(const std::vector<std::int32_t>& around, std::int32_t moved,
                             std::int32_t other, const Vec3& place) const {
        for (const std::int32_t h : around) {
            if (to(h) == other || to(next_halfedge(h)) == other) {
                continue;  // will be gone
            }
            const Vec3 before = normal_of(h / 3, -1, place);
            const Vec3 after = normal_of(h / 3, moved, place);
            if (!(before.dot(after) > kTurn * before.norm() * after.norm())) {
                return true;
            }
        }
        return false;
    }

    // Moves both ends of `h` to `place` and makes them one, unless that would change the topology
    // or fold the surface.
    void collapse(std::int32_t h, const Vec3& place) {
        const std::int32_t back = at(twin_, h);
        const std::int32_t a = from(h);
        const std::int32_t b = from(back);
        fan(h, around_a_);
        fan(back, around_b_);
        // The ends may share no neighbor but the two across the edge, and those must keep three
        // neighbors (link condition: Dey, Edelsbrunner, Guha & Nekhayev, Publ. Inst. Math. 66
        // (1999) 23).
        std::size_t shared = 0;
        for (const std::int32_t i : around_a_) {
            for (const std::int32_t j : around_b_) {
                shared += to(i) == to(j) ? 1 : 0;
            }
        }
        if (shared != 2 || around_a_.size() + around_b_.size() < 8 || degree_of_apex(h) < 4 ||
            degree_of_apex(back) < 4 || turns(around_a_, a, b, place) ||
            turns(around_b_, b, a, place)) {
            return;
        }
        for (const std::int32_t i : around_a_) {
            at(touched_, to(i)) = 1;
            at(mesh_.triangles, i / 3)[static_cast<std::size_t>(i % 3)] = b;
        }
        for (const std::int32_t i : around_b_) {
            at(touched_, to(i)) = 1;
        }
        at(touched_, b) = 1;
        at(mesh_.vertices, b) = place;
        at(quadric_, b).add(at(quadric_, a));
        for (const std::int32_t gone : {h, back}) {
            const std::int32_t left = at(twin_, next_halfedge(gone));
            const std::int32_t right = at(twin_, previous_halfedge(gone));
            at(twin_, left) = right;
            at(twin_, right) = left;
            at(dead_, gone / 3) = 1;
        }
        left_ -= 2;
    }

    [[nodiscard]] std::size_t degree_of_apex(std::int32_t h) {
        fan(previous_halfedge(h), around_apex_);
        return around_apex_.size();
    }

    // Drops dead triangles, in order.
    void compact() {
        std::vector<std::int32_t> place(dead_.size(), -1);
        std::int32_t used = 0;
        for (std::size_t t = 0; t < dead_.size(); ++t) {
            if (dead_[t] == 0) {
                place[t] = used;
                at(mesh_.triangles, used) = mesh_.triangles[t];
                for (std::size_t i = 0; i < 3; ++i) {
                    twin_[static_cast<std::size_t>(used) * 3 + i] = twin_[t * 3 + i];
                }
                ++used;
            }
        }
        mesh_.triangles.resize(static_cast<std::size_t>(used));
        twin_.resize(static_cast<std::size_t>(used) * 3);
        for (std::int32_t& h : twin_) {
            h = 3 * at(place, h / 3) + h % 3;
        }
        dead_.assign(static_cast<std::size_t>(used), 0);
    }

    TriMesh mesh_;
    std::vector<std::int32_t> twin_;
    std::vector<char> dead_;     // of each triangle
    std::vector<char> touched_;  // of each vertex, in this pass
    std::vector<Quadric> quadric_;
    std::vector<std::int32_t> around_a_;
    std::vector<std::int32_t> around_b_;
    std::vector<std::int32_t> around_apex_;
    Vec3 origin_ = Vec3::Zero();
    double diagonal_ = 0.0;
    std::size_t left_ = 0;
};

double volume_of(const TriMesh& mesh) {
    double six_volumes = 0.0;
    const Vec3 origin = mesh.vertices.front();
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        six_volumes += (mesh.corner(t, 0) - origin)
                           .dot((mesh.corner(t, 1) - origin).cross(mesh.corner(t, 2) - origin));
    }
    return six_volumes / 6.0;
}

bool sound(const TriMesh& proxy, const TriMesh& mesh) {
    if (proxy.triangles.empty() || !adjacency(proxy).closed()) {
        return false;
    }
    for (const Vec3& v : proxy.vertices) {
        if (!v.allFinite()) {
            return false;
        }
    }
    const double volume = volume_of(mesh);
    return std::abs(volume_of(proxy) - volume) <= 0.1 * std::abs(volume);
}

struct Distances {
    double most_mm = 0.0;
    double sum_mm = 0.0;
};

// From `count` of the points, evenly by index, to the surface.
Distances distances(const std::vector<Vec3>& points, std::size_t count, const TriangleBvh& surface,
                    const RunContext& context) {
    const std::vector<Distances> parts =
        map_blocks<Distances>(count, kBlock, context, [&](const Block& block) {
            Distances part;
            for (std::size_t i = block.begin; i < block.end; ++i) {
                const double d = surface.nearest(points[i * points.size() / count]).distance_mm;
                part.most_mm = std::max(part.most_mm, d);
                part.sum_mm += d;
            }
            return part;
        });
    Distances all;
    for (const Distances& part : parts) {
        all.most_mm = std::max(all.most_mm, part.most_mm);
        all.sum_mm += part.sum_mm;
    }
    return all;
}

// By a library, in single precision about the middle: its corners are corners of `mesh`. Many times
// as fast as Decimation, but what comes out need not be a solid.
TriMesh collapsed(const TriMesh& mesh, std::size_t triangles) {
    const Vec3 middle = bounds(mesh).center();
    std::vector<std::array<float, 3>> positions(mesh.vertices.size());
    for (std::size_t v = 0; v < positions.size(); ++v) {
        const Vec3 p = mesh.vertices[v] - middle;
        positions[v] = {static_cast<float>(p.x()), static_cast<float>(p.y()),
                        static_cast<float>(p.z())};
    }
    std::vector<std::uint32_t> indices;
    indices.reserve(3 * mesh.triangles.size());
    for (const auto& triangle : mesh.triangles) {
        indices.insert(indices.end(), triangle.begin(), triangle.end());
    }
    std::vector<std::uint32_t> left(indices.size());
    left.resize(meshopt_simplify(left.data(), indices.data(), indices.size(),
                                 positions.front().data(), positions.size(), sizeof positions[0],
                                 3 * triangles, static_cast<float>(kLastTolerance), 0, nullptr));
    TriMesh coarse;
    std::vector<std::int32_t> place(mesh.vertices.size(), -1);
    for (std::size_t i = 0; i < left.size(); i += 3) {
        std::array<std::int32_t, 3> triangle{};
        for (std::size_t k = 0; k < 3; ++k) {
            std::int32_t& at_place = place[left[i + k]];
            if (at_place < 0) {
                at_place = static_cast<std::int32_t>(coarse.vertices.size());
                coarse.vertices.push_back(mesh.vertices[left[i + k]]);
            }
            triangle[k] = at_place;
        }
        coarse.triangles.push_back(triangle);
    }
    return coarse;
}

void measure_deviation(Proxy& proxy, const TriMesh& mesh, const TriangleBvh& surface,
                       std::size_t most_samples, const RunContext& context) {
    const TriangleBvh coarse_surface(proxy.mesh, context);
    const std::size_t samples = std::min(most_samples, mesh.vertices.size());
    const Distances there = distances(mesh.vertices, samples, coarse_surface, context);
    const Distances back =
        distances(proxy.mesh.vertices, proxy.mesh.vertices.size(), surface, context);
    proxy.deviation_mm = std::max(there.most_mm, back.most_mm);
    proxy.mean_deviation_mm = there.sum_mm / static_cast<double>(samples);
}

}  // namespace

Proxy decimated_proxy(const TriMesh& mesh_mm, const TriangleBvh& surface,
                      const ProxyOptions& options, const RunContext& context) {
    if (options.triangles < 100 || options.most_samples == 0) {
        throw InvalidInput("A proxy needs at least 100 triangles and one sample; raise the count.");
    }
    Proxy proxy;
    proxy.mesh = mesh_mm;
    if (mesh_mm.triangles.size() <= options.triangles) {
        return proxy;
    }
    context.report("simplifying", 0.0);
    if (!adjacency(mesh_mm).closed()) {
        return proxy;
    }
    const auto use = [&](TriMesh coarse) {
        proxy.mesh = std::move(coarse);
        proxy.decimated = true;
        measure_deviation(proxy, mesh_mm, surface, options.most_samples, context);
    };
    if (!options.solid) {
        use(collapsed(mesh_mm, options.triangles));
        if (proxy.deviation_mm <= kNear * bounds(mesh_mm).diagonal().norm()) {
            return proxy;
        }
    }
    TriMesh coarse = Decimation(mesh_mm).run(options.triangles, context);
    if (sound(coarse, mesh_mm)) {
        use(std::move(coarse));
    }
    return proxy;
}

}  // namespace cavigram
