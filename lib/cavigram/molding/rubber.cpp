// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/rubber.h"

#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"

namespace cavigram {

const char* to_text(MoldKind kind) {
    switch (kind) {
        case MoldKind::box:
            return "box";
        case MoldKind::brushed:
            return "brushed";
        case MoldKind::jacketed:
            return "jacketed";
    }
    return "box";
}

MoldKind parse_mold_kind(std::string_view text, std::string_view name) {
    return parse_choice<MoldKind>(text, name,
                                  {MoldKind::box, MoldKind::brushed, MoldKind::jacketed});
}

Rubber rubber_amounts(const RubberRequest& request) {
    CAVIGRAM_ASSERT(request.around_mm3 > request.holes_mm3 && request.holes_mm3 >= 0.0);
    const double waste = request.waste_share.value_or(request.card.waste_share);
    if (!(waste >= 0.0 && waste < 1.0)) {
        throw InvalidInput("What is lost of the rubber must be a share from 0 to less than 1.");
    }
    Rubber rubber;
    rubber.request = request;
    rubber.volume_mm3 = request.around_mm3 - request.holes_mm3;
    const double g_per_mm3 = kGramsPerMm3 * request.card.density_kg_m3;
    rubber.net_g = g_per_mm3 * rubber.volume_mm3;
    rubber.error_g = g_per_mm3 * request.error_mm3;
    rubber.gross_g = rubber.net_g / (1.0 - waste);
    rubber.waste_g = rubber.gross_g - rubber.net_g;
    const MixRatio& mix = request.card.mix;
    rubber.part_a_g = rubber.gross_g * mix.a / (mix.a + mix.b);
    rubber.part_b_g = rubber.gross_g - rubber.part_a_g;
    if (request.kind == MoldKind::brushed) {
        // A last coat that would be thinner than rounding is none.
        constexpr double kRounding = 1e-9;
        rubber.coats =
            static_cast<int>(std::ceil(request.thickness_mm / request.card.coat_mm - kRounding));
        rubber.coat_g = rubber.gross_g / rubber.coats;
    } else if (request.thickness_mm < kLeastPoured_mm) {
        rubber.findings.push_back(
            {Severity::warning,
             "wall_thin_to_pour",
             fmt::format("Rubber hardly runs through a gap of {} and holds air there; leave at "
                         "least {} ({}), or brush it on ({} brushed).",
                         told(request.thickness_mm, Kind::length, 2),
                         told(kLeastPoured_mm, Kind::length, 2), setting("rubber"),
                         setting("kind")),
             {}});
    }
    return rubber;
}

double master_lift_n(double master_mm3, double master_g, double rubber_kg_m3) {
    constexpr double kKilogramsPerGram = 1e-3;
    return kGravity_m_s2 * kKilogramsPerGram *
           (kGramsPerMm3 * rubber_kg_m3 * master_mm3 - master_g);
}

}  // namespace cavigram
