// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/faults.h"

#include <algorithm>
#include <cmath>

#include "cavigram/core/side_by_side.h"
#include "cavigram/geom/triangle.h"

namespace cavigram {

namespace {

constexpr double kSliver = 1e-3;     // height over longest edge
constexpr double kSpike = 3.0;       // height over the neighbors' distance from their mean
constexpr double kSpikeSlope = 0.5;  // cosine of 60 degrees
constexpr double kSmoothCosine = 0.8;
constexpr std::size_t kFewestSmooth = 200;  // vertices; a coarse mesh tells nothing of noise

// For each vertex the sum over its neighbors, each counted once for every triangle (twice inside
// the surface).
struct Neighborhood {
    std::vector<Vec3> mean;
    std::vector<Vec3> normal;  // sum of double areas
    std::vector<std::int32_t> count;
};

Neighborhood neighborhoods(const TriMesh& mesh) {
    Neighborhood around;
    const std::size_t n = mesh.vertices.size();
    around.mean.assign(n, Vec3::Zero());
    around.normal.assign(n, Vec3::Zero());
    around.count.assign(n, 0);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3 area =
            double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        for (int i = 0; i < 3; ++i) {
            const auto v = static_cast<std::size_t>(mesh.triangles[t][static_cast<std::size_t>(i)]);
            around.mean[v] +=
                mesh.corner(t, (i + 1) % 3) + mesh.corner(t, (i + 2) % 3) - 2.0 * mesh.vertices[v];
            around.normal[v] += area;
            around.count[v] += 2;
        }
    }
    for (std::size_t v = 0; v < n; ++v) {
        if (around.count[v] > 0) {
            around.mean[v] /= around.count[v];  // relative to the vertex
            const double length = around.normal[v].norm();
            around.normal[v] = length > 0.0 ? Vec3(around.normal[v] / length) : Vec3::Zero();
        }
    }
    return around;
}

void put_place(Fault& fault, const Vec3& p) {
    ++fault.count;
    if (fault.places_mm.size() < kMostFaultPlaces) {
        fault.places_mm.push_back({p.x(), p.y(), p.z()});
    }
}

std::vector<Fault> slivers_and_spikes(const TriMesh& mesh, const Neighborhood& around) {
    Fault slivers{FaultKind::sliver, 0, {}, {}};
    std::vector<double> radius(mesh.vertices.size(),
                               0.0);  // the neighbors' mean distance from their mean
    std::vector<double> flattest(mesh.vertices.size(), -1.0);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3 area =
            double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        double longest2 = 0.0;
        for (int i = 0; i < 3; ++i) {
            const auto v = static_cast<std::size_t>(mesh.triangles[t][static_cast<std::size_t>(i)]);
            const Vec3& p = mesh.vertices[v];
            const Vec3 ahead = mesh.corner(t, (i + 1) % 3) - p;
            const Vec3 behind = mesh.corner(t, (i + 2) % 3) - p;
            longest2 = std::max(longest2, ahead.squaredNorm());
            radius[v] += ((ahead - around.mean[v]).norm() + (behind - around.mean[v]).norm()) /
                         around.count[v];
            // Against the direction in which the vertex stands out.
            const double out = around.mean[v].norm() * area.norm();
            flattest[v] =
                std::max(flattest[v], out > 0.0 ? std::abs(area.dot(around.mean[v])) / out : 1.0);
        }
        if (area.squaredNorm() < kSliver * kSliver * longest2 * longest2) {
            put_place(slivers, (mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0);
        }
    }
    Fault spikes{FaultKind::spike, 0, {}, {}};
    for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
        const double height = around.mean[v].norm();
        if (around.count[v] > 0 && height > kSpike * radius[v] && flattest[v] < kSpikeSlope) {
            put_place(spikes, mesh.vertices[v]);
            if (spikes.sizes_mm.size() < spikes.places_mm.size()) {
                spikes.sizes_mm.push_back(height);
            }
        }
    }
    std::vector<Fault> faults;
    for (Fault* fault : {&slivers, &spikes}) {
        if (fault->count > 0) {
            faults.push_back(std::move(*fault));
        }
    }
    return faults;
}

