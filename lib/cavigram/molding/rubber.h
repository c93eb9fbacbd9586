// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/molding/rubber_card.h"

namespace cavigram {

/// How the mold is built around the part.
enum class MoldKind {
    box,       ///< Rubber poured as a block between the part and the walls of a box.
    brushed,   ///< Rubber brushed on in coats, under a rigid jacket.
    jacketed,  ///< Rubber poured into the gap between the part and a rigid jacket.
};
/// The word for a kind: `box`, `brushed`, `jacketed`.
[[nodiscard]] const char* to_text(MoldKind kind);
/// The way back.
///
/// \throw InvalidInput naming the three words
[[nodiscard]] MoldKind parse_mold_kind(std::string_view text, std::string_view name);

/// Rubber around the part where nothing is asked for. Walls of 6 to 12 mm are usual; common
/// practice, no source.
inline constexpr double kRubber_mm = 10.0;
/// Through narrower gaps rubber hardly runs by its own weight, and air stays in it. Common
/// practice, no source.
inline constexpr double kLeastPoured_mm = 5.0;

/// Which rubber goes where.
struct RubberRequest {
    MoldKind kind = MoldKind::box;      ///< How the mold is built.
    RubberCard card;                    ///< Which rubber.
    double thickness_mm = kRubber_mm;   ///< The least there is around the part.
    double around_mm3 = 0.0;            ///< Space for rubber around the part, holes and all.
    double error_mm3 = 0.0;             ///< Estimated error of that space.
    double holes_mm3 = 0.0;             ///< Pour spout and vents, which cores or a drill keep free.
    std::optional<double> waste_share;  ///< Of what is stirred; none: the card's.
};

/// What to buy, weigh and mix.
struct Rubber {
    RubberRequest request;          ///< What it was computed for.
    double volume_mm3 = 0.0;        ///< Cured, in the mold.
    double net_g = 0.0;             ///< Cured, in the mold.
    double error_g = 0.0;           ///< Estimated, from the volume.
    double waste_g = 0.0;           ///< What is lost.
    double gross_g = 0.0;           ///< To be mixed: both together.
    double part_a_g = 0.0;          ///< Of gross_g.
    double part_b_g = 0.0;          ///< Of gross_g.
    int coats = 0;                  ///< Brushed ones; 0 where it is poured.
    double coat_g = 0.0;            ///< To mix for each, in the mean.
    std::vector<Finding> findings;  ///< wall_thin_to_pour.
};

/// Rubber in grams: volume times density, and what is lost of it as a share of what is stirred, as
/// for the foam (docs/checks.md R1, W7).
///
/// Finding `wall_thin_to_pour` where a poured wall is thinner than kLeastPoured_mm. O(1).
///
/// \pre around_mm3 > holes_mm3 >= 0, thickness > 0
///
/// \throw InvalidInput for a waste that is not a share below 1
[[nodiscard]] Rubber rubber_amounts(const RubberRequest& request);

/// What a copy is smaller by, linear, after the rubber has shrunk and the foam has: 1 - (1 - r)(1 -
/// f). docs/checks.md R4.
[[nodiscard]] constexpr double combined_shrink(double rubber_share, double foam_share) {
    return 1.0 - (1.0 - rubber_share) * (1.0 - foam_share);
}

/// Force with which a master is lifted by rubber that covers it whole, its own weight taken off;
/// below 0: it stays down. Buoyancy, Archimedes. docs/checks.md A6.
[[nodiscard]] double master_lift_n(double master_mm3, double master_g, double rubber_kg_m3);

}  // namespace cavigram
