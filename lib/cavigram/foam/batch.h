// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/core/quantity.h"

namespace cavigram {

/// How a cup's contents are weighed.
enum class Weighing {
    tared,   ///< The cup is set to zero first: two readings, each rounded.
    direct,  ///< One reading, as from a scale that keeps finer steps than it shows.
};
/// The word for a way of weighing: `tared`, `direct`.
[[nodiscard]] const char* to_text(Weighing weighing);
/// The way back.
///
/// \throw InvalidInput naming the two words
[[nodiscard]] Weighing parse_weighing(std::string_view text, std::string_view name);

/// What stays in the mixing cup, as a film on its wall: so many grams of a cup of so many. It grows
/// as the cup's surface, (m/m0)^(2/3) (foam_model.md 5).
struct WasteFilm {
    double stays_g = 0.0;  ///< In the cup,
    double of_g = 0.0;     ///< when so much was stirred in it.
};

/// What goes into the cup for one pour.
struct BatchRequest {
    double part_mass_g = 0.0;  ///< What the cavities must hold: all parts that share the cup.
    double holes_g = 0.0;      ///< Foam in pour hole and vents.
    double flash_g = 0.0;      ///< Foam that this shop's castings lose as flash.
    MixRatio mix;              ///< Parts of A and B by weight.
    double spare_g = 0.0;      ///< More than needed, on purpose.
    double waste_share =
        0.1;  ///< Share of the *gross* pour that stays in the cup. Common practice, no source.
    std::optional<WasteFilm> waste_film;  ///< Known residue; replaces the share.
    double cup_residue_g = 0.0;           ///< Of A, left in its own cup; it is weighed in addition.
    double pigment_share = 0.0;           ///< Of part B, stirred into B; not counted in the ratio.
    double scale_readability_g = 1.0;     ///< Smallest step of the scale: a gram scale.
    bool scale_in_ounces = false;         ///< It shows ounces; all is reckoned in grams.
    Weighing weighing = Weighing::tared;  ///< How a cup's contents are weighed.
    int copies = 1;  ///< Pours; each is a batch of its own, since the work time is short.
    double largest_g =
        0.0;  ///< The most that can be stirred and poured within the work time; 0: no limit.
    double kit_a_g = 0.0;            ///< What a kit holds; 0: not known.
    double kit_b_g = 0.0;            ///< As kit_a_g.
    double kit_price = 0.0;          ///< Of a whole kit; 0: not known.
    double liquid_kg_m3 = 1080.0;    ///< Of the stirred mix, for the cup.
    double free_rise_kg_m3 = 128.0;  ///< For what is left rising in the cup.
};

/// Ounce of mass, by definition (NIST SP 811, 2008, B.8).
inline constexpr double kScaleOunce_g = 28.349523125;

/// A mass as a scale of that step shows it, in its own unit: "12.5 g", "0.45 oz".
///
/// \pre step above 0
[[nodiscard]] std::string scale_text(double g, double step_g, bool in_ounces);

/// Ratio uncertainty that counts as good. Common practice, no source.
inline constexpr double kGoodRatioPercent = 2.0;

/// A ratio that is off by more than this is another mix. Common practice, no source.
inline constexpr double kWorstRatioPercent = 5.0;

/// A residue that a cup may well keep, and how far a stated one may be off. Common practice, no
/// source.
inline constexpr double kUsualResidue_g = 0.5;
inline constexpr double kResidueSpread = 0.5;

/// Where the grams of one pour go, over all its cups. Each figure comes from where it is computed,
/// not from what the others leave.
struct Balance {
    double part_g = 0.0;       ///< All parts of the cup.
    double holes_g = 0.0;      ///< In pour holes and vents.
    double flash_g = 0.0;      ///< Lost as flash.
    double spare_g = 0.0;      ///< More than needed, on purpose.
    double waste_g = 0.0;      ///< Stays in the mixing cups.
    double residue_g = 0.0;    ///< Stays in A's own cups.
    double rounding_g = 0.0;   ///< What rounding to the scale's step adds.
    double pigment_g = 0.0;    ///< On top of A and B.
    double part_a_g = 0.0;     ///< Of A, as the scale shows it.
    double part_b_g = 0.0;     ///< Of B.
    double closes_to_g = 0.0;  ///< A, B and pigment less all of the above: rounding error.
};

/// Grams for one cup. A and B are what the scale shall show: multiples of its step, never less than
/// needed.
struct Batch {
    double pour_mass_g = 0.0;  ///< A and B together in the mixing cup, as needed before rounding.
    double part_a_g = 0.0;     ///< With what stays in its own cup.
    double part_b_g = 0.0;     ///< As the scale shows it.
    double pigment_g = 0.0;    ///< Stirred into B.
    double waste_g = 0.0;      ///< Stays in the cup.
    double spare_g = 0.0;      ///< As requested.
    int batches = 1;           ///< Cups in all: copies times cups for each.
    int cups_each = 1;         ///< Cups for one pour; above 1 a joint shows between them.
    double scale_readability_g = 1.0;  ///< As requested.
    bool scale_in_ounces = false;      ///< Masses are told as such a scale shows them.
    double ratio_off_percent = 0.0;    ///< A/B as rounded against A/B as wanted.
    double ratio_uncertainty_percent =
        0.0;  ///< Two standard uncertainties of A/B from the scale's step alone.
    /// Rounding, scale and residue in one: the root of their squares. What is shown.
    double ratio_true_percent = 0.0;
    double least_batch_g = 0.0;    ///< Smallest pour that this scale weighs to kGoodRatioPercent.
    double scale_needed_g = 1.0;   ///< Coarsest common step that weighs this pour so well.
    double liquid_ml = 0.0;        ///< In the mixing cup.
    double cup_ml = 0.0;           ///< Least size of that cup.
    double total_a_g = 0.0;        ///< Over all batches.
    double total_b_g = 0.0;        ///< Over all batches.
    double total_pigment_g = 0.0;  ///< Over all batches.
    double copies_per_kit = 0.0;   ///< 0: not known.
    double cost_per_copy = 0.0;    ///< In the kit's currency; 0: not known.
    Balance balance;               ///< Of one pour.
    BatchRequest request;          ///< What it was asked for.
    std::vector<Finding>
        findings;  ///< several_cups, scale_too_coarse and others of docs/findings.md.
};

/// Grams of A, B and pigment, and whether the scale is fine enough.
///
/// need = part + holes + flash + spare. pour = need / (1 - waste share) (checks.md W7), or with a
/// film the root of pour - k pour^(2/3) = need, k = stays / of^(2/3). Of the multiples of the
/// scale's step that give that or up to two steps more, those with the truest ratio, A less its
/// residue. Uncertainty of a reading with step d: d / sqrt(12) (JCGM 100:2008, rectangular
/// distribution), sqrt(2) times that where the cup was tared; of the ratio: the root of the two
/// relative squares; doubled (W1-W4). Least batch: that formula solved for the total (W5). Cup:
/// twice the liquid, and room for the waste to rise (common practice, no source).
///
/// \throw InvalidInput if the waste is not a share from 0 to 0.9, or a mass, step or count makes no
/// sense.
[[nodiscard]] Batch batch(const BatchRequest& request);

}  // namespace cavigram
