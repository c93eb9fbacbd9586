// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/thickness.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/core/sum.h"
#include "cavigram/geom/triangle.h"

namespace cavigram {

const char* to_text(Contact contact) {
    switch (contact) {
        case Contact::wall:
            return "wall";
        case Contact::oblique:
            return "oblique";
        case Contact::edge:
            return "edge";
        case Contact::rim:
            return "rim";
    }
    return "";
}

namespace {

constexpr double kWallDegrees = 150.0;
constexpr double kObliqueDegrees = 120.0;
// Walls face each other when their outward normals are against each other to 30 degrees, as for a
// wall contact.
constexpr double kFacing = 0.866;

// The ball at least halves or converges quadratically in each step; 40 is far more than any shape
// needs.
constexpr int kSteps = 40;

// Where walls are as thin as their roughness, more relaxation than this would let any ball pass.
constexpr double kMostRelaxed = 0.12;

// How much further than the nearest point may be what is taken for it.
constexpr double kNearEnough = 1e-3;
constexpr double kGlance = 0.05;

// Normals are averaged over edge neighbors in this many rounds (31 triangles on a regular mesh),
// not across edges sharper than this, and used only where a triangle is smaller than this share of
// the thickness: bumps are small, and on large triangles the neighbors' normals belong to another
// place.
constexpr int kSmoothings = 4;
constexpr double kSharpCosine = 0.5;
constexpr double kSmallTriangle = 0.2;

struct Face {
    Vec3 inward = Vec3::Zero();    // unit, of the triangle itself
    Vec3 smoothed = Vec3::Zero();  // unit
    double area = 0.0;
};

// Of triangle `t`, with its neighbors' across edges that are not sharp.
Vec3 smoother(const std::vector<Face>& faces, const Adjacency& adjacency, std::size_t t) {
    Vec3 sum = faces[t].area * faces[t].smoothed;
    for (std::size_t i = 0; i < 3; ++i) {
        const std::int32_t twin = adjacency.twin[3 * t + i];
        if (twin < 0) {
            continue;
        }
        const Face& other = faces[static_cast<std::size_t>(twin / 3)];
        if (other.inward.dot(faces[t].inward) > kSharpCosine) {
            // A large neighbor's normal must not stand in for the small triangle's own.
            sum += std::min(other.area, 2.0 * faces[t].area) * other.smoothed;
        }
    }
    return sum.squaredNorm() > 0.0 ? Vec3(sum.stableNormalized()) : faces[t].smoothed;
}

std::vector<Face> faces_of(const TriMesh& mesh, const Adjacency& adjacency,
                           const RunContext& context) {
    const std::size_t n = mesh.triangles.size();
    std::vector<Face> faces(n);
    for_blocks(n, 16384, context, [&](const Block& block) {
        for (std::size_t t = block.begin; t < block.end; ++t) {
            const Vec3 twice =
                double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
            faces[t].area = 0.5 * twice.norm();
            faces[t].inward = -twice.stableNormalized();
            faces[t].smoothed = faces[t].inward;
        }
    });
    std::vector<Vec3> next(n);
    for (int round = 0; round < kSmoothings; ++round) {
        for_blocks(n, 16384, context, [&](const Block& block) {
            for (std::size_t t = block.begin; t < block.end; ++t) {
                next[t] = smoother(faces, adjacency, t);
            }
        });
        for (std::size_t t = 0; t < n; ++t) {
            faces[t].smoothed = next[t];
        }
    }
    return faces;
}

// Where the samples go, not measured yet.
std::vector<ThicknessSample> placed(const TriMesh& mesh, const std::vector<Face>& faces,
                                    double total_area, std::size_t wanted) {
    const double each = total_area / static_cast<double>(wanted);
    const bool all_triangles = faces.size() <= 2 * wanted;
    std::vector<ThicknessSample> samples;
    samples.reserve(wanted + (all_triangles ? faces.size() : 0));
    double passed = 0.5;  // shares of `each` up to the triangle; a sample at each whole number
    for (std::size_t t = 0; t < faces.size(); ++t) {
        const double shares = faces[t].area / each;
        double count = std::max(1.0, std::round(shares));
        double area = faces[t].area / count;
        if (!all_triangles) {
            count = std::floor(passed + shares) - std::floor(passed);
            passed += shares;
            area = each;
        }
        const Vec3& a = mesh.corner(t, 0);
        const Vec3 ab = mesh.corner(t, 1) - a;
        const Vec3 ac = mesh.corner(t, 2) - a;
        for (double i = 0.0; i < count; ++i) {
            // One sample: the centroid. More: a lattice that is even along any direction, so that
            // needles are covered too (the plastic number's powers; Roberts, "The unreasonable
            // effectiveness of quasirandom sequences", 2018), folded into the triangle.
            double u = 1.0 / 3.0;
            double v = 1.0 / 3.0;
            if (count > 1.0) {
                u = std::fmod((i + 1.0) * 0.7548776662466927, 1.0);
                v = std::fmod((i + 1.0) * 0.5698402909980532, 1.0);
                if (u + v > 1.0) {
                    u = 1.0 - u;
                    v = 1.0 - v;
                }
            }
            ThicknessSample sample;
            sample.triangle = static_cast<std::int32_t>(t);
            sample.area_mm2 = area;
            sample.at_mm = a + u * ab + v * ac;
            samples.push_back(sample);
        }
    }
    return samples;
}

class BallGauge {
  public:
    BallGauge(const TriangleBvh& surface, const std::vector<Face>& faces,
              const ThicknessOptions& options)
        : surface_(surface),
          faces_(faces),
          options_(options),
          cap_(options.cap_mm.value_or(surface.bounds_mm().diagonal().norm())) {}

