// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/handling/foam_stiffness.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace cavigram {

namespace {

constexpr double kShearOverYoung = 3.0 / 8.0;

// The integrals of exp(-x/l) and of x exp(-x/l) from a to b.
StiffLayers::Surplus fading(double l, double from, double to) {
    if (l <= 0.0) {
        return {};
    }
    const double a = std::exp(-from / l);
    const double b = std::exp(-to / l);
    return {l * (a - b), l * ((from + l) * a - (to + l) * b)};
}

// The same of a step that ends at t.
StiffLayers::Surplus step(double t, double from, double to) {
    const double a = std::min(from, t);
    const double b = std::min(to, t);
    return {b - a, 0.5 * (b * b - a * a)};
}

StiffLayers::Surplus times(const StiffLayers::Surplus& s, double factor) {
    return {factor * s.sum, factor * s.first};
}

StiffLayers::Surplus plus(const StiffLayers::Surplus& a, const StiffLayers::Surplus& b) {
    return {a.sum + b.sum, a.first + b.first};
}

}  // namespace

FoamModulus open_cell_modulus(double density_kg_m3, double solid_mpa) {
    FoamModulus m;
    m.solid_share = density_kg_m3 / kSolidPolyurethane_kg_m3;
    m.young_mpa = solid_mpa * m.solid_share * m.solid_share;
    m.shear_mpa = kShearOverYoung * m.young_mpa;
    m.buckles_kpa = 1000.0 * 0.05 * m.young_mpa;
    m.outside_law = m.solid_share >= kFoamLawUpTo;
    return m;
}

double closed_cell_modulus_mpa(double density_kg_m3, double solid_mpa, double in_edges,
                               double air_kpa) {
    const double share = density_kg_m3 / kSolidPolyurethane_kg_m3;
    constexpr double kPoisson = 1.0 / 3.0;
    return solid_mpa * (in_edges * in_edges * share * share + (1.0 - in_edges) * share) +
           0.001 * air_kpa * (1.0 - 2.0 * kPoisson) / (1.0 - share);
}

double solid_modulus_mpa(const MixRatio& mix) {
    constexpr double kFirm = 0.5;
    constexpr double kSoft = 0.3;
    const double toward_soft = std::clamp((kFirm - mix.a / mix.b) / (kFirm - kSoft), 0.0, 1.0);
    return kSolidModulus_mpa * std::pow(kSoftMixShare, toward_soft);
}

double StiffLayers::core_mpa() const {
    return open_cell_modulus(layers.core_density_kg_m3, solid_mpa).young_mpa;
}

double StiffLayers::at_mpa(double depth_mm) const {
    return open_cell_modulus(density_at_kg_m3(layers, depth_mm), solid_mpa).young_mpa;
}

// With density c + d u, u from 1 at the surface to 0: E - core = Es/rho^2 (2 c d u + d^2 u^2), and
// u^2 of an exponential fades twice as fast.
StiffLayers::Surplus StiffLayers::stiffer(double from_mm, double to_mm) const {
    const double c = layers.core_density_kg_m3;
    const double d = layers.skin_density_kg_m3 - c;
    const double t = layers.skin_thickness_mm;
    const double per = solid_mpa / (kSolidPolyurethane_kg_m3 * kSolidPolyurethane_kg_m3);
    if (layers.profile == SkinProfile::step) {
        return times(step(t, from_mm, to_mm), per * (2.0 * c * d + d * d));
    }
    return plus(times(fading(t, from_mm, to_mm), per * 2.0 * c * d),
                times(fading(0.5 * t, from_mm, to_mm), per * d * d));
}

StiffLayers::Surplus StiffLayers::denser(double from_mm, double to_mm) const {
    const double d = layers.skin_density_kg_m3 - layers.core_density_kg_m3;
    const double t = layers.skin_thickness_mm;
    return times(
        layers.profile == SkinProfile::step ? step(t, from_mm, to_mm) : fading(t, from_mm, to_mm),
        d);
}

Rigidity rigidity(const AreaMoments& moments, double young_mpa) {
    Rigidity r;
    r.ea_n = young_mpa * moments.area_mm2;
    r.center_mm = moments.centroid_mm;
    r.ei_n_mm2 = young_mpa * moments.second_mm4;
    const double polar = moments.second_mm4.trace();
    constexpr double kPi = std::numbers::pi;
    r.gj_n_mm2 = polar > 0.0 ? kShearOverYoung * young_mpa * std::pow(moments.area_mm2, 4) /
                                   (4.0 * kPi * kPi * polar)
                             : 0.0;
    return r;
}

Rigidity rod_rigidity(const Vec2& at_mm, double diameter_mm, double rod_mpa, double foam_mpa) {
    const double r = 0.5 * diameter_mm;
    AreaMoments disc;
    disc.area_mm2 = std::numbers::pi * r * r;
    disc.centroid_mm = at_mm;
    disc.second_mm4 = Eigen::Matrix2d::Identity() * disc.area_mm2 * r * r / 4.0;
    return rigidity(disc, rod_mpa - foam_mpa);
}

Rigidity acting_together(const Rigidity& one, const Rigidity& other) {
    Rigidity both = side_by_side(one, other);
    for (const Rigidity& part : {one, other}) {
        const Vec2 off = part.center_mm - both.center_mm;
        both.ei_n_mm2 += part.ea_n * off * off.transpose();
    }
    return both;
}

Rigidity side_by_side(const Rigidity& one, const Rigidity& other) {
    Rigidity both;
    both.ea_n = one.ea_n + other.ea_n;
    if (both.ea_n != 0.0) {
        both.center_mm = (one.ea_n * one.center_mm + other.ea_n * other.center_mm) / both.ea_n;
    }
    both.ei_n_mm2 = one.ei_n_mm2 + other.ei_n_mm2;
    both.gj_n_mm2 = one.gj_n_mm2 + other.gj_n_mm2;
    return both;
}

Rigidity scaled(Rigidity of, double factor) {
    of.ea_n *= factor;
    of.ei_n_mm2 *= factor;
    of.gj_n_mm2 *= factor;
    return of;
}

}  // namespace cavigram
