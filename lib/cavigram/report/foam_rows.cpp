// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/report/foam_rows_detail.h"
#include "cavigram/report/guesses.h"

namespace cavigram {

namespace {

std::string mix_text(const MixRatio& mix) {
    return fmt::format("{:.4g}:{:.4g}", mix.a, mix.b);
}

std::string pressure_text(double kpa) {
    return told(kpa, Kind::pressure, 2);
}

// Where the grams of one pour go; the pieces add up as they are printed: to tenths of a gram at
// least, or hundredths of an ounce.
std::string shares_text(const Batch& batch) {
    const Balance& balance = batch.balance;
    const bool ounces = batch.scale_in_ounces;
    const double step = std::min(batch.scale_readability_g, ounces ? 0.01 * kScaleOunce_g : 0.1);
    const auto shown = [&](double g) { return std::round(g / step) * step; };
    // The unit stands with the first of them.
    const auto number = [&](double g) {
        const std::string text = scale_text(g, step, ounces);
        return text.substr(0, text.find(' '));
    };
    double left = shown(balance.part_a_g + balance.part_b_g) - shown(balance.part_g);
    std::string text = scale_text(balance.part_g, step, ounces) + " part";
    const auto piece = [&](double g, const char* words) {
        if (shown(g) > 0.5 * step) {
            text += " + " + number(g) + words;
            left -= shown(g);
        }
    };
    piece(balance.holes_g, " in pour hole and vents");
    piece(balance.flash_g, " flash");
    piece(balance.spare_g, " spare");
    piece(balance.waste_g, " stays in the cup");
    piece(balance.residue_g, " in A's cup");
    if (std::abs(left) > 0.5 * step) {
        text += (left > 0.0 ? " + " : " - ") + number(std::abs(left)) + " rounding";
    }
    return text;
}

void cup_rows(Page& page, const Plan& plan) {
    const Batch& b = plan.foam->batch;
    const FoamBlock& foam = *plan.foam;
    const double step = b.scale_readability_g;
    const auto weight = [&](double g) { return scale_text(g, step, b.scale_in_ounces); };
    std::string cup = "A  " + weight(b.part_a_g) + "     B  " + weight(b.part_b_g);
    if (b.pigment_g > 0.0) {
        cup += "     pigment  " + scale_grams(b.pigment_g, std::min(step, 0.1)) + " g into B";
    }
    page.row("POUR", cup);
    page.more(mix_text(foam.card.mix) + " by weight, " + weight(b.part_a_g + b.part_b_g) +
              (b.cups_each > 1 ? fmt::format(" in each of {} cups", b.cups_each) : " together") +
              fmt::format(", in a cup of {:.0f} mL or more", b.cup_ml));
    page.more(shares_text(b));
    page.detail("", fmt::format("ratio true to {} % on a scale that shows {}",
                                significant(b.ratio_true_percent, 2),
                                b.scale_in_ounces ? weight(step) : fmt::format("{:g} g", step)));
    for (const AlsoPoured& other : foam.also) {
        if (&other == &foam.also.front()) {
            page.row("Parts", plan.input.file + ", " + mass_text(foam.mass.part_mass_g));
        }
        page.more(other.input.file + ", " + mass_text(other.part_mass_g));
        page.detail("", "   fills from " + told_own(other.window.fills_from_g, Kind::mass, 3) +
                            ", planned " + told_own(other.window.request.planned_g, Kind::mass, 3) +
                            " with its holes, presses too hard over " +
                            told_own(other.window.presses_over_g, Kind::mass, 3));
    }
    if (b.copies_per_kit > 0.0) {
        page.more(fmt::format("a kit makes {} copies{}", static_cast<int>(b.copies_per_kit),
                              b.cost_per_copy > 0.0
                                  ? (", at " + fmt::format("{:.2f}", b.cost_per_copy) + " " +
                                     foam.card.currency + " each")
                                        .c_str()
                                  : ""));
    }
    if (b.batches > 1) {
        page.more(fmt::format("for each of {} cups; in all A {}, B {}", b.batches,
                              weight(b.total_a_g), weight(b.total_b_g)));
    }
}

// In the scale's own unit, whichever comes first elsewhere.
void window_row(Page& page, const PourWindow& w, bool scale_in_ounces) {
    const UnitSystem scale = scale_in_ounces ? UnitSystem::us : UnitSystem::metric;
    const auto weight = [&](double g) { return rendered(told_own(g, Kind::mass, 3), scale); };
    const auto number = [&](double g) { return rendered(told_end(g, Kind::mass, 3), scale); };
    page.row("WINDOW", "fills from " + weight(w.fills_from_g) + " (" + number(w.fills_from_low_g) +
                           " to " + number(w.fills_from_high_g) + ") | planned " +
                           weight(w.request.planned_g) + " | presses too hard over " +
                           weight(w.presses_over_g));
    page.detail("", "in the mold: weigh the cup before and after pouring");
}

// Less foam than fills the mold even when it rises freely: it is not packed and presses nowhere.
bool is_short(const FoamMass& mass) {
    return mass.unfilled_mm3 > 0.0;
}

void mix_row(Page& page, const FoamBlock& foam) {
    const FoamMass& mass = foam.mass;
    page.row("Mix", foam.card.name + " " + mix_text(foam.card.mix) +
                        (foam.mixes.clamped  ? ", the nearest there is for this density"
                         : foam.mixes.chosen ? ", chosen for this density"
                                             : "") +
                        ": rises freely to " + density_text(mass.free_rise_kg_m3) +
                        (is_short(mass) ? ""
                                        : ", packed to " + significant(mass.packing_factor, 3) +
                                              " times that") +
                        (std::abs(foam.air_kpa / kAtmosphere_kpa - 1.0) > 1e-3
                             ? ", in air of " + told_own(foam.air_kpa, Kind::pressure, 3)
                             : ""));
    if (!foam.mixes.other) {
        return;
    }
    const OtherMix& other = *foam.mixes.other;
    const std::string feel = other.firmer ? "firmer" : "softer";
    page.detail("", other.part_a_g > 0.0
                        ? "or " + mix_text(other.mix) + ", " + feel + ": A " +
                              told_own(other.part_a_g, Kind::mass, 3) + ", B " +
                              told_own(other.part_b_g, Kind::mass, 3) + ", packed to " +
                              significant(other.packing_factor, 3) + ", presses with about " +
                              told_own(other.pressure_kpa, Kind::pressure, 2) + " (--mix " +
                              mix_text(other.mix) + ")"
                        : "at " + mix_text(other.mix) + ", " + feel +
                              ", it would not fill the mold at this density");
}

void skin_rows(Page& page, const FoamBlock& foam) {
    const FoamMass& mass = foam.mass;
    if (is_short(mass)) {
        page.row("Skin", "none");
        page.row("Core", density_text(mass.core_density_kg_m3) + ": so little fills " +
                             told_own(mass.core_volume_mm3, Kind::volume, 3) + " of the mold, " +
                             told_own(mass.unfilled_mm3, Kind::volume, 3) + " stays empty");
        return;
    }
    if (mass.skin_volume_mm3 == 0.0) {
        page.row("Skin", "none: the foam just fills the mold");
        page.row("Core", density_text(mass.core_density_kg_m3) + " throughout");
        return;
    }
    const bool spread = mass.skin_thickness_high_mm > 1.005 * mass.skin_thickness_low_mm;
    page.row("Skin",
             length_text(mass.skin_thickness_mm) +
                 (spread ? ", likely " + told_end(mass.skin_thickness_low_mm, Kind::length, 2) +
                               " to " + told_own(mass.skin_thickness_high_mm, Kind::length, 2)
                         : "") +
                 (mass.skin_measured ? ", as measured" : ", from the packing") + ": " +
                 told_own(mass.skin_mass_g, Kind::mass, 3));
    page.detail("", "at " + density_text(mass.skin_density_kg_m3) + ", in " +
                        told_own(mass.skin_volume_mm3, Kind::volume, 3) + " (to " +
                        significant(100.0 * foam.skin.error_share, 1) + " %)");
    page.row("Core", density_text(mass.core_density_kg_m3) + ": " +
                         told_own(mass.core_mass_g, Kind::mass, 3) + " in " +
                         told_own(mass.core_volume_mm3, Kind::volume, 3));
}

void hand_row(Page& page, const Plan& plan) {
    if (!plan.foam->density) {
        return;
    }
    const DensityMap& density = *plan.foam->density;
    page.detail("To the hand",
                density_text(density.median_kg_m3) + " beneath the surface, on 80 % of it " +
                    told_end(density.p10_kg_m3, Kind::density, 3) + " to " +
                    told_own(density.p90_kg_m3, Kind::density, 3) + "; " +
                    (density.all_skin_area_mm2 == 0.0 ? std::string("all skin nowhere")
                                                      : "all skin (stiff, no cushion) on " +
                                                            area_text(density.all_skin_area_mm2)));
    const Finish& finish = plan.foam->finish;
    page.detail("Finish",
                mass_text(finish.grams) + " of dusted pigment or paint" +
                    (finish.total_g > finish.grams
                         ? "; " + told_own(finish.total_g, Kind::mass, 3) + " for all copies"
                         : ""));
    page.detail("", "for " + area_text(finish.area_mm2) + " at " +
                        told_own(finish.rate_g_m2, Kind::areal_density, 3));
}

std::string goal_text(const FoamBlock& foam) {
    if (!foam.wanted_kg_m3 || foam.basis == DensityBasis::molded) {
        return "";
    }
    return "; asked for " + density_text(*foam.wanted_kg_m3) +
           (foam.basis == DensityBasis::free_rise ? " in free rise" : " in the core");
}

void part_row(Page& page, const Plan& plan) {
    const FoamBlock& foam = *plan.foam;
    const FoamMass& mass = foam.mass;
    if (is_short(mass)) {
        page.row("Asked for",
                 "a part of " + density_text(mass.molded_density_kg_m3) + goal_text(foam));
        return;
    }
    std::string part = mass_text(mass.part_mass_g);
    if (foam.predicted_g) {
        part += ", by your castings " + told_end(mass.part_mass_low_g, Kind::mass, 3) + " to " +
                told_own(mass.part_mass_high_g, Kind::mass, 3);
    }
    part += ", mean " + density_text(mass.molded_density_kg_m3);
    // It weighs what was poured; how dense that is depends on the volume.
    const double low = plan.measures.volume_low_mm3 / plan.measures.mass.volume_mm3;
    const double high = plan.measures.volume_high_mm3 / plan.measures.mass.volume_mm3;
    constexpr double kWorthTelling = 0.005;  // below that both ends read alike
    if (high - low > kWorthTelling) {
        part += " (by the file's volume " +
                told_end(mass.molded_density_kg_m3 / high, Kind::density, 3) + " to " +
                told_end(mass.molded_density_kg_m3 / low, Kind::density, 3) + ")";
    }
    page.row("Part", part + goal_text(foam));
}

}  // namespace

void grams_rows(Page& page, const Plan& plan) {
    const auto stop =
        std::find_if(plan.findings.begin(), plan.findings.end(),
                     [](const Finding& finding) { return finding.severity == Severity::stop; });
    if (stop != plan.findings.end()) {
        page.row("POUR", "nothing yet: " + stop->text);
        return;
    }
    cup_rows(page, plan);
    window_row(page, plan.foam->window, plan.foam->batch.scale_in_ounces);
}

void foam_rows(Page& page, const Plan& plan) {
    const FoamBlock& foam = *plan.foam;
    const FoamMass& mass = foam.mass;
    part_row(page, plan);
    mix_row(page, foam);
    skin_rows(page, foam);
    hand_row(page, plan);
    if (!is_short(mass)) {
        page.row("Presses", "with about " + pressure_text(foam.window.pressure_kpa) +
                                "; plan the straps for " +
                                pressure_text(foam.window.strap_for_kpa));
    }
    page.detail("Rise", fmt::format("{} times its liquid, which fills {} % of the mold at first",
                                    significant(foam.expansion_ratio, 2),
                                    significant(100.0 * foam.liquid_share, 2)));
    std::string rests = foam.card.name;
    if (foam.card.index) {
        rests += ", index " + significant(*foam.card.index, 3);
    }
    page.detail("Rests on", rests);
}

void guess_rows(Page& page, const Plan& plan) {
    const std::vector<Guess> guesses = guesses_of(plan);
    if (guesses.empty()) {
        return;
    }
    std::string text;
    for (const Guess& guess : guesses) {
        text +=
            (text.empty() ? "" : "; ") + guess.what + " " + guess.value + ": " + guess.replace_with;
    }
    page.detail("Guesses", text + ".");
    page.brief(
        "Guesses",
        fmt::format("{}{}; {} lists {} with what replaces {}", guesses.front().what,
                    guesses.size() > 1 ? fmt::format(" and {} more", guesses.size() - 1) : "",
                    setting("detail"), guesses.size() > 1 ? "them" : "it",
                    guesses.size() > 1 ? "each" : "it"));
}

}  // namespace cavigram