    void measure(ThicknessSample& sample) const {
        const Face& face = faces_[static_cast<std::size_t>(sample.triangle)];
        sample.inward = face.smoothed;
        RayHit across = ray_across(sample);
        if (std::sqrt(face.area) > kSmallTriangle * across.t && face.smoothed != face.inward) {
            sample.inward = face.inward;
            across = ray_across(sample);
        }
        sample.chord_mm = std::clamp(across.t, 0.0, cap_);
        shrink(sample, 0.5 * sample.chord_mm, across.t > cap_);
        if (sample.contact == Contact::edge && across.triangle >= 0 &&
            faces_[static_cast<std::size_t>(across.triangle)].smoothed.dot(sample.inward) <=
                -kFacing) {
            sample.contact = Contact::rim;
        }
    }

  private:
    // The wall across along the inward normal; none within the cap: t infinite.
    [[nodiscard]] RayHit ray_across(const ThicknessSample& sample) const {
        RayLimits limits;
        limits.skip_triangle = sample.triangle;
        limits.t_max = cap_;
        // A wall is met from inside. On a rough surface the ray may first pass through a fold
        // beside its start.
        while (true) {
            const RayHit hit = surface_.first_hit(sample.at_mm, sample.inward, limits);
            if (hit.triangle < 0 || hit.sign > 0) {
                return hit;
            }
            limits.t_min = std::nextafter(hit.t, std::numeric_limits<double>::infinity());
            limits.skip_triangle = hit.triangle;
        }
    }

