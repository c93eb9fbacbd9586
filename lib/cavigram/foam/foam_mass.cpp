// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/foam_mass.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/told.h"

namespace cavigram {

namespace {

// What rounding may do to a quotient of two equal densities.
constexpr double kRounding = 1e-12;

double skin_volume(const CavityAmounts& cavity, SkinProfile profile, double thickness_mm) {
    return effective_skin_volume_mm3(cavity.skin_curve, cavity.deepest_mm, profile, thickness_mm);
}

double thickness_of(const CavityAmounts& cavity, SkinProfile profile, double skin_mm3) {
    return skin_mm3 > 0.0 ? thickness_for_skin_volume_mm(cavity.skin_curve, cavity.deepest_mm,
                                                         profile, skin_mm3)
                          : 0.0;
}

std::string density_words(double kg_m3) {
    return std::isfinite(kg_m3) ? told_own(kg_m3, Kind::density, 3) : "no number";
}

void check_positive(const Ranged& density, const char* what) {
    if (!(density.low > 0.0) || density.value < density.low || density.high < density.value) {
        throw InvalidInput(fmt::format(
            "{} is {} ({} to {}); give one above 0, between its own ends.", what,
            density_words(density.value), density_words(density.low), density_words(density.high)));
    }
}

void validate(const FoamRequest& request) {
    check_positive(request.free_rise_kg_m3, "The free-rise density");
    check_positive(request.skin_density_kg_m3, "The skin's density");
    if (request.molded_density_kg_m3 && request.packing_factor) {
        throw InvalidInput(fmt::format(
            "A density of the finished part and an overpack settle the same thing; give one of "
            "them, or leave {} out so that the mix can follow.",
            setting("mix")));
    }
    if (!request.molded_density_kg_m3 && !request.packing_factor && !request.skin_thickness_mm) {
        throw InvalidInput(
            "Nothing says how much foam goes into the mold; give a density or a packing.");
    }
    const double stated =
        request.molded_density_kg_m3.value_or(request.packing_factor.value_or(1.0));
    if (!(stated > 0.0)) {
        throw InvalidInput(
            "The density or the packing asked for is not above 0; give a larger one.");
    }
}

// The surplus over free rise as a volume of skin; no more than the cavity.
double surplus_mm3(double mean, double free_rise, double skin_density, double volume_mm3) {
    if (mean <= free_rise) {
        return 0.0;
    }
    if (skin_density <= free_rise) {
        return volume_mm3;
    }
    return std::min(volume_mm3, (mean - free_rise) / (skin_density - free_rise) * volume_mm3);
}

// Too little foam: it rises freely and leaves the rest of the cavity empty.
void settle_short(FoamMass& mass, double volume_mm3) {
    mass.core_density_kg_m3 = mass.free_rise_kg_m3;
    mass.core_volume_mm3 = mass.packing_factor * volume_mm3;
    mass.unfilled_mm3 = volume_mm3 - mass.core_volume_mm3;
    mass.findings.push_back(
        {Severity::stop,
         "short_shot",
         fmt::format("At {} over the whole part this foam, which rises freely to {}, does not "
                     "fill the mold; give at least that density, or a lighter foam.",
                     told_own(mass.molded_density_kg_m3, Kind::density, 3),
                     told_own(mass.free_rise_kg_m3, Kind::density, 3)),
         {}});
}

void settle_derived(FoamMass& mass, const CavityAmounts& cavity, const FoamRequest& request) {
    const double mean = mass.molded_density_kg_m3;
    const double free_rise = mass.free_rise_kg_m3;
    const double skin_density = mass.skin_density_kg_m3;
    mass.core_density_kg_m3 = free_rise;
    mass.skin_volume_mm3 = surplus_mm3(mean, free_rise, skin_density, cavity.volume_mm3);
    if (mass.packing_factor > 1.0 + kRounding && mass.skin_volume_mm3 >= cavity.volume_mm3) {
        throw InvalidInput(fmt::format(
            "A part of {} would have to be all skin and more: skin has {} here; ask "
            "for less than that, for a denser mix, or give the skin's density as you measured it.",
            density_words(mean), density_words(skin_density)));
    }
    mass.skin_thickness_mm = thickness_of(cavity, request.profile, mass.skin_volume_mm3);
    mass.skin_thickness_low_mm = mass.skin_thickness_high_mm = mass.skin_thickness_mm;
    const Ranged& rise = request.free_rise_kg_m3;
    const Ranged& skin = request.skin_density_kg_m3;
    // Less skin from a foam that rises less and from a denser skin.
    mass.skin_thickness_low_mm = thickness_of(
        cavity, request.profile, surplus_mm3(mean, rise.high, skin.high, cavity.volume_mm3));
    mass.skin_thickness_high_mm = thickness_of(
        cavity, request.profile, surplus_mm3(mean, rise.low, skin.low, cavity.volume_mm3));
}

[[noreturn]] void refuse_light_core(const FoamMass& mass, const CavityAmounts& cavity,
                                    const FoamRequest& request, double core_kg_m3) {
    const double fits_mm3 = surplus_mm3(mass.molded_density_kg_m3, mass.free_rise_kg_m3,
                                        mass.skin_density_kg_m3, cavity.volume_mm3);
    const double needed = mass.free_rise_kg_m3 + (mass.skin_density_kg_m3 - mass.free_rise_kg_m3) *
                                                     mass.skin_volume_mm3 / cavity.volume_mm3;
    const bool core_is_possible = core_kg_m3 > 0.0;
    throw InvalidInput(fmt::format(
        "A skin of {} at {} leaves a core {} than this foam rises freely ({}), which can't be: at "
        "the density asked for a skin of {} fits, and this skin fits a part of {}.",
        told_own(request.skin_thickness_mm->value, Kind::length, 3),
        density_words(mass.skin_density_kg_m3), core_is_possible ? "lighter" : "far lighter",
        density_words(mass.free_rise_kg_m3),
        told_own(thickness_of(cavity, request.profile, fits_mm3), Kind::length, 3),
        density_words(needed)));
}

// A measured skin in a part whose mass is stated: the core is what is left.
void settle_core(FoamMass& mass, const CavityAmounts& cavity, const FoamRequest& request) {
    const double mean = mass.molded_density_kg_m3;
    if (mass.skin_volume_mm3 >= cavity.volume_mm3) {
        throw InvalidInput(fmt::format(
            "A skin of {} leaves no core (the deepest point lies {} deep): the part is all skin "
            "and has {}, not the {} asked for; give a thinner skin, or ask for that.",
            told_own(mass.skin_thickness_mm, Kind::length, 3),
            told_own(cavity.deepest_mm, Kind::length, 3), density_words(mass.skin_density_kg_m3),
            density_words(mean)));
    }
    const double core =
        (mean * cavity.volume_mm3 - mass.skin_density_kg_m3 * mass.skin_volume_mm3) /
        (cavity.volume_mm3 - mass.skin_volume_mm3);
    if (core < request.free_rise_kg_m3.low * (1.0 - kRounding)) {
        refuse_light_core(mass, cavity, request, core);
    }
    mass.core_density_kg_m3 = core;
    if (core < mass.free_rise_kg_m3 * (1.0 - kRounding)) {
        mass.findings.push_back(
            {Severity::warning,
             "core_light",
             fmt::format(
                 "With this skin the core has {}: the foam must rise freely to that, and "
                 "not only to the {} that is stated ({} is within its range); else it falls "
                 "short.",
                 told_own(core, Kind::density, 3), told_own(mass.free_rise_kg_m3, Kind::density, 3),
                 told_own(request.free_rise_kg_m3.low, Kind::density, 3)),
             {}});
    }
}

void settle_measured(FoamMass& mass, const CavityAmounts& cavity, const FoamRequest& request) {
    const Ranged& t = *request.skin_thickness_mm;
    mass.skin_measured = true;
    mass.skin_thickness_mm = t.value;
    mass.skin_thickness_low_mm = t.low;
    mass.skin_thickness_high_mm = t.high;
    mass.skin_volume_mm3 = skin_volume(cavity, request.profile, t.value);
    if (request.molded_density_kg_m3 || request.packing_factor) {
        settle_core(mass, cavity, request);
        return;
    }
    mass.core_density_kg_m3 = mass.free_rise_kg_m3;
    mass.molded_density_kg_m3 =
        mass.free_rise_kg_m3 +
        (mass.skin_density_kg_m3 - mass.free_rise_kg_m3) * mass.skin_volume_mm3 / cavity.volume_mm3;
    mass.packing_factor = mass.molded_density_kg_m3 / mass.free_rise_kg_m3;
    if (mass.skin_density_kg_m3 < mass.free_rise_kg_m3) {
        throw InvalidInput(fmt::format(
            "A skin of {} would be lighter than the foam rises freely ({}), which can't be; check "
            "both densities.",
            density_words(mass.skin_density_kg_m3), density_words(mass.free_rise_kg_m3)));
    }
}

void note_all_skin(FoamMass& mass, const CavityAmounts& cavity) {
    if (mass.skin_thickness_mm < cavity.deepest_mm) {
        return;
    }
    mass.findings.push_back(
        {Severity::warning,
         "all_skin",
         fmt::format("The skin ({}) reaches the middle of the part everywhere (deepest point {}): "
                     "there is no soft core.",
                     told_own(mass.skin_thickness_mm, Kind::length, 3),
                     told_own(cavity.deepest_mm, Kind::length, 3)),
         {}});
}

}  // namespace

FoamMass foam_mass(const CavityAmounts& cavity, const FoamRequest& request) {
    validate(request);
    FoamMass mass;
    mass.free_rise_kg_m3 = request.free_rise_kg_m3.value;
    mass.skin_density_kg_m3 = request.skin_density_kg_m3.value;
    if (request.molded_density_kg_m3) {
        mass.molded_density_kg_m3 = *request.molded_density_kg_m3;
        mass.packing_factor = mass.molded_density_kg_m3 / mass.free_rise_kg_m3;
    } else if (request.packing_factor) {
        mass.packing_factor = *request.packing_factor;
        mass.molded_density_kg_m3 = mass.packing_factor * mass.free_rise_kg_m3;
    }
    const bool mass_stated = mass.packing_factor > 0.0;
    if (mass_stated && mass.packing_factor < 1.0 - kRounding) {
        settle_short(mass, cavity.volume_mm3);
    } else {
        if (request.skin_thickness_mm) {
            settle_measured(mass, cavity, request);
        } else {
            settle_derived(mass, cavity, request);
        }
        mass.core_volume_mm3 = cavity.volume_mm3 - mass.skin_volume_mm3;
        note_all_skin(mass, cavity);
    }
    mass.skin_mass_g = kGramsPerMm3 * mass.skin_density_kg_m3 * mass.skin_volume_mm3;
    mass.core_mass_g = kGramsPerMm3 * mass.core_density_kg_m3 * mass.core_volume_mm3;
    mass.part_mass_g = mass.skin_mass_g + mass.core_mass_g;
    mass.part_mass_low_g = mass.part_mass_g * cavity.volume_low_mm3 / cavity.volume_mm3;
    mass.part_mass_high_g = mass.part_mass_g * cavity.volume_high_mm3 / cavity.volume_mm3;
    return mass;
}

double integrated_mass_g(const CavityAmounts& cavity, const FoamMass& mass, SkinProfile profile) {
    const double skin = skin_volume(cavity, profile, mass.skin_thickness_mm);
    return kGramsPerMm3 *
           (mass.skin_density_kg_m3 * skin + mass.core_density_kg_m3 * (cavity.volume_mm3 - skin));
}

}  // namespace cavigram
