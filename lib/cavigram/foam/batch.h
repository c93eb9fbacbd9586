// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/core/quantity.h"

namespace cavigram {

/// What goes into the cup for one part.
struct BatchRequest {
    double part_mass_g = 0.0;  ///< What the mold must hold.
    MixRatio mix;              ///< Parts of A and B by weight.
    double spare_g = 0.0;      ///< Held back on purpose, for sprue and vents.
    double waste_share =
        0.1;  ///< Share of the *gross* pour that stays in the cup. Common practice, no source.
    double pigment_share = 0.0;        ///< Of part B, stirred into B; not counted in the ratio.
    double scale_readability_g = 1.0;  ///< Smallest step of the scale: a gram scale.
    int copies = 1;  ///< Pours; each is a batch of its own, since the work time is short.
    double largest_g =
        0.0;  ///< The most that can be stirred and poured within the work time; 0: no limit.
    double kit_a_g = 0.0;  ///< What a kit holds; 0: not known.
    double kit_b_g = 0.0;
    double kit_price = 0.0;          ///< Of a whole kit; 0: not known.
    double liquid_kg_m3 = 1080.0;    ///< Of the stirred mix, for the cup.
    double free_rise_kg_m3 = 128.0;  ///< For what is left rising in the cup.
};

/// Ratio uncertainty that counts as good. Common practice, no source.
inline constexpr double kGoodRatioPercent = 2.0;

/// Grams for one cup. A and B are what the scale shall show: multiples of its step, never less than
/// needed.
struct Batch {
    double pour_mass_g = 0.0;  ///< A and B together, as needed before rounding.
    double part_a_g = 0.0;
    double part_b_g = 0.0;
    double pigment_g = 0.0;
    double waste_g = 0.0;
    double spare_g = 0.0;
    int batches = 1;    ///< Cups in all: copies times cups for each.
    int cups_each = 1;  ///< Cups for one pour; above 1 a joint shows between them.
    double scale_readability_g = 1.0;
    double ratio_off_percent = 0.0;  ///< A/B as rounded against A/B as wanted.
    double ratio_uncertainty_percent =
        0.0;                     ///< Two standard uncertainties of A/B from the scale's step alone.
    double least_batch_g = 0.0;  ///< Smallest pour that this scale weighs to kGoodRatioPercent.
    double scale_needed_g = 1.0;  ///< Coarsest common step that weighs this pour so well.
    double liquid_ml = 0.0;
    double cup_ml = 0.0;
    double total_a_g = 0.0;  ///< Over all batches.
    double total_b_g = 0.0;
    double total_pigment_g = 0.0;
    double copies_per_kit = 0.0;  ///< 0: not known.
    double cost_per_copy = 0.0;   ///< In the kit's currency; 0: not known.
    BatchRequest request;         ///< What it was asked for.
    std::vector<Finding> findings;
};

/// Grams of A, B and pigment, and whether the scale is fine enough.
///
/// pour = (part + spare) / (1 - waste share) (checks.md W7). Of the multiples of the scale's step
/// that give that or up to two steps more, those with the truest ratio. Uncertainty of a reading
/// with step d: d / sqrt(12) (JCGM 100:2008, rectangular distribution); of the ratio: the root of
/// the two relative squares; doubled (W1-W4). Least batch: that formula solved for the total (W5).
/// Cup: twice the liquid, and room for the waste to rise (common practice, no source). \throw
/// InvalidInput if the waste is not a share from 0 to 0.9, or a mass, step or count makes no sense.
[[nodiscard]] Batch batch(const BatchRequest& request);

}  // namespace cavigram
