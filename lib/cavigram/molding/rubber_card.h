// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cavigram/core/quantity.h"
#include "cavigram/foam/card_reader.h"

namespace cavigram {

/// What is known of one mold rubber: read off the supplier's sheet or measured in the shop.
struct RubberCard {
    std::string name;                ///< Short, for `--rubber-card`.
    std::string source;              ///< Where the figures come from, in the card's own words.
    bool typical = false;            ///< Figures are typical ones, to be replaced.
    MixRatio mix;                    ///< Parts of A (base) and B (hardener) by weight.
    double density_kg_m3 = 0.0;      ///< Cured; liquid and cured differ by a percent or two.
    Ranged shrinkage_share;          ///< Linear, while it cures.
    double elongation_share = 0.0;   ///< At break: 4 for 400 %.
    double hardness_shore_a = 0.0;   ///< 0: not stated.
    double expansion_per_k = 0.0;    ///< Linear, by warmth.
    double conductivity_w_mk = 0.0;  ///< Of heat.
    double capacity_j_kgk = 0.0;     ///< Of heat, per mass.
    double coat_mm = 0.0;            ///< One brushed coat.
    double waste_share = 0.0;        ///< Of what is stirred: stays in cups, on brushes, runs out.
    double pot_life_s = 0.0;         ///< From the start of stirring.
    double cure_s = 0.0;             ///< Until it may be taken off.
};

/// Reads a card from TOML text. `origin` is how errors call it: a path or a card's name.
///
/// Required: name, mix, density. Elongation, hardness and the figures of heat are numbers without
/// quotes, the rest quantities with units. \throw InvalidInput one sentence, naming origin and key.
[[nodiscard]] RubberCard parse_rubber_card(std::string_view toml_text, const std::string& origin);

/// A card that the program ships, with its text as a person would write it.
struct BuiltInRubber {
    std::string name;  ///< As RubberCard::name.
    std::string toml;  ///< As parse_rubber_card reads it.
};

/// The generic cards: a soft silicone mixed by equal weights that hardly shrinks, and a firm one
/// that takes a little hardener. Typical values (common practice, no source), marked as such.
[[nodiscard]] const std::vector<BuiltInRubber>& built_in_rubbers();

/// A card by name, or read from a file when `name_or_path` holds a slash or ends in `.toml`.
///
/// \throw InvalidInput with the nearest known name; UnusableInput if the file can't be read.
[[nodiscard]] RubberCard load_rubber_card(const std::string& name_or_path);

}  // namespace cavigram
