// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/tally_text.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

namespace {

// From this skin area for each volume on, per meter, a part counts as thin: a slab of 17 mm.
constexpr double kThin_per_m = 120.0;
// With fewer degrees of freedom the ranges are several times as wide as the scatter.
constexpr std::size_t kFewDegrees = 4;
constexpr double kLb_ft3 = 16.018463373960138;  // kg/m3

// "115 +- 6 kg/m3 of something". A range wider than the figure is said in words: no mass is less
// than nothing.
std::string estimate_text(const Estimate& e, const char* unit, const std::string& of) {
    std::string text = significant(e.value, 3);
    if (e.plus_minus < e.value) {
        text += " +- " + significant(e.plus_minus, 2);
    }
    text += std::string(" ") + unit + of;
    return e.plus_minus >= e.value && std::isfinite(e.plus_minus)
               ? text + "; uncertain by more than itself"
               : text;
}

std::string pounds_text(double kg_m3) {
    return " (" + significant(kg_m3 / kLb_ft3, 3) + " lb/ft3)";
}

std::string from_text(std::size_t number, const char* what) {
    return fmt::format(", from {} {}{}", number, what, number == 1 ? "" : "s");
}

std::string numbers_text(const std::vector<std::int64_t>& numbers) {
    std::string text = numbers.size() == 1 ? "casting" : "castings";
    for (std::size_t i = 0; i < numbers.size(); ++i) {
        text += fmt::format("{} {}", i == 0 ? "" : ",", static_cast<long long>(numbers[i]));
    }
    return text;
}

// Whether core and skin are known and such that there can be a foam like that.
bool can_be(const ShopFit& fit) {
    return fit.core_density_kg_m3 && fit.core_density_kg_m3->value > 0.0 &&
           fit.skin_mass_per_area_g_m2 && fit.skin_mass_per_area_g_m2->value > 0.0 &&
           !fit.core_below_free_rise;
}

void add_castings(Page& page, const ShopFit& fit) {
    std::string text = fmt::format("{} good or flashed were weighed", fit.castings);
    if (fit.line) {
        text += fmt::format("; they scatter by {} % about the fit",
                            significant(fit.line->scatter_percent, 2));
    }
    page.row("Castings", text);
    std::string left_out;
    const auto count = [&left_out](std::size_t n, const char* what) {
        if (n > 0) {
            left_out += fmt::format("{}{} {}", left_out.empty() ? "" : ", ", n, what);
        }
    };
    count(fit.shorts, "short");
    count(fit.lost, "lost");
    count(fit.other_verdicts, "with another verdict than good, short, lost or flashed");
    if (!left_out.empty()) {
        page.row("Left out", left_out);
    }
    if (!fit.impossible.empty()) {
        page.row("Impossible", numbers_text(fit.impossible) +
                                   ": heavier than the cavity full of polymer without gas, or "
                                   "without a size; left out; check the weight, and the mesh's "
                                   "size");
    }
    if (fit.by_area > 0) {
        page.row("Older log",
                 fmt::format("{} hold{} no skin volume: the area stands in for it, which "
                             "makes the skin of those somewhat too large",
                             fit.by_area, fit.by_area == 1 ? "s" : ""));
    }
}

void add_skin_and_core(Page& page, const ShopFit& fit) {
    if (!fit.line) {
        return;
    }
    if (!fit.core_density_kg_m3 || !fit.skin_mass_per_area_g_m2) {
        page.row("Mean", density_text(fit.line->mean_kg_m3) + ", the next of this shape within " +
                             significant(fit.line->next_plus_minus_kg_m3, 2) +
                             " kg/m3; skin and core can't be told apart yet");
        return;
    }
    const Estimate& core = *fit.core_density_kg_m3;
    const Estimate& skin = *fit.skin_mass_per_area_g_m2;
    if (!can_be(fit)) {
        page.row("CAN'T BE",
                 std::string(fit.core_below_free_rise
                                 ? "the castings ask for a core lighter than the foam rises freely"
                                 : "the castings ask for a core or a skin of less than nothing") +
                     "; look for a wrong weight, cup volume, mesh or verdict (cavigram tally "
                     "list)");
        return;
    }
    page.row("Core", estimate_text(core, "kg/m3", pounds_text(core.value)));
    page.row("Skin", estimate_text(skin, "g/m2", " more than the core would weigh there"));
}

void add_free_rise(Page& page, const ShopFit& fit) {
    if (!fit.free_rise_kg_m3) {
        return;
    }
    std::string text = estimate_text(
        *fit.free_rise_kg_m3, "kg/m3",
        pounds_text(fit.free_rise_kg_m3->value) + from_text(fit.free_rise_cups, "cup"));
    if (fit.free_rise_cups > 1) {
        text += "; the next one within " + significant(fit.free_rise_next_plus_minus_kg_m3, 2);
    }
    page.row("Free rise", text);
}

void add_shorts(Page& page, const ShopFit& fit) {
    if (!fit.heaviest_short) {
        return;
    }
    const ShortCasting& heaviest = *fit.heaviest_short;
    page.row("Short",
             fmt::format("casting {} did not fill with {} g, {} % of what filled ones of "
                         "its shape weigh; pour more than that",
                         static_cast<long long>(heaviest.number), significant(heaviest.mass_g, 3),
                         significant(100.0 * heaviest.share_of_predicted, 3)));
    if (!fit.lighter_than_short.empty()) {
        page.row("CONTRADICTS",
                 numbers_text(fit.lighter_than_short) +
                     " came out good with less for the shape; the short one may have leaked or "
                     "held air, or a verdict is wrong");
    }
}

void add_cup_and_flash(Page& page, const ShopFit& fit) {
    if (fit.waste_castings > 0) {
        page.row("Cup", estimate_text(fit.film_at_100_g, "g",
                                      " of a cup of 100 g stay in it" +
                                          from_text(fit.waste_castings, "casting")));
        page.more("of a larger cup more, as a film on its wall; of these pours it was " +
                  significant(100.0 * fit.waste_share.value, 2) + " %");
    }
    if (fit.flash_castings > 0) {
        page.row("Flash",
                 estimate_text({100.0 * fit.flash_share.value, 100.0 * fit.flash_share.plus_minus},
                               "%", " of the part" + from_text(fit.flash_castings, "casting")));
    }
}

void add_next(Page& page, const ShopFit& fit) {
    std::string text;
    if (!fit.line) {
        text = "weigh at least 2 castings of one shape, or 3 of at least two shapes";
    } else if (!fit.line->slope_kg_m2) {
        text = std::string("cast and weigh something much ") +
               (fit.line->x_mean_per_m > kThin_per_m ? "thicker, such as a ball or a block"
                                                     : "thinner, such as a slab or a rod") +
               ": it tells skin from core";
    } else if (fit.line->degrees < kFewDegrees) {
        text =
            "weigh more, of the thinnest and the thickest shape: from so few the ranges are wide";
    }
    if (fit.free_rise_cups == 0) {
        text += std::string(text.empty() ? "" : "; ") +
                "let a leftover rise in a measuring cup and log its mass and volume "
                "(--free-rise-mass, --free-rise-volume): it calibrates the foam itself";
    }
    if (!text.empty()) {
        page.row("Next", text);
    }
}

}  // namespace

