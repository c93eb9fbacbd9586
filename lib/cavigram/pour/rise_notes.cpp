// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/pour/rise.h"

namespace cavigram {

namespace {

using Places = std::vector<std::array<double, 3>>;

std::array<double, 3> place(const Vec3& at) {
    return {at.x(), at.y(), at.z()};
}

std::string seconds(double s) {
    return fmt::format("{} s", static_cast<long>(std::lround(s)));
}

std::string when_gels(const Rise& rise) {
    return fmt::format("{}{}", seconds(rise.gel_s), rise.gel_guessed ? " (a guess)" : "");
}

// All the foam there is would fill less than the cavity, or it stops before it has.
void note_missing(const Rise& rise, const RiseRequest& request, const PlaceFrame& frame,
                  std::vector<Finding>& findings) {
    if (rise.full_s || !(rise.missing_mm3 > 0.0)) {
        return;
    }
    std::string where;
    Places places;
    for (const LatePlace& late : rise.unfilled) {
        places.push_back(place(late.at_mm));
    }
    if (!rise.unfilled.empty()) {
        where = fmt::format(" ({})", place_words(frame, rise.unfilled.front().at_mm).words);
    }
    const double share = 100.0 * rise.missing_mm3 / request.cavity_mm3;
    if (request.packing_factor < 1.0) {
        findings.push_back(
            {Severity::warning, "rise_short",
             fmt::format("The foam stops {} short of filling the mold, {} % of it{}; pour more, or "
                         "take a foam that rises higher.",
                         told_own(rise.missing_mm3, Kind::volume, 2), significant(share, 2), where),
             places});
        return;
    }
    findings.push_back(
        {Severity::warning, "gels_before_full",
         fmt::format("The foam gels at {} with {} of the mold still empty, {} % of it{}; pour more "
                     "({}), or take a slower foam; if its gel time is known, give it ({}).",
                     when_gels(rise), told_own(rise.missing_mm3, Kind::volume, 2),
                     significant(share, 2), where, setting("density"), setting("gel-time")),
         places});
}

void note_air(const Rise& rise, const RiseRequest& request, const PlaceFrame& frame,
              std::vector<Finding>& findings) {
    double sum = 0.0;
    Places places;
    for (const RiseAir& air : rise.sealed) {
        sum += air.volume_mm3;
        places.push_back(place(air.at_mm));
    }
    constexpr double kMuchAir = 0.01;
    if (sum > kMuchAir * request.cavity_mm3) {
        const RiseAir& most = rise.sealed.front();
        findings.push_back(
            {Severity::warning, "rise_leaves_air",
             fmt::format("The rising foam cuts off {} of air ({} % of the part) in {} place{}, the "
                         "most {}, at {}; give it a vent there ({}), or turn the part.",
                         told_own(sum, Kind::volume, 2),
                         significant(100.0 * sum / request.cavity_mm3, 2), rise.sealed.size(),
                         rise.sealed.size() == 1 ? "" : "s", place_words(frame, most.at_mm).words,
                         seconds(most.time_s), setting("vent")),
             places});
    }
}

// Foam at a hole long before the cavity is full: it closes it for the air, and leaves by it.
void note_holes(const Rise& rise, const RiseRequest& request, const PlaceFrame& frame,
                std::vector<Finding>& findings) {
    constexpr double kEarly = 0.9;
    // Less than this share of the pour is a bead at the hole.
    constexpr double kBead = 0.01;
    const double least_g = kBead * 1e-6 * request.start.liquid_mm3 * request.liquid_kg_m3;
    for (std::size_t i = 0; i < rise.at_holes.size(); ++i) {
        const RiseAtHole& at = rise.at_holes[i];
        if (at.reached_s && at.share_then < kEarly && at.flash_g >= least_g) {
            const RiseHole& hole = request.holes[i];
            findings.push_back(
                {Severity::warning,
                 "vent_foams_early",
                 fmt::format(
                     "Foam is at the {} {} by {}, when {} % of the mold is full, and about "
                     "{} leaves there; move that hole to where the foam comes last, or plug "
                     "it when foam shows.",
                     hole.pour_hole ? "pour hole" : "vent", place_words(frame, hole.at_mm).words,
                     seconds(*at.reached_s), significant(100.0 * at.share_then, 2),
                     told_own(at.flash_g, Kind::mass, 2)),
                 {place(hole.at_mm)}});
        }
    }
}

}  // namespace

std::vector<Finding> rise_findings(const Rise& rise, const RiseRequest& request,
                                   const PlaceFrame& frame) {
    std::vector<Finding> findings;
    note_missing(rise, request, frame, findings);
    note_air(rise, request, frame, findings);
    note_holes(rise, request, frame, findings);
    constexpr double kMuchUnseen = 0.005;
    if (rise.unreached_mm3 > kMuchUnseen * request.cavity_mm3) {
        findings.push_back(
            {Severity::warning,
             "arms_below_cells",
             fmt::format("Arms narrower than the cells of {} hold {} % of the part, and nothing is "
                         "said of how they fill; follow the rise on more cells ({}).",
                         told_own(rise.cell_mm, Kind::length, 2),
                         significant(100.0 * rise.unreached_mm3 / request.cavity_mm3, 2),
                         setting("cells")),
             {}});
    }
    return findings;
}

std::string rise_story(const Rise& rise, const PlaceFrame& frame) {
    std::string story;
    constexpr double kAllOfIt = 0.98;
    if (rise.full_s) {
        story = rise.filled_share >= kAllOfIt
                    ? fmt::format("Fills in {}", seconds(*rise.full_s))
                    : fmt::format(
                          "Fills {} % of the mold in {}, and the air that it cuts off "
                          "keeps the rest",
                          significant(100.0 * rise.filled_share, 2), seconds(*rise.full_s));
        if (!rise.last.empty()) {
            story += fmt::format("; last {}", place_words(frame, rise.last.front().at_mm).words);
        }
        const double spare = rise.gel_s - *rise.full_s;
        story += spare > 0.5
                     ? fmt::format(", {} before it gels at {}.", seconds(spare), when_gels(rise))
                     : fmt::format(", as it gels at {}.", when_gels(rise));
    } else {
        story = fmt::format("Does not fill: {} % of the mold is full when the foam gels at {}",
                            significant(100.0 * rise.filled_share, 3), when_gels(rise));
        if (!rise.unfilled.empty()) {
            story += fmt::format("; empty stays {}",
                                 place_words(frame, rise.unfilled.front().at_mm).words);
        }
        story += ".";
    }
    if (!rise.sealed.empty()) {
        double sum = 0.0;
        for (const RiseAir& air : rise.sealed) {
            sum += air.volume_mm3;
        }
        story +=
            fmt::format(" It cuts off {} of air, most of it {}.", told_own(sum, Kind::volume, 2),
                        place_words(frame, rise.sealed.front().at_mm).words);
    }
    return story;
}

}  // namespace cavigram
