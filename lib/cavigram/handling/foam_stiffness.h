// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/core/quantity.h"
#include "cavigram/foam/card.h"
#include "cavigram/foam/density_map.h"
#include "cavigram/geom/vector.h"
#include "cavigram/measure/sections.h"

namespace cavigram {

/// Polyurethane without gas, by which the laws of cellular solids count. From memory (Gibson &
/// Ashby, Cellular Solids, 2nd ed., 1997); a little more than kPolymer_kg_m3, which is a mix's.
inline constexpr double kSolidPolyurethane_kg_m3 = 1200.0;
/// Young's modulus of flexible polyurethane without gas, of a foam at 50:100. From memory, as
/// kSolidPolyurethane_kg_m3.
inline constexpr double kSolidModulus_mpa = 45.0;
/// The same at 30:100, as a share: less isocyanate ties fewer cross-links. What the denser mix is
/// must be below 0.378698 to be the softer one (docs/checks.md G7); by how much nobody measured: a
/// guess.
inline constexpr double kSoftMixShare = 0.3;
/// Real flexible foams lie about the law by these factors. From memory.
inline constexpr Ranged kModulusScatter{1.0, 0.5, 5.0};
/// The laws of cellular solids hold below this share of solid.
inline constexpr double kFoamLawUpTo = 0.3;

/// What a foam's stiffness comes to by the laws of cellular solids.
struct FoamModulus {
    double young_mpa = 0.0;    ///< In tension, compression and bending, at small strains.
    double shear_mpa = 0.0;    ///< 3/8 of the solid's, which is a Poisson's ratio of 1/3.
    double buckles_kpa = 0.0;  ///< The stress at which cell edges buckle: 0.05 of the solid's.
    double solid_share = 0.0;  ///< Foam's density over the solid's.
    bool outside_law = false;  ///< solid_share is kFoamLawUpTo or more: an extrapolation.
};

/// Open cells: E = Es share^2, G = 3/8 Es share^2 (Gibson & Ashby 1997, the forms on a published
/// formula sheet). \pre both > 0
[[nodiscard]] FoamModulus open_cell_modulus(double density_kg_m3, double solid_mpa);

/// Closed cells, with the share `in_edges` of the solid in the cells' edges and the rest in their
/// faces, and the gas shut in at `air_kpa` (0: none): E = Es (f^2 share^2 + (1-f) share) + p (1 - 2
/// nu)/(1 - share), nu = 1/3. In MPa.
[[nodiscard]] double closed_cell_modulus_mpa(double density_kg_m3, double solid_mpa,
                                             double in_edges, double air_kpa);

/// Young's modulus of the solid for a mix: tied to the mix, never to a density alone
/// (docs/checks.md G7). Between 30 and 50 parts of A to 100 of B its logarithm is interpolated;
/// beyond, the nearer end's. A guess.
[[nodiscard]] double solid_modulus_mpa(const MixRatio& mix);

/// A foam with a skin, as stiffness at each depth: the law of open cells at the density there.
struct StiffLayers {
    SkinOnCore layers;                     ///< Density by depth.
    double solid_mpa = kSolidModulus_mpa;  ///< Of this mix.

    /// Of the core.
    [[nodiscard]] double core_mpa() const;
    /// Young's modulus at a depth.
    [[nodiscard]] double at_mpa(double depth_mm) const;
    /// What the skin adds to the core over a stretch of depth.
    struct Surplus {
        double sum = 0.0;    ///< MPa mm, or kg/m3 mm.
        double first = 0.0;  ///< With the depth as weight: MPa mm2, or kg/m3 mm2.
    };
    /// The integrals of E less the core's between two depths, in closed form. \pre 0 <= from <= to
    [[nodiscard]] Surplus stiffer(double from_mm, double to_mm) const;
    /// The same for the density.
    [[nodiscard]] Surplus denser(double from_mm, double to_mm) const;
};

/// A section against stretching, bending and twisting.
struct Rigidity {
    double ea_n = 0.0;              ///< Integral of E.
    Vec2 center_mm = Vec2::Zero();  ///< Where its weighted centroid lies: the neutral axis.
    Eigen::Matrix2d ei_n_mm2 = Eigen::Matrix2d::Zero();  ///< Integral of E x x^T about it.
    double gj_n_mm2 = 0.0;                               ///< Against twisting.
};

/// Of one stuff: E times area and moments. Twisting by Saint-Venant's A^4/(4 pi^2 Ip), exact for
/// ellipses, 8 % too stiff for a square, with G = 3/8 E.
[[nodiscard]] Rigidity rigidity(const AreaMoments& moments, double young_mpa);
/// A round rod at a place of the section, less the foam that it displaces. Negative for a rod that
/// is softer than the foam. \pre diameter > 0
[[nodiscard]] Rigidity rod_rigidity(const Vec2& at_mm, double diameter_mm, double rod_mpa,
                                    double foam_mpa);
/// Two that bend as one: EI adds up about the axis that EA weighs out between them.
[[nodiscard]] Rigidity acting_together(const Rigidity& one, const Rigidity& other);
/// Two side by side, each bending for itself about its own axis: EI adds up without it.
[[nodiscard]] Rigidity side_by_side(const Rigidity& one, const Rigidity& other);
/// All of it so many times as stiff.
[[nodiscard]] Rigidity scaled(Rigidity of, double factor);

}  // namespace cavigram