std::string casting_text(const Casting& c) {
    std::string line =
        fmt::format("{:3}  {}  {}", static_cast<long long>(c.number), c.date, c.part);
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
    if (c.stayed_mass_g) {
        line += ", " + significant(*c.stayed_mass_g, 3) + " g stayed in the cups";
    }
    if (const auto free_rise = free_rise_density_kg_m3(c)) {
        line += ", rose freely to " + density_text(*free_rise);
    }
    if (c.temperature_c) {
        line += ", " + significant(*c.temperature_c, 3) + " C";
    }
    for (const std::string& words : {c.mold, c.verdict, c.note}) {
        line += words.empty() ? "" : ", " + words;
    }
    return rendered(line) + "\n";
}

std::string castings_text(const std::vector<Casting>& castings) {
    if (castings.empty()) {
        return "Nothing yet; cavigram tally add PART logs what a casting weighed.\n";
    }
    std::string text;
    for (const Casting& casting : castings) {
        text += casting_text(casting);
    }
    return text + fmt::format("{} casting{}\n", castings.size(), castings.size() == 1 ? "" : "s");
}

std::string history_text(const std::vector<PastCasting>& past, bool in_full) {
    if (past.empty()) {
        return in_full ? "Nothing was corrected or removed.\n" : "";
    }
    if (!in_full) {
        return fmt::format("{} since; --history shows what was there before\n",
                           past.size() == 1
                               ? "1 was corrected or removed"
                               : fmt::format("{} were corrected or removed", past.size()));
    }
    std::string text;
    for (const PastCasting& one : past) {
        text += fmt::format("{} on {}, was: {}", one.removed ? "removed" : "corrected", one.on,
                            casting_text(one.was));
    }
    return text;
}

