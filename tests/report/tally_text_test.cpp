// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/tally_text.h"

#include <cmath>

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("castings and their fit in words") {
    Casting c;
    c.number = 3;
    c.date = "2026-11-24";
    c.part = "bell.stl";
    c.foam = "ours";
    c.mix = "50:100";
    c.volume_mm3 = 250000;
    c.area_mm2 = 60000;
    c.part_mass_g = 40;
    c.note = "slow";
    CHECK(casting_text(c) ==
          "  3  2026-11-24  bell.stl, ours 50:100, out 40.00 g: 160 kg/m3 (9.99 lb/ft3), slow\n");
    CHECK(castings_text({c, c}).find("2 castings\n") != std::string::npos);
    c.stayed_mass_g = 2.5;
    c.free_rise_mass_g = 8;
    c.free_rise_volume_ml = 62.5;
    CHECK(casting_text(c).find("2.50 g stayed in the cups, rose freely to 128 kg/m3 (7.99 "
                               "lb/ft3)") != std::string::npos);
}

TEST_CASE("an empty log says that there is nothing yet and what to do") {
    CHECK(castings_text({}).find("Nothing yet; cavigram tally add") == 0);
    CHECK(history_text({}, false).empty());
    CHECK(history_text({}, true).find("Nothing was corrected") == 0);
}

TEST_CASE("history and molds in words") {
    Casting c;
    c.number = 3;
    c.date = "2026-11-24";
    c.part = "bell.stl";
    c.foam = "ours";
    c.mix = "50:100";
    c.volume_mm3 = 250000;
    c.part_mass_g = 40;
    const std::vector<PastCasting> past = {{c, false, "2026-11-25"}, {c, true, "2026-11-26"}};
    CHECK(history_text({past[0]}, false).find("1 was corrected or removed") == 0);
    CHECK(history_text(past, false).find("2 were corrected or removed") == 0);
    const std::string full = history_text(past, true);
    CHECK(full.find("corrected on 2026-11-25, was:   3 ") == 0);
    CHECK(full.find("\nremoved on 2026-11-26, was:   3 ") != std::string::npos);
    std::vector<Casting> castings(4, c);
    castings[1].part_mass_g = 41.5;
    castings[1].verdict = "flashed";
    castings[2].verdict = "short";
    castings[3].verdict = "lost";
    CHECK(mold_text("oak", castings) ==
          "oak: 2 filled, 1 short, 1 lost or other; filled ones weigh 40.00 to 41.50 g\n");
}

TEST_CASE("the call that logs a casting makes the same cavity of the same file") {
    Plan plan;
    plan.foam.emplace();
    plan.request.part.file = "my part's mesh.stl";
    plan.request.part.longest_mm = 355.6;
    plan.request.part.mend.wrap = true;
    plan.request.part.mend.hollows = Hollows::fill;
    plan.request.foam.card = "ours.toml";
    plan.request.bench.temperature_c = 18.5;
    plan.foam->card.mix = {44.5, 100.0};
    plan.foam->batch.part_a_g = 12.5;
    plan.foam->batch.part_b_g = 25.0;
    plan.foam->batch.scale_readability_g = 0.1;
    plan.foam->batch.balance.residue_g = 0.5;  // stays in A's own cup, never in this one
    const std::string call = log_call(plan);
    CHECK(call ==
          "cavigram tally add 'my part'\\''s mesh.stl' --longest 355.6mm --hollow fill \\\n"
          "  --wrap --foam ours.toml --mix 44.5:100 --temperature 18.5C --cup 37.0g \\\n"
          "  --part-mass ___g\n");
    plan.foam->also.emplace_back();
    CHECK(log_call(plan).find("--cup") == std::string::npos);
    plan.findings.push_back({Severity::stop, "short_shot", "", {}});
    CHECK(log_call(plan).empty());
}

