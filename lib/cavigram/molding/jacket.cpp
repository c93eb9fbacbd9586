// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/jacket.h"

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"

namespace cavigram {

namespace {

// Hemihydrate, CaSO4 1/2 H2O: 2630 to 2730 kg/m3 (from memory).
constexpr double kPowder_kg_m3 = 2630.0;
constexpr double kWater_kg_m3 = 1000.0;
// 1 1/2 H2O of 18.015 g/mol that a mole of hemihydrate (145.15 g) binds as it sets.
constexpr double kBound = 27.02 / 145.15;

// Slurry in m3 that a kilogram of powder makes.
double slurry_m3(double water_per_plaster) {
    return 1.0 / kPowder_kg_m3 + water_per_plaster / kWater_kg_m3;
}

}  // namespace

const char* to_text(JacketMaterial material) {
    return material == JacketMaterial::plaster ? "plaster" : "resin";
}

JacketMaterial parse_jacket_material(std::string_view text, std::string_view name) {
    return parse_choice<JacketMaterial>(text, name,
                                        {JacketMaterial::plaster, JacketMaterial::resin});
}

double usual_jacket_mm(JacketMaterial material) {
    return material == JacketMaterial::plaster ? 20.0 : 5.0;
}

double wet_plaster_kg_m3(double water_per_plaster) {
    return (1.0 + water_per_plaster) / slurry_m3(water_per_plaster);
}

double dry_plaster_kg_m3(double water_per_plaster) {
    return (1.0 + kBound) / slurry_m3(water_per_plaster);
}

Jacket jacket_amounts(const JacketRequest& request) {
    CAVIGRAM_ASSERT(request.volume_mm3 >= 0.0 && request.waste_share >= 0.0 &&
                    request.waste_share < 1.0);
    Jacket jacket;
    jacket.request = request;
    const double mixed_mm3 = request.volume_mm3 / (1.0 - request.waste_share);
    if (request.material == JacketMaterial::resin) {
        jacket.dry_g = kGramsPerMm3 * request.resin_kg_m3 * request.volume_mm3;
        jacket.heaviest_g = jacket.dry_g;
        jacket.resin_g = kGramsPerMm3 * request.resin_kg_m3 * mixed_mm3;
        return jacket;
    }
    const double water = request.water_per_plaster;
    if (!(water >= kLeastWater && water <= kMostWater)) {
        throw InvalidInput(fmt::format(
            "{} g of water to a gram of plaster is outside {:g} to {:g}; give what the bag says "
            "({}).",
            significant(water, 3), kLeastWater, kMostWater, setting("plaster-water")));
    }
    jacket.powder_g = kGramsPerMm3 * mixed_mm3 / slurry_m3(water);
    jacket.water_g = water * jacket.powder_g;
    jacket.heaviest_g = kGramsPerMm3 * wet_plaster_kg_m3(water) * request.volume_mm3;
    jacket.dry_g = kGramsPerMm3 * dry_plaster_kg_m3(water) * request.volume_mm3;
    return jacket;
}

}  // namespace cavigram