std::string mold_text(const std::string& mold, const std::vector<Casting>& castings) {
    std::size_t good = 0;
    std::size_t shorts = 0;
    std::size_t others = 0;
    std::optional<double> least;
    std::optional<double> most;
    for (const Casting& c : castings) {
        const CastingVerdict verdict = casting_verdict(c.verdict);
        const bool filled = verdict == CastingVerdict::good || verdict == CastingVerdict::flashed;
        good += filled ? 1 : 0;
        shorts += verdict == CastingVerdict::short_shot ? 1 : 0;
        others += filled || verdict == CastingVerdict::short_shot ? 0 : 1;
        if (filled && c.part_mass_g) {
            least = std::min(least.value_or(*c.part_mass_g), *c.part_mass_g);
            most = std::max(most.value_or(*c.part_mass_g), *c.part_mass_g);
        }
    }
    std::string text =
        fmt::format("{}: {} filled, {} short, {} lost or other", mold, good, shorts, others);
    if (least) {
        text += "; filled ones weigh " + significant(*least, 4) +
                (*most > *least ? " to " + significant(*most, 4) : "") + " g";
    }
    return text + "\n";
}

namespace {

// As a shell takes it for one word.
std::string quoted(const std::string& word) {
    const char* const plain =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-./:,=+@%";
    if (!word.empty() && word.find_first_not_of(plain) == std::string::npos) {
        return word;
    }
    std::string text = "'";
    for (const char c : word) {
        text += c == '\'' ? std::string("'\\''") : std::string(1, c);
    }
    return text + "'";
}

// Options that make the same cavity of the same file.
std::vector<std::string> part_words(const PartRequest& part) {
    std::vector<std::string> words = {"cavigram tally add",
                                      quoted(part.name.empty() ? part.file.string() : part.name)};
    if (part.units) {
        words.push_back(std::string("--units ") + part.units->name);
    }
    if (part.longest_mm) {
        words.push_back(fmt::format("--longest {:.10g}mm", *part.longest_mm));
    }
    if (part.scale != 1.0) {
        words.push_back(fmt::format("--scale {:.10g}", part.scale));
    }
    if (part.read.partial) {
        words.emplace_back("--partial");
    }
    if (part.mend.largest_hole_mm) {
        words.push_back(fmt::format("--largest-hole {:.10g}mm", *part.mend.largest_hole_mm));
    }
    if (part.mend.level != MendLevel::full) {
        words.emplace_back(part.mend.level == MendLevel::off ? "--mend off" : "--mend gentle");
    }
    if (part.mend.hollows == Hollows::fill) {
        words.emplace_back("--hollow fill");
    }
    if (part.mend.keep_scraps) {
        words.emplace_back("--keep-scraps");
    }
    if (part.mend.wrap) {
        words.emplace_back("--wrap");
    }
    return words;
}

}  // namespace

std::string log_call(const Plan& plan) {
    if (has_stop(plan)) {
        return "";
    }
    const Batch& batch = plan.foam->batch;
    const double step = batch.scale_readability_g;
    std::vector<std::string> words = part_words(plan.request.part);
    words.push_back("--foam " + quoted(plan.request.foam.card));
    words.push_back(fmt::format("--mix {:g}:{:g}", plan.foam->card.mix.a, plan.foam->card.mix.b));
    if (plan.request.bench.temperature_c) {
        words.push_back(fmt::format("--temperature {:.4g}C", *plan.request.bench.temperature_c));
    }
    // A cup that fills several molds is no single casting's.
    if (plan.foam->also.empty()) {
        const double cup =
            batch.cups_each * (batch.part_a_g + batch.part_b_g) - batch.balance.residue_g;
        std::string text = scale_text(cup, step, batch.scale_in_ounces);
        words.push_back("--cup " + text.erase(text.find(' '), 1));
    }
    words.emplace_back("--part-mass ___g");
    constexpr std::size_t kColumns = 76;  // a narrow terminal, its indent and the mark behind it
    std::string text;
    std::size_t column = 0;
    for (const std::string& word : words) {
        if (column > 0 && column + 1 + word.size() > kColumns) {
            text += " \\\n  ";
            column = 2;
        } else if (column > 0) {
            text += " ";
            ++column;
        }
        text += word;
        column += word.size();
    }
    return text + "\n";
}

std::string fit_text(const ShopFit& fit) {
    Page page;
    page.row("Foam", fit.foam + " " + fit.mix);
    add_castings(page, fit);
    add_skin_and_core(page, fit);
    add_free_rise(page, fit);
    add_shorts(page, fit);
    add_cup_and_flash(page, fit);
    add_next(page, fit);
    page.row("Rests on",
             "least squares over your own castings of this foam and mix; each range holds the "
             "truth 19 times out of 20");
    if (can_be(fit)) {
        page.row("Use it", "cavigram weigh PART --from-tally");
    }
    return page.text();
}

std::string no_fit_text(const Casting& one, const std::string& why) {
    Page page;
    page.row("Foam", one.foam + " " + one.mix);
    page.row("Castings", why);
    return page.text();
}

}  // namespace cavigram