namespace {

ShopFit nine_castings() {
    ShopFit fit;
    fit.foam = "ours";
    fit.mix = "50:100";
    fit.castings = 9;
    fit.line.emplace();
    fit.line->castings = 9;
    fit.line->mean_kg_m3 = 160;
    fit.line->x_mean_per_m = 200;
    fit.line->next_plus_minus_kg_m3 = 11;
    fit.line->degrees = 7;
    fit.line->scatter_percent = 3;
    fit.line->slope_kg_m2 = 0.28;
    fit.core_density_kg_m3 = {115, 6};
    fit.skin_mass_per_area_g_m2 = {280, 30};
    fit.free_rise_cups = 4;
    fit.free_rise_kg_m3 = {118, 4};
    fit.free_rise_next_plus_minus_kg_m3 = 9;
    fit.waste_castings = 9;
    fit.film_at_100_g = {6.2, 0.4};
    fit.waste_share = {0.08, 0.01};
    return fit;
}

bool says(const std::string& text, const std::string& words) {
    // Lines are wrapped.
    std::string flat;
    for (const char c : text) {
        const bool blank = c == ' ' || c == '\n';
        if (!blank || flat.empty() || flat.back() != ' ') {
            flat += blank ? ' ' : c;
        }
    }
    return flat.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("a fit that knows all: each figure with its range and how many it comes from") {
    const std::string text = fit_text(nine_castings());
    CHECK(says(text, "Foam ours 50:100"));
    CHECK(says(text, "9 good or flashed were weighed; they scatter by 3.0 % about the fit"));
    CHECK(says(text, "Core 115 +- 6.0 kg/m3 (7.18 lb/ft3)"));
    CHECK(says(text, "Skin 280 +- 30 g/m2"));
    CHECK(says(text,
               "Free rise 118 +- 4.0 kg/m3 (7.37 lb/ft3), from 4 cups; the next one within "
               "9.0"));
    CHECK(says(text, "Cup 6.20 +- 0.40 g of a cup of 100 g stay in it, from 9 castings"));
    CHECK(says(text, "of these pours it was 8.0 %"));
    CHECK(says(text, "--from-tally"));
    for (const char* const absent :
         {"Next", "Left out", "Impossible", "CAN'T BE", "CONTRADICTS", "Older log", "Flash"}) {
        CHECK_FALSE(says(text, absent));
    }
}

TEST_CASE("one shape only: the mean, no skin, and what to cast next") {
    ShopFit fit = nine_castings();
    fit.line->slope_kg_m2.reset();
    fit.core_density_kg_m3.reset();
    fit.skin_mass_per_area_g_m2.reset();
    fit.free_rise_cups = 0;
    fit.free_rise_kg_m3.reset();
    const std::string text = fit_text(fit);
    CHECK(says(text, "Mean 160 kg/m3 (9.99 lb/ft3), the next of this shape within 11 kg/m3"));
    CHECK(says(text, "thicker, such as a ball"));
    CHECK(says(text, "--free-rise-mass"));
    CHECK_FALSE(says(text, "--from-tally"));
    CHECK_FALSE(says(text, "Skin"));
    fit.line->x_mean_per_m = 60;
    CHECK(says(fit_text(fit), "thinner, such as a slab"));
    fit.line.reset();
    CHECK(says(fit_text(fit), "weigh at least 2 castings of one shape"));
    Casting one;
    one.foam = "ours";
    one.mix = "30:100";
    CHECK(says(no_fit_text(one, "Too few."), "Foam ours 30:100 Castings Too few."));
}

TEST_CASE("what was left out, what contradicts itself and what can't be is said, not printed") {
    ShopFit fit = nine_castings();
    fit.shorts = 2;
    fit.lost = 1;
    fit.other_verdicts = 1;
    fit.impossible = {7};
    fit.by_area = 3;
    fit.heaviest_short = {5, 30.0, 0.97};
    fit.lighter_than_short = {3, 4};
    fit.flash_castings = 1;
    fit.flash_share = {0.025, INFINITY};
    fit.core_below_free_rise = true;
    std::string text = fit_text(fit);
    CHECK(says(text, "Left out 2 short, 1 lost, 1 with another verdict"));
    CHECK(says(text, "casting 7: heavier than"));
    CHECK(says(text, "3 hold no skin volume"));
    CHECK(says(text, "casting 5 did not fill with 30.0 g, 97.0 % of what filled"));
    CHECK(says(text, "castings 3, 4 came out good with less"));
    CHECK(says(text, "Flash 2.50 % of the part, from 1 casting"));
    CHECK(says(text, "a core lighter than the foam rises freely"));
    CHECK_FALSE(says(text, "115"));
    fit.film_at_100_g = {6.2, 12};
    CHECK(says(fit_text(fit),
               "Cup 6.20 g of a cup of 100 g stay in it, from 9 castings; uncertain "
               "by more than itself"));
    fit.core_below_free_rise = false;
    fit.core_density_kg_m3 = Estimate{-4, 30};
    text = fit_text(fit);
    CHECK(says(text, "less than nothing"));
    CHECK_FALSE(says(text, "-4"));
    CHECK_FALSE(says(text, "--from-tally"));
}