double noise_of(const TriMesh& mesh, const Neighborhood& around) {
    constexpr double kMedianOfWhite = 0.917;  // 0.6745 * sqrt(1.847)
    const std::size_t n = mesh.vertices.size();
    std::vector<double> offset(n);
    for (std::size_t v = 0; v < n; ++v) {
        offset[v] = around.mean[v].dot(around.normal[v]);
    }
    // Edges and corners of a part are no noise: only vertices whose triangles all look roughly one
    // way count.
    std::vector<double> neighbors(n, 0.0);
    std::vector<bool> smooth(n, true);
    for (std::size_t k = 0; k < mesh.triangles.size(); ++k) {
        const Triangle& t = mesh.triangles[k];
        const Vec3 area =
            double_area_vector(mesh.corner(k, 0), mesh.corner(k, 1), mesh.corner(k, 2));
        for (std::size_t i = 0; i < 3; ++i) {
            const auto v = static_cast<std::size_t>(t[i]);
            neighbors[v] += offset[static_cast<std::size_t>(t[(i + 1) % 3])] +
                            offset[static_cast<std::size_t>(t[(i + 2) % 3])];
            smooth[v] = smooth[v] && area.dot(around.normal[v]) >= kSmoothCosine * area.norm();
        }
    }
    std::vector<bool> among_smooth = smooth;  // whose neighbors are smooth too
    for (const Triangle& t : mesh.triangles) {
        for (std::size_t i = 0; i < 3; ++i) {
            const auto v = static_cast<std::size_t>(t[i]);
            among_smooth[v] = among_smooth[v] && smooth[static_cast<std::size_t>(t[(i + 1) % 3])] &&
                              smooth[static_cast<std::size_t>(t[(i + 2) % 3])];
        }
    }
    std::vector<double> amounts;
    amounts.reserve(n);
    std::size_t used = 0;
    for (std::size_t v = 0; v < n; ++v) {
        used += around.count[v] > 0 ? 1 : 0;
        if (around.count[v] > 0 && among_smooth[v]) {
            amounts.push_back(std::abs(offset[v] - neighbors[v] / around.count[v]));
        }
    }
    if (amounts.size() < kFewestSmooth || 5 * amounts.size() < used) {
        return 0.0;
    }
    const auto middle = amounts.begin() + static_cast<std::ptrdiff_t>(amounts.size() / 2);
    std::nth_element(amounts.begin(), middle, amounts.end());
    return *middle / kMedianOfWhite;
}

}  // namespace

const char* to_text(FaultKind kind) {
    switch (kind) {
        case FaultKind::degenerate:
            return "degenerate";
        case FaultKind::duplicate:
            return "duplicate";
        case FaultKind::folded:
            return "folded";
        case FaultKind::flipped:
            return "flipped";
        case FaultKind::crack:
            return "crack";
        case FaultKind::hole:
            return "hole";
        case FaultKind::missing_base:
            return "missing_base";
        case FaultKind::nonmanifold_edge:
            return "nonmanifold_edge";
        case FaultKind::nonmanifold_vertex:
            return "nonmanifold_vertex";
        case FaultKind::crossing:
            return "crossing";
        case FaultKind::overlap:
            return "overlap";
        case FaultKind::hollow:
            return "hollow";
        case FaultKind::double_skin:
            return "double_skin";
        case FaultKind::within:
            return "within";
        case FaultKind::scrap:
            return "scrap";
        case FaultKind::sliver:
            return "sliver";
        case FaultKind::spike:
            return "spike";
        case FaultKind::noise:
            return "noise";
    }
    return "";
}

ShapeSurvey survey_shape(const TriMesh& mesh, const RunContext& context) {
    const Neighborhood around = neighborhoods(mesh);
    ShapeSurvey survey;
    side_by_side(
        context, [&](const RunContext&) { survey.noise_mm = noise_of(mesh, around); },
        [&](const RunContext&) { survey.faults = slivers_and_spikes(mesh, around); });
    return survey;
}

}  // namespace cavigram
