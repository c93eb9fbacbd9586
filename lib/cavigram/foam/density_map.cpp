// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/density_map.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/core/sum.h"

namespace cavigram {

namespace {

// How far down it is from a sample to the center of its ball, where the depth stops growing.
double to_the_middle_mm(const ThicknessSample& sample, const DensityMapOptions& options) {
    return std::min(0.5 * sample.thickness_mm, options.deepest_mm);
}

// Triangles that have samples take the mean of them; the others what their thickness says.
void set_triangles(DensityMap& density, std::size_t triangles, const ThicknessMap& map,
                   const SkinOnCore& foam, const DensityMapOptions& options) {
    density.per_triangle_kg_m3.assign(triangles, 0.0);
    density.triangle_all_skin.assign(triangles, 0);
    std::vector<double> area(triangles, 0.0);
    std::vector<double> skin_area(triangles, 0.0);
    for (std::size_t s = 0; s < map.samples.size(); ++s) {
        const auto t = static_cast<std::size_t>(map.samples[s].triangle);
        // The tiniest weight keeps triangles without area from having no value.
        const double weight = std::max(map.samples[s].area_mm2, 1e-300);
        density.per_triangle_kg_m3[t] += weight * density.per_sample_kg_m3[s];
        skin_area[t] += density.sample_all_skin[s] != 0 ? weight : 0.0;
        area[t] += weight;
    }
    for (std::size_t t = 0; t < triangles; ++t) {
        if (area[t] > 0.0) {
            density.per_triangle_kg_m3[t] /= area[t];
            density.triangle_all_skin[t] = skin_area[t] > 0.5 * area[t] ? 1 : 0;
            continue;
        }
        const double thickness = map.per_triangle_mm[t];
        density.per_triangle_kg_m3[t] =
            mean_density_down_to_kg_m3(foam, std::min(0.5 * thickness, options.deepest_mm));
        density.triangle_all_skin[t] = map.per_triangle_contact[t] != Contact::edge &&
                                               map.per_triangle_contact[t] != Contact::rim &&
                                               thickness < 2.0 * foam.skin_thickness_mm
                                           ? 1
                                           : 0;
    }
}

void set_vertices(DensityMap& density, const TriMesh& mesh) {
    density.per_vertex_kg_m3.assign(mesh.vertices.size(), 0.0);
    std::vector<double> weight(mesh.vertices.size(), 0.0);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3 a = mesh.corner(t, 0);
        const double w =
            std::max((mesh.corner(t, 1) - a).cross(mesh.corner(t, 2) - a).norm(), 1e-300);
        for (const std::int32_t v : mesh.triangles[t]) {
            const auto i = static_cast<std::size_t>(v);
            density.per_vertex_kg_m3[i] += w * density.per_triangle_kg_m3[t];
            weight[i] += w;
        }
    }
    for (std::size_t i = 0; i < weight.size(); ++i) {
        if (weight[i] > 0.0) {
            density.per_vertex_kg_m3[i] /= weight[i];
        }
    }
}

void set_shares(DensityMap& density, const ThicknessMap& map) {
    CompensatedSum area;
    CompensatedSum skin;
    CompensatedSum edge;
    std::vector<std::pair<double, double>> rows;  // density, area
    for (std::size_t s = 0; s < map.samples.size(); ++s) {
        const ThicknessSample& sample = map.samples[s];
        area.add(sample.area_mm2);
        skin.add(density.sample_all_skin[s] != 0 ? sample.area_mm2 : 0.0);
        edge.add(sample.contact == Contact::edge ? sample.area_mm2 : 0.0);
        rows.emplace_back(density.per_sample_kg_m3[s], sample.area_mm2);
    }
    density.area_mm2 = area.value();
    density.all_skin_area_mm2 = skin.value();
    density.edge_area_mm2 = edge.value();
    if (rows.empty()) {
        return;
    }
    std::sort(rows.begin(), rows.end());
    const auto at = [&](double share) {
        double passed = 0.0;
        for (const auto& [value, own_area] : rows) {
            passed += own_area;
            if (passed >= share * area.value()) {
                return value;
            }
        }
        return rows.back().first;
    };
    density.least_kg_m3 = rows.front().first;
    density.p10_kg_m3 = at(0.1);
    density.median_kg_m3 = at(0.5);
    density.p90_kg_m3 = at(0.9);
    density.most_kg_m3 = rows.back().first;
}

}  // namespace

double density_at_kg_m3(const SkinOnCore& foam, double depth_mm) {
    const double t = foam.skin_thickness_mm;
    const double surplus = foam.skin_density_kg_m3 - foam.core_density_kg_m3;
    if (foam.profile == SkinProfile::step || t == 0.0) {
        return foam.core_density_kg_m3 + (depth_mm < t ? surplus : 0.0);
    }
    return foam.core_density_kg_m3 + surplus * std::exp(-depth_mm / t);
}

double mean_density_down_to_kg_m3(const SkinOnCore& foam, double depth_mm) {
    CAVIGRAM_ASSERT(depth_mm >= 0.0);
    const double t = foam.skin_thickness_mm;
    const double surplus = foam.skin_density_kg_m3 - foam.core_density_kg_m3;
    if (t == 0.0) {
        return foam.core_density_kg_m3;
    }
    if (depth_mm == 0.0) {
        return foam.skin_density_kg_m3;
    }
    // expm1 keeps its digits where the wall is thin against the decay.
    const double share = foam.profile == SkinProfile::step
                             ? std::min(t / depth_mm, 1.0)
                             : -t / depth_mm * std::expm1(-depth_mm / t);
    return foam.core_density_kg_m3 + surplus * share;
}

DensityMap density_map(const TriMesh& mesh, const ThicknessMap& map, const SkinOnCore& foam,
                       const DensityMapOptions& options) {
    if (!(options.deepest_mm > 0.0)) {
        throw InvalidInput("The depth of the density picture must be more than 0.");
    }
    DensityMap density;
    density.options = options;
    density.per_sample_kg_m3.reserve(map.samples.size());
    density.sample_all_skin.reserve(map.samples.size());
    for (const ThicknessSample& sample : map.samples) {
        density.per_sample_kg_m3.push_back(
            mean_density_down_to_kg_m3(foam, to_the_middle_mm(sample, options)));
        const bool all_skin = sample.contact != Contact::edge &&
                              wall_thickness_mm(sample) < 2.0 * foam.skin_thickness_mm;
        density.sample_all_skin.push_back(all_skin ? 1 : 0);
    }
    set_triangles(density, mesh.triangles.size(), map, foam, options);
    set_vertices(density, mesh);
    set_shares(density, map);
    return density;
}

}  // namespace cavigram
