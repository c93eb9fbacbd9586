// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/rubber_card.h"

#include <filesystem>
#include <fstream>
#include <iterator>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

namespace cavigram {

namespace {

constexpr const char* kSoft =
    R"(# Typical values for a soft silicone that cures by addition (common practice, no source).
# Replace them with your supplier's sheet and what you measured.
name = "generic-silicone-soft"
source = "typical values, common practice, no source"
typical = true
# Parts of A and B by weight.
mix = "100:100"
density = "1.10 g/cm3"

[cured]
shrinkage = "0.1%"
shrinkage_low = "0.05%"
shrinkage_high = "0.2%"
elongation_percent = 400
hardness_shore_a = 15

[heat]
expansion_per_k = 3e-4
conductivity_w_mk = 0.2
capacity_j_kgk = 1300

[work]
# One brushed coat, and what stays in cups and on brushes.
coat = "1.5 mm"
waste = "5%"
pot_life = "30 min"
cure = "6 h"
)";

constexpr const char* kFirm =
    R"(# Typical values for a firm silicone that cures by condensation (common practice, no source).
# Replace them with your supplier's sheet and what you measured.
name = "generic-silicone-firm"
source = "typical values, common practice, no source"
typical = true
# Parts of A and B by weight.
mix = "100:5"
density = "1.20 g/cm3"

[cured]
shrinkage = "0.4%"
shrinkage_low = "0.2%"
shrinkage_high = "0.6%"
elongation_percent = 300
hardness_shore_a = 28

[heat]
expansion_per_k = 3e-4
conductivity_w_mk = 0.2
capacity_j_kgk = 1300

[work]
# One brushed coat, and what stays in cups and on brushes.
coat = "1.5 mm"
waste = "5%"
pot_life = "40 min"
cure = "24 h"
)";

// Where the sheet gives no range, half and twice the shrinkage. Common practice, no source.
constexpr double kShrinkageSpread = 2.0;

}  // namespace

RubberCard parse_rubber_card(std::string_view toml_text, const std::string& origin) {
    CardReader reader(toml_text, origin,
                      {"rubber card", "cavigram foams show generic-silicone-soft"});
    RubberCard card;
    card.name = reader.required("name");
    card.source = reader.text("source", "not stated");
    card.typical = reader.flag("typical");
    card.mix = parse_mix_ratio(reader.required("mix"), reader.named("mix"));
    card.density_kg_m3 = reader.required_quantity("density", Kind::density, 500.0, 3000.0);
    if (reader.text("cured.shrinkage", "").empty()) {
        card.shrinkage_share = {0.0, 0.0, 0.0};
    } else {
        card.shrinkage_share = reader.ranged("cured.shrinkage", "cured.shrinkage_", Kind::share,
                                             0.0, 0.1, kShrinkageSpread);
    }
    card.elongation_share =
        reader.number("cured.elongation_percent", 10.0, 2000.0).value_or(300.0) / 100.0;
    card.hardness_shore_a = reader.number("cured.hardness_shore_a", 0.0, 100.0).value_or(0.0);
    card.expansion_per_k = reader.number("heat.expansion_per_k", 0.0, 1e-2).value_or(3e-4);
    card.conductivity_w_mk = reader.number("heat.conductivity_w_mk", 0.01, 100.0).value_or(0.2);
    card.capacity_j_kgk = reader.number("heat.capacity_j_kgk", 100.0, 10000.0).value_or(1300.0);
    card.coat_mm = reader.quantity("work.coat", Kind::length, 0.1, 20.0, 1.5);
    card.waste_share = reader.quantity("work.waste", Kind::share, 0.0, 0.9, 0.05);
    card.pot_life_s = reader.quantity("work.pot_life", Kind::time, 1.0, 7 * 86400.0, 1800.0);
    card.cure_s = reader.quantity("work.cure", Kind::time, 1.0, 60 * 86400.0, 21600.0);
    reader.refuse_unknown();
    return card;
}

const std::vector<BuiltInRubber>& built_in_rubbers() {
    static const std::vector<BuiltInRubber> cards = {{"generic-silicone-firm", kFirm},
                                                     {"generic-silicone-soft", kSoft}};
    return cards;
}

RubberCard load_rubber_card(const std::string& name_or_path) {
    const std::filesystem::path path(name_or_path);
    std::vector<std::string> names;
    for (const BuiltInRubber& card : built_in_rubbers()) {
        names.push_back(card.name);
        if (card.name == name_or_path) {
            return parse_rubber_card(card.toml, card.name);
        }
    }
    if (name_or_path.find('/') == std::string::npos && path.extension() != ".toml") {
        const std::string nearest = nearest_word(name_or_path, names);
        throw InvalidInput(fmt::format(
            "There is no rubber card \"{}\"{}{}{}; there are {} and {}, and a file of yours is "
            "given by its path.",
            name_or_path, nearest.empty() ? "" : "; did you mean ", nearest,
            nearest.empty() ? "" : "?", names.front(), names.back()));
    }
    std::ifstream file(path, std::ios::binary);
    if (!file || std::filesystem::is_directory(path)) {
        throw UnusableInput(
            fmt::format("Can't read the rubber card {}; check the path.", path.string()));
    }
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    return parse_rubber_card(text, path.string());
}

}  // namespace cavigram
