// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/tally_text.h"

#include "cavigram/core/text.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

std::string casting_text(const Casting& c) {
    std::string line =
        format("%3lld  %s  %s", static_cast<long long>(c.number), c.date.c_str(), c.part.c_str());
    line += ", " + c.foam + " " + c.mix;
    if (c.cup_mass_g) {
        line += ", poured " + significant(*c.cup_mass_g, 4) + " g";
    }
    if (c.part_mass_g) {
        line += ", out " + significant(*c.part_mass_g, 4) +
                " g: " + density_text(*c.part_mass_g / c.volume_mm3 * 1e6);
    }
    if (c.flash_mass_g) {
        line += ", flash " + significant(*c.flash_mass_g, 3) + " g";
    }
    if (c.temperature_c) {
        line += ", " + significant(*c.temperature_c, 3) + " C";
    }
    for (const std::string& words : {c.mold, c.verdict, c.note}) {
        line += words.empty() ? "" : ", " + words;
    }
    return line + "\n";
}

std::string castings_text(const std::vector<Casting>& castings) {
    std::string text;
    for (const Casting& casting : castings) {
        text += casting_text(casting);
    }
    return text + format("%zu casting%s\n", castings.size(), castings.size() == 1 ? "" : "s");
}

std::string fit_text(const ShopFit& fit) {
    const auto estimate = [](const Estimate& e, double factor, const char* unit) {
        return significant(factor * e.value, 3) + " +- " + significant(factor * e.plus_minus, 2) +
               unit;
    };
    Page page;
    page.row("Castings", format("%zu weighed; they scatter by %s %% about the fit", fit.castings,
                                significant(fit.scatter_percent, 2).c_str()));
    page.row("Core", estimate(fit.core_density_kg_m3, 1.0, " kg/m3") + " (" +
                         significant(fit.core_density_kg_m3.value / 16.018463373960138, 3) +
                         " lb/ft3)");
    page.row("Skin", estimate(fit.skin_mass_per_area_g_m2, 1.0, " g/m2") +
                         " more than the core would weigh there");
    if (fit.waste_castings > 1) {
        page.row("Waste", estimate(fit.waste_share, 100.0, " %") + " of the pour");
    }
    page.row("Rests on",
             "least squares over your own castings; each range holds the truth 19 times out of 20");
    page.row("Use it", "cavigram weigh PART --from-tally");
    return page.text();
}

}  // namespace cavigram
