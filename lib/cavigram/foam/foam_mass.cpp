// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/foam_mass.h"

#include <algorithm>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

namespace cavigram {

namespace {

constexpr double kGramsPerMm3 = 1e-6;  // of 1 kg/m3

double skin_volume(const CavityAmounts& cavity, SkinProfile profile, double thickness_mm) {
    return effective_skin_volume_mm3(cavity.skin_curve, cavity.deepest_mm, profile, thickness_mm);
}

std::string thickest_that_fits(const CavityAmounts& cavity, const FoamRequest& request) {
    const double volume =
        cavity.volume_mm3 * request.density_kg_m3.value / request.skin_density_kg_m3.value;
    return significant(
        thickness_for_skin_volume_mm(cavity.skin_curve, cavity.deepest_mm, request.profile, volume),
        3);
}

// True if what the skin leaves is a core of some density.
bool skin_fits(const CavityAmounts& cavity, const FoamRequest& request, double thickness_mm) {
    const double skin = skin_volume(cavity, request.profile, thickness_mm);
    const double mass = cavity.volume_mm3 * request.density_kg_m3.value;
    return skin < cavity.volume_mm3 && skin * request.skin_density_kg_m3.value < mass;
}

void settle_molded(FoamMass& mass, const CavityAmounts& cavity, const FoamRequest& request) {
    const double asked_g = kGramsPerMm3 * cavity.volume_mm3 * request.density_kg_m3.value;
    if (!skin_fits(cavity, request, mass.skin_thickness_mm)) {
        const double low = request.skin_thickness_mm.low;
        const double skin = skin_volume(cavity, request.profile, mass.skin_thickness_mm);
        const double skin_g = kGramsPerMm3 * mass.skin_density_kg_m3 * skin;
        if ((!request.skin_is_typical || !skin_fits(cavity, request, low)) && skin_g < asked_g) {
            // Not too heavy: there is no core that could hold the rest.
            throw InvalidInput(format(
                "A skin of %s mm leaves no core (the deepest point lies %s mm deep): the part is "
                "all skin and weighs %s g, not the %s g asked for; give a thinner skin, a denser "
                "one, or ask for less.",
                significant(mass.skin_thickness_mm, 3).c_str(),
                significant(cavity.deepest_mm, 3).c_str(), significant(skin_g, 3).c_str(),
                significant(asked_g, 3).c_str()));
        }
        if (!request.skin_is_typical || !skin_fits(cavity, request, low)) {
            throw InvalidInput(format(
                "A skin of %s mm at %s kg/m3 would alone weigh %s g of the %s g asked for; give a "
                "thinner skin (%s mm at "
                "the most) or a higher density.",
                significant(mass.skin_thickness_mm, 3).c_str(),
                significant(mass.skin_density_kg_m3, 3).c_str(), significant(skin_g, 3).c_str(),
                significant(asked_g, 3).c_str(), thickest_that_fits(cavity, request).c_str()));
        }
        mass.findings.push_back(
            {Severity::warning,
             "skin_thinned",
             format("A typical skin of %s mm is too heavy for the density asked for, so %s mm, the "
                    "low end of what is typical, is "
                    "used; measure your own skin.",
                    significant(mass.skin_thickness_mm, 3).c_str(), significant(low, 3).c_str()),
             {}});
        mass.skin_thickness_mm = low;
    }
    mass.skin_volume_mm3 = skin_volume(cavity, request.profile, mass.skin_thickness_mm);
    mass.core_density_kg_m3 = (request.density_kg_m3.value * cavity.volume_mm3 -
                               mass.skin_density_kg_m3 * mass.skin_volume_mm3) /
                              (cavity.volume_mm3 - mass.skin_volume_mm3);
}

void settle_overpack(FoamMass& mass, const CavityAmounts& cavity, const FoamRequest& request) {
    const double factor = *request.overpack;
    if (request.basis != DensityBasis::free_rise) {
        throw InvalidInput(
            "An overpack goes with a free-rise density only; add --basis free_rise or leave "
            "--overpack out.");
    }
    if (!(factor >= 1.0)) {
        throw InvalidInput(format("An overpack of %s would not fill the mold; give 1 or more.",
                                  significant(factor, 3).c_str()));
    }
    if (mass.skin_density_kg_m3 <= mass.core_density_kg_m3) {
        throw InvalidInput(
            "With a skin no denser than the free-rise foam, no thickness can hold an overpack; "
            "give a denser skin.");
    }
    const double share = (factor - 1.0) * mass.core_density_kg_m3 /
                         (mass.skin_density_kg_m3 - mass.core_density_kg_m3);
    if (share >= 1.0) {
        throw InvalidInput(
            format("An overpack of %s asks for more than a part that is all skin can hold (%s); "
                   "give less, or a denser skin.",
                   significant(factor, 3).c_str(),
                   significant(mass.skin_density_kg_m3 / mass.core_density_kg_m3, 3).c_str()));
    }
    mass.skin_volume_mm3 = share * cavity.volume_mm3;
    mass.skin_thickness_mm = thickness_for_skin_volume_mm(cavity.skin_curve, cavity.deepest_mm,
                                                          request.profile, mass.skin_volume_mm3);
}

// The extreme masses over the corners of all ranges that matter.
void settle_range(FoamMass& mass, const CavityAmounts& cavity, const FoamRequest& request) {
    const double low_share = cavity.volume_low_mm3 / cavity.volume_mm3;
    const double high_share = cavity.volume_high_mm3 / cavity.volume_mm3;
    mass.part_mass_low_g = mass.part_mass_g * low_share;
    mass.part_mass_high_g = mass.part_mass_g * high_share;
    if (request.basis == DensityBasis::molded || request.overpack) {
        return;
    }
    for (const double thickness : {request.skin_thickness_mm.low, request.skin_thickness_mm.high}) {
        const double skin = skin_volume(cavity, request.profile, thickness);
        for (const double error : {-cavity.skin_error_share, cavity.skin_error_share}) {
            const double volume = std::min(cavity.volume_mm3, skin * (1.0 + error));
            for (const double skin_density :
                 {request.skin_density_kg_m3.low, request.skin_density_kg_m3.high}) {
                for (const double core : {request.density_kg_m3.low, request.density_kg_m3.high}) {
                    const double g =
                        kGramsPerMm3 * (core * cavity.volume_mm3 + (skin_density - core) * volume);
                    mass.part_mass_low_g = std::min(mass.part_mass_low_g, g * low_share);
                    mass.part_mass_high_g = std::max(mass.part_mass_high_g, g * high_share);
                }
            }
        }
    }
}

}  // namespace

FoamMass foam_mass(const CavityAmounts& cavity, const FoamRequest& request) {
    FoamMass mass;
    mass.basis = request.basis;
    mass.skin_thickness_mm = request.skin_thickness_mm.value;
    mass.skin_density_kg_m3 = request.skin_density_kg_m3.value;
    mass.core_density_kg_m3 = request.density_kg_m3.value;
    if (request.overpack) {
        settle_overpack(mass, cavity, request);
    } else if (request.basis == DensityBasis::molded) {
        settle_molded(mass, cavity, request);
    } else {
        mass.skin_volume_mm3 = skin_volume(cavity, request.profile, mass.skin_thickness_mm);
    }
    mass.core_volume_mm3 = cavity.volume_mm3 - mass.skin_volume_mm3;
    mass.skin_mass_g = kGramsPerMm3 * mass.skin_density_kg_m3 * mass.skin_volume_mm3;
    mass.core_mass_g = kGramsPerMm3 * mass.core_density_kg_m3 * mass.core_volume_mm3;
    mass.part_mass_g = mass.skin_mass_g + mass.core_mass_g;
    mass.molded_density_kg_m3 = mass.part_mass_g / (kGramsPerMm3 * cavity.volume_mm3);
    if (request.basis == DensityBasis::free_rise) {
        mass.packing_factor = mass.molded_density_kg_m3 / request.density_kg_m3.value;
    }
    if (mass.skin_thickness_mm > 0.0 && mass.skin_density_kg_m3 < mass.core_density_kg_m3) {
        mass.findings.push_back({Severity::warning,
                                 "skin_lighter_than_core",
                                 format("The skin (%s kg/m3) is lighter than the core (%s kg/m3): "
                                        "unusual for a self-skinning foam; "
                                        "check both densities.",
                                        significant(mass.skin_density_kg_m3, 3).c_str(),
                                        significant(mass.core_density_kg_m3, 3).c_str()),
                                 {}});
    }
    if (mass.skin_thickness_mm >= cavity.deepest_mm) {
        mass.findings.push_back({Severity::warning,
                                 "all_skin",
                                 format("The skin (%s mm) reaches the middle of the part "
                                        "everywhere (deepest point %s mm): there is no "
                                        "soft core.",
                                        significant(mass.skin_thickness_mm, 3).c_str(),
                                        significant(cavity.deepest_mm, 3).c_str()),
                                 {}});
    }
    settle_range(mass, cavity, request);
    return mass;
}

}  // namespace cavigram
