// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/core/quantity.h"
#include "cavigram/foam/card_reader.h"
#include "cavigram/foam/kinetics.h"
#include "cavigram/foam/pressure.h"
#include "cavigram/foam/skin.h"

namespace cavigram {

/// What a stated density is the density of.
enum class DensityBasis {
    free_rise,  ///< Foam that rose in an open cup. What a supplier's sheet means unless it says
                ///< otherwise.
    molded,     ///< The finished part's mean, skin and all.
    core,       ///< The inside of the part, free of skin.
};

/// The word for a basis: `free_rise`, `molded`, `core`.
[[nodiscard]] const char* to_text(DensityBasis basis);
/// The way back.
///
/// \throw InvalidInput naming the three words
[[nodiscard]] DensityBasis parse_basis(std::string_view text, std::string_view name);
/// `step` or `exponential`.
///
/// \throw InvalidInput
[[nodiscard]] SkinProfile parse_profile(std::string_view text, std::string_view name);

/// Packing that fills a mold although this foam may rise a tenth less than its card says, with the
/// range that is usual for flexible molded foam. From memory.
inline constexpr Ranged kUsualPacking{1.15, 1.05, 1.3};

/// What is known of one mix of one foam: read off the supplier's sheet or measured in the shop.
struct FoamCard {
    std::string name;      ///< Short, for `--foam`.
    std::string family;    ///< Cards of one family are mixes of one foam; only between them may the
                           ///< program interpolate.
    std::string source;    ///< Where the figures come from, in the card's own words.
    bool typical = false;  ///< Figures are typical ones, to be replaced; every output that rests on
                           ///< them says so.
    MixRatio mix;          ///< Parts of A and of B by weight.
    Ranged density_kg_m3;  ///< As stated, of `basis`.
    DensityBasis basis = DensityBasis::free_rise;  ///< What density_kg_m3 is the density of.
    double density_air_kpa = kAtmosphere_kpa;      ///< Air in which that density was measured.
    /// How full the mold is packed where nothing else is asked for: mean over free-rise density.
    Ranged packing = kUsualPacking;
    std::optional<Ranged> skin_thickness_mm;  ///< As measured; none: it follows from the packing.
    Ranged skin_density_kg_m3;                ///< Of the skin alone.
    SkinProfile skin_profile = SkinProfile::step;  ///< How the skin fades into the core.
    double liquid_a_kg_m3 = 0.0;                   ///< Density of part A.
    double liquid_b_kg_m3 = 0.0;                   ///< Density of part B.
    double work_time_s = 0.0;                      ///< From the start of stirring until it foams.
    double rise_time_s = 0.0;               ///< From the start of stirring until it has risen.
    double demold_min_s = 0.0;              ///< Open the mold no sooner,
    double demold_max_s = 0.0;              ///< and by then.
    double at_c = 23.0;                     ///< Temperature at which these times hold.
    RiseCurve curve = RiseCurve::gompertz;  ///< Along which it rises.
    TemperatureRule rule;  ///< How they change; from `work_2` at `at_2` if the card has them.
    double viscosity_pa_s = 1.0;  ///< Of the stirred liquid.
    /// What a kit holds and costs; 0: not stated.
    double kit_a_g = 0.0;
    double kit_b_g = 0.0;    ///< As kit_a_g.
    double kit_price = 0.0;  ///< As kit_a_g.
    std::string currency;    ///< Of kit_price.
    std::optional<double>
        index;  ///< Isocyanate index at this mix, if the card has the liquids' own figures.
};

/// Reads a card from TOML text. `origin` is how errors call it: a path or a card's name.
///
/// Quantities are strings with units. Required: name, mix, density.value, skin.density; a stated
/// skin.thickness is taken as measured. An unknown key is refused with the nearest known one; a
/// value of the wrong kind or out of range is refused by its name.
///
/// \throw InvalidInput one sentence, naming origin and key.
[[nodiscard]] FoamCard parse_card(std::string_view toml_text, const std::string& origin);

/// A card that the program ships, with its text as a person would write it.
struct BuiltInCard {
    std::string name;  ///< As FoamCard::name.
    std::string toml;  ///< As parse_card reads it.
};

/// The generic cards: a firm mix 50:100 near 8 lb/ft3 and a soft, denser mix 30:100 near 13 lb/ft3
/// of one variable-density flexible foam. Typical values (common practice, no source), marked as
/// such in the cards.
[[nodiscard]] const std::vector<BuiltInCard>& built_in_cards();

/// Where a person keeps cards: `$XDG_CONFIG_HOME/cavigram/foams`, or below `~/.config`. A file
/// NAME.toml there is the card NAME.
[[nodiscard]] std::filesystem::path own_cards_folder();
/// Names of the cards in that folder, sorted.
[[nodiscard]] std::vector<std::string> own_card_names();

/// A card by name, the person's own before a built-in one, or read from a file when `name_or_path`
/// holds a slash or ends in `.toml`.
///
/// \throw InvalidInput with the nearest known name; UnusableInput if the file can't be read.
[[nodiscard]] FoamCard load_card(const std::string& name_or_path);

}  // namespace cavigram
