// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cavigram/foam/skin.h"
#include "cavigram/measure/thickness.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Skin over core, as a density at each depth.
struct SkinOnCore {
    SkinProfile profile = SkinProfile::step;  ///< How the skin fades into the core.
    double skin_thickness_mm = 0.0;           ///< As FoamMass.
    double skin_density_kg_m3 = 0.0;          ///< At the surface.
    double core_density_kg_m3 = 0.0;          ///< Deep inside.

    /// Field by field.
    friend bool operator==(const SkinOnCore&, const SkinOnCore&) = default;
};

/// Density at a depth below the surface.
[[nodiscard]] double density_at_kg_m3(const SkinOnCore& foam, double depth_mm);

/// Mean density from the surface down to a depth, straight down:
///     step         core + (skin - core) min(t, depth) / depth
///     exponential  core + (skin - core) (t / depth) (1 - exp(-depth / t))
/// At no depth the skin's own density; core density where the skin has no thickness.
///
/// \pre depth_mm >= 0
[[nodiscard]] double mean_density_down_to_kg_m3(const SkinOnCore& foam, double depth_mm);

/// How deep the surface is felt into.
struct DensityMapOptions {
    /// The mean goes to the middle of the wall but no deeper than this: what lies deeper is hardly
    /// felt by a hand that presses. Common practice, no source.
    double deepest_mm = 20.0;
};

/// The thickness map that density_map needs is at least so thick before it may be capped.
[[nodiscard]] inline double least_cap_mm(const DensityMapOptions& options) {
    return 2.0 * options.deepest_mm;
}

/// Mean density beneath each place of the surface.
struct DensityMap {
    DensityMapOptions options;             ///< What it was made with.
    std::vector<double> per_sample_kg_m3;  ///< In the order of the thickness map's samples.
    std::vector<std::uint8_t>
        sample_all_skin;  ///< 1: a wall (wall_thickness_mm) of less than twice the skin.
    std::vector<double> per_triangle_kg_m3;       ///< Mean of the triangle's samples by area.
    std::vector<std::uint8_t> triangle_all_skin;  ///< 1: most of the triangle's samples are.
    std::vector<double> per_vertex_kg_m3;         ///< Mean of the triangles around, by area.
    double area_mm2 = 0.0;                        ///< Of the whole surface.
    double all_skin_area_mm2 = 0.0;               ///< Stiff and heavy, no cushion: no core at all.
    double edge_area_mm2 = 0.0;  ///< Where a convex edge holds the ball (Contact::edge).
    double least_kg_m3 = 0.0;    ///< Anywhere.
    double most_kg_m3 = 0.0;     ///< Anywhere.
    double median_kg_m3 = 0.0;   ///< Half of the area has less beneath it,
    double p10_kg_m3 = 0.0;      ///< a tenth of it,
    double p90_kg_m3 = 0.0;      ///< nine tenths.
};

/// What is beneath the surface, place by place: from each sample straight down the inward normal to
/// the middle, where the depth stops growing (the center of the inscribed ball), the mean of the
/// density that the skin's profile gives.
///
/// Along that line depth is exactly the distance gone, so the mean is in closed form. It is what a
/// hand meets, not the mean of the volume there: under a curved surface the outer layers hold more
/// than their share of the volume. A convex edge is dense in this sense on every part; such places
/// keep their density but are not counted as all skin. With the exponential the same bound of twice
/// the thickness is used; in the middle of such a wall the surplus is still 1/e of the skin's.
///
/// O(samples + triangles log samples).
///
/// \pre `map` is the mesh's own and its cap, if any, is at least least_cap_mm(options).
///
/// \throw InvalidInput for a depth that is not positive
[[nodiscard]] DensityMap density_map(const TriMesh& mesh, const ThicknessMap& map,
                                     const SkinOnCore& foam, const DensityMapOptions& options = {});

}  // namespace cavigram