    void shrink(ThicknessSample& sample, double r, bool capped) const {
        const Vec3& p = sample.at_mm;
        const Vec3& n = sample.inward;
        sample.opposite_mm = p + 2.0 * r * n;
        sample.thickness_mm = 2.0 * r;
        std::int32_t hint = sample.triangle;
        for (int step = 0; step < kSteps && r > 0.0; ++step) {
            const Vec3 center = p + r * n;
            const double relaxation =
                std::max(options_.relaxation, std::min(2.0 * options_.noise_mm / r, kMostRelaxed));
            const double free = (1.0 - relaxation) * r;
            // Any point inside the ball shrinks it; only a ball that seems free is looked at
            // closely.
            NearestPoint nearest = surface_.near_enough(center, kGlance, hint);
            if (nearest.distance_mm >= free) {
                nearest = surface_.near_enough(center, kNearEnough, nearest.triangle);
            }
            const Vec3& q = nearest.point_mm;
            // The sphere that touches at p and passes through q.
            const double ahead = n.dot(q - p);
            const double through = ahead > 0.0 ? (q - p).squaredNorm() / (2.0 * ahead) : r;
            if (nearest.distance_mm >= free) {
                accept(sample, r, nearest.distance_mm, through, q, capped && step == 0);
                return;
            }
            sample.opposite_mm = q;
            // A point at or behind the tangent plane can't come from a ball that shrinks; halving
            // leads past it.
            r = ahead > 0.0 && through < r ? through : 0.5 * r;
            sample.thickness_mm = 2.0 * r;
            hint = nearest.triangle;
        }
        sample.contact = Contact::edge;
    }

    // Takes the ball of radius r that has its nearest surface point q at `distance`.
    static void accept(ThicknessSample& sample, double r, double distance, double through,
                       const Vec3& q, bool capped) {
        const Vec3 center = sample.at_mm + r * sample.inward;
        sample.thickness_mm = capped ? 2.0 * r : r + distance;
        const double degrees = angle(sample.at_mm - center, q - center);
        if (degrees >= kObliqueDegrees && through < r) {
            // Touched on the far side, where the next sphere is well defined and better than what
            // the relaxation let pass.
            sample.thickness_mm = 2.0 * through;
            sample.opposite_mm = q;
        }
        const double contact = angle(sample.at_mm - center, sample.opposite_mm - center);
        sample.contact = contact >= kWallDegrees      ? Contact::wall
                         : contact >= kObliqueDegrees ? Contact::oblique
                                                      : Contact::edge;
    }

    static double angle(const Vec3& a, const Vec3& b) {
        return std::atan2(a.cross(b).norm(), a.dot(b)) * 180.0 / std::numbers::pi;
    }

    const TriangleBvh& surface_;
    const std::vector<Face>& faces_;
    const ThicknessOptions& options_;
    double cap_;
};

// Gives each triangle the median of its samples.
void set_triangles(ThicknessMap& map, const Adjacency& adjacency, std::size_t triangles) {
    map.per_triangle_mm.assign(triangles, 0.0);
    map.per_triangle_contact.assign(triangles, Contact::edge);
    std::vector<std::int32_t> known;
    std::vector<bool> is_known(triangles, false);
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < map.samples.size();) {
        const std::int32_t triangle = map.samples[i].triangle;
        order.clear();
        for (; i < map.samples.size() && map.samples[i].triangle == triangle; ++i) {
            order.push_back(i);
        }
        const auto middle = order.begin() + static_cast<std::ptrdiff_t>(order.size() / 2);
        std::nth_element(order.begin(), middle, order.end(), [&](std::size_t a, std::size_t b) {
            return std::pair(map.samples[a].thickness_mm, a) <
                   std::pair(map.samples[b].thickness_mm, b);
        });
        const auto t = static_cast<std::size_t>(triangle);
        map.per_triangle_mm[t] = map.samples[*middle].thickness_mm;
        map.per_triangle_contact[t] = map.samples[*middle].contact;
        is_known[t] = true;
        known.push_back(triangle);
    }
    // Triangles without a sample take over from the nearest one that has, in steps from neighbor to
    // neighbor.
    for (std::size_t i = 0; i < known.size(); ++i) {
        const auto t = static_cast<std::size_t>(known[i]);
        for (std::size_t k = 0; k < 3; ++k) {
            const std::int32_t twin = adjacency.twin[3 * t + k];
            if (twin >= 0 && !is_known[static_cast<std::size_t>(twin / 3)]) {
                const auto other = static_cast<std::size_t>(twin / 3);
                is_known[other] = true;
                map.per_triangle_mm[other] = map.per_triangle_mm[t];
                map.per_triangle_contact[other] = map.per_triangle_contact[t];
                known.push_back(twin / 3);
            }
        }
    }
}

void set_vertices(ThicknessMap& map, const TriMesh& mesh, const std::vector<Face>& faces) {
    map.per_vertex_mm.assign(mesh.vertices.size(), 0.0);
    std::vector<double> weight(mesh.vertices.size(), 0.0);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        for (const std::int32_t v : mesh.triangles[t]) {
            const auto i = static_cast<std::size_t>(v);
            // The tiniest weight keeps vertices of nothing but slivers from having no value.
            const double w = std::max(faces[t].area, 1e-300);
            map.per_vertex_mm[i] += w * map.per_triangle_mm[t];
            weight[i] += w;
        }
    }
    for (std::size_t i = 0; i < weight.size(); ++i) {
        if (weight[i] > 0.0) {
            map.per_vertex_mm[i] /= weight[i];
        }
    }
}

