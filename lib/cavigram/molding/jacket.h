// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

namespace cavigram {

/// What a jacket is made of.
enum class JacketMaterial {
    plaster,  ///< Powder and water.
    resin,    ///< Resin with fibers or filler, mixed as its sheet says.
};
/// The word for a material: `plaster`, `resin`.
[[nodiscard]] const char* to_text(JacketMaterial material);
/// The way back.
///
/// \throw InvalidInput naming the two words
[[nodiscard]] JacketMaterial parse_jacket_material(std::string_view text, std::string_view name);

/// Thickness of a jacket where none is asked for: of plaster 15 to 25 mm, of resin with fibers 3 to
/// 6 mm are usual; common practice, no source.
[[nodiscard]] double usual_jacket_mm(JacketMaterial material);

/// Grams of water to a gram of plaster where the bag says nothing. Common practice, no source.
inline constexpr double kWaterPerPlaster = 0.7;
/// A laid-up resin jacket, fibers and all. Common practice, no source.
inline constexpr double kResin_kg_m3 = 1450.0;
/// What stays in the bowl or is trimmed. A guess.
inline constexpr double kJacketWaste = 0.1;
/// Water to plaster by weight: below it is too stiff to stir, above too weak to lift. Common
/// practice, no source.
inline constexpr double kLeastWater = 0.25;
inline constexpr double kMostWater = 1.5;  ///< As kLeastWater.

/// Density of plaster as poured, powder and water as they are: (1 + w)/(1/powder + w/1000).
/// docs/checks.md P2. \pre water_per_plaster > 0
[[nodiscard]] double wet_plaster_kg_m3(double water_per_plaster);

/// Density of plaster that has set and dried. It keeps the volume of the slurry (it swells by some
/// tenths of a percent, left out) and of the water only what the crystals bind: 27.02 g to 145.15 g
/// of hemihydrate. docs/checks.md P1. \pre water_per_plaster > 0
[[nodiscard]] double dry_plaster_kg_m3(double water_per_plaster);

/// What a jacket is made for.
struct JacketRequest {
    JacketMaterial material = JacketMaterial::plaster;  ///< What it is made of.
    double volume_mm3 = 0.0;                            ///< Of the jacket.
    double water_per_plaster = kWaterPerPlaster;        ///< By weight; plaster only.
    double resin_kg_m3 = kResin_kg_m3;                  ///< Resin only.
    double waste_share = kJacketWaste;                  ///< Of what is mixed.
};

/// What to buy, and what it weighs.
struct Jacket {
    JacketRequest request;    ///< What it was computed for.
    double powder_g = 0.0;    ///< Plaster to mix, waste and all; 0 for resin.
    double water_g = 0.0;     ///< Water to it.
    double resin_g = 0.0;     ///< Resin and fibers to buy; 0 for plaster.
    double heaviest_g = 0.0;  ///< The jacket itself: fresh plaster still holds its water.
    double dry_g = 0.0;       ///< The jacket itself, once dry.
};

/// Amounts for a jacket: volume times density, and waste as a share of what is mixed.
///
/// O(1). \pre volume >= 0, waste in [0, 1)
///
/// \throw InvalidInput for water outside kLeastWater to kMostWater
[[nodiscard]] Jacket jacket_amounts(const JacketRequest& request);

}  // namespace cavigram