void check(const ThicknessOptions& options) {
    if (options.cap_mm && !(*options.cap_mm > 0.0)) {
        throw InvalidInput("The cap of the thickness must be more than 0.");
    }
    if (options.samples == 0) {
        throw InvalidInput("The thickness needs at least one sample.");
    }
    if (!(options.relaxation >= 0.0 && options.relaxation < 1.0)) {
        throw InvalidInput("The relaxation of the thickness must be at least 0 and less than 1.");
    }
    if (!(options.noise_mm >= 0.0)) {
        throw InvalidInput("The roughness of the surface must not be negative.");
    }
}

}  // namespace

ThicknessMap thickness_map(const TriMesh& mesh, const Adjacency& adjacency,
                           const TriangleBvh& surface, const ThicknessOptions& options,
                           const RunContext& context) {
    check(options);
    context.report("thickness", 0.0);
    ThicknessMap map;
    const std::vector<Face> faces = faces_of(mesh, adjacency, context);
    CompensatedSum area;
    for (const Face& face : faces) {
        area.add(face.area);
    }
    if (!(area.value() > 0.0)) {
        map.per_triangle_mm.assign(mesh.triangles.size(), 0.0);
        map.per_triangle_contact.assign(mesh.triangles.size(), Contact::edge);
        map.per_vertex_mm.assign(mesh.vertices.size(), 0.0);
        return map;
    }
    map.samples = placed(mesh, faces, area.value(), options.samples);
    map.spacing_mm = std::sqrt(area.value() / static_cast<double>(map.samples.size()));
    const BallGauge gauge(surface, faces, options);
    for_blocks(map.samples.size(), 256, context, [&](const Block& block) {
        for (std::size_t i = block.begin; i < block.end; ++i) {
            gauge.measure(map.samples[i]);
        }
    });
    set_triangles(map, adjacency, mesh.triangles.size());
    set_vertices(map, mesh, faces);
    context.report("thickness", 1.0);
    return map;
}

double thickness_quantile_mm(const ThicknessMap& map, double share) {
    std::vector<std::pair<double, double>> walls;  // thickness, area
    double total = 0.0;
    for (const ThicknessSample& sample : map.samples) {
        if (sample.contact == Contact::wall || sample.contact == Contact::oblique) {
            walls.emplace_back(sample.thickness_mm, sample.area_mm2);
            total += sample.area_mm2;
        }
    }
    std::sort(walls.begin(), walls.end());
    double passed = 0.0;
    for (const auto& [thickness, area] : walls) {
        passed += area;
        if (passed >= share * total) {
            return thickness;
        }
    }
    return walls.empty() ? 0.0 : walls.back().first;
}

}  // namespace cavigram
