// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/card.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/foam/card_reader.h"
#include "cavigram/foam/iso_index.h"

namespace cavigram {

namespace {

constexpr const char* kFirm =
    R"(# Typical values for a firm mix of a variable-density flexible foam (common practice, no source).
# Replace them with your supplier's sheet and what you measured.
name = "generic-firm"
family = "generic variable-density flexible foam"
source = "typical values, common practice, no source"
typical = true
mix = "50:100"

[density]
value = "8 lb/ft3"
basis = "free_rise"

# How full the mold is packed: the part's mean density over free rise. What does not fit at free
# rise becomes skin, so the skin's thickness follows; state it ([skin] thickness) only if measured.
[packing]
value = 1.15
low = 1.05
high = 1.3

[skin]
density = "400 kg/m3"
density_low = "250 kg/m3"
density_high = "600 kg/m3"
profile = "step"

[liquid]
a = "1.20 g/cm3"
b = "1.03 g/cm3"
viscosity = "1000 mPas"

[time]
# From the start of stirring.
work = "30 s"
rise = "120 s"
demold_min = "30 min"
demold_max = "45 min"
at = "23 C"
)";

constexpr const char* kSoft =
    R"(# Typical values for a soft, denser mix of the same foam (common practice, no source).
# Replace them with your supplier's sheet and what you measured.
name = "generic-soft"
family = "generic variable-density flexible foam"
source = "typical values, common practice, no source"
typical = true
mix = "30:100"

[density]
value = "13 lb/ft3"
basis = "free_rise"

# How full the mold is packed: the part's mean density over free rise. What does not fit at free
# rise becomes skin, so the skin's thickness follows; state it ([skin] thickness) only if measured.
[packing]
value = 1.15
low = 1.05
high = 1.3

[skin]
density = "450 kg/m3"
density_low = "300 kg/m3"
density_high = "650 kg/m3"
profile = "step"

[liquid]
a = "1.20 g/cm3"
b = "1.03 g/cm3"
viscosity = "1000 mPas"

[time]
# From the start of stirring.
work = "30 s"
rise = "120 s"
demold_min = "30 min"
demold_max = "45 min"
at = "23 C"
)";

// How far a figure without bounds may be off: free-rise density from batch to batch, skin from mold
// to mold. Common practice, no source.
constexpr double kDensitySpread = 1.1;
constexpr double kSkinSpread = 1.5;

}  // namespace

const char* to_text(DensityBasis basis) {
    switch (basis) {
        case DensityBasis::free_rise:
            return "free_rise";
        case DensityBasis::molded:
            return "molded";
        case DensityBasis::core:
            return "core";
    }
    return "molded";
}

DensityBasis parse_basis(std::string_view text, std::string_view name) {
    return parse_choice<DensityBasis>(
        text, name, {DensityBasis::molded, DensityBasis::core, DensityBasis::free_rise});
}

SkinProfile parse_profile(std::string_view text, std::string_view name) {
    return parse_choice<SkinProfile>(text, name, {SkinProfile::step, SkinProfile::exponential});
}

namespace {

// Both, or neither.
void check_pair(bool first, bool second, const CardReader& reader, const char* key,
                const char* other) {
    if (first != second) {
        throw InvalidInput(fmt::format("{} goes with {}; give both or neither.",
                                       reader.named(first ? key : other), first ? other : key));
    }
}

void read_times(CardReader& reader, FoamCard& card) {
    card.work_time_s = reader.quantity("time.work", Kind::time, 1.0, 86400.0, 30.0);
    card.rise_time_s = reader.quantity("time.rise", Kind::time, 1.0, 86400.0, 120.0);
    card.demold_min_s = reader.quantity("time.demold_min", Kind::time, 1.0, 7 * 86400.0, 1800.0);
    card.demold_max_s = reader.quantity("time.demold_max", Kind::time, 1.0, 7 * 86400.0, 2700.0);
    card.at_c = reader.quantity("time.at", Kind::temperature, -10.0, 60.0, 23.0);
    card.curve = parse_rise_curve(reader.text("time.curve", to_text(RiseCurve::gompertz)),
                                  reader.named("time.curve"));
    if (card.rise_time_s <= card.work_time_s) {
        throw InvalidInput(fmt::format(
            "{} is {} s and time.work {} s, both from the start of stirring; the foam can't have "
            "risen before it begins to.",
            reader.named("time.rise"), significant(card.rise_time_s, 3),
            significant(card.work_time_s, 3)));
    }
    const std::string work_2 = reader.text("time.work_2", "");
    const std::string at_2 = reader.text("time.at_2", "");
    check_pair(!work_2.empty(), !at_2.empty(), reader, "time.work_2", "time.at_2");
    if (!work_2.empty()) {
        card.rule = rule_through(
            card.work_time_s, card.at_c,
            parse_quantity(work_2, Kind::time, reader.named("time.work_2"), 1.0, 86400.0),
            parse_quantity(at_2, Kind::temperature, reader.named("time.at_2"), -10.0, 60.0));
    }
    card.rule.activation_kj_mol = reader.number("time.activation_kj_mol", 1.0, 500.0);
    if (card.demold_min_s > card.demold_max_s) {
        throw InvalidInput(fmt::format("{} is later than time.demold_max; exchange them.",
                                       reader.named("time.demold_min")));
    }
}

// Where its density was measured: sea level unless it says otherwise.
void read_air(CardReader& reader, FoamCard& card) {
    const std::string altitude = reader.text("density.altitude", "");
    const std::string pressure = reader.text("density.air_pressure", "");
    if (!altitude.empty() && !pressure.empty()) {
        throw InvalidInput(fmt::format("{} and density.air_pressure say the same thing; give one.",
                                       reader.named("density.altitude")));
    }
    if (!altitude.empty()) {
        card.density_air_kpa = air_pressure_kpa(
            parse_quantity(altitude, Kind::length, reader.named("density.altitude")) / 1000.0);
    } else if (!pressure.empty()) {
        card.density_air_kpa = parse_quantity(pressure, Kind::pressure,
                                              reader.named("density.air_pressure"), 40.0, 120.0);
    }
}

void read_packing(CardReader& reader, FoamCard& card) {
    const auto value = reader.number("packing.value", 1.0, 20.0);
    const auto low = reader.number("packing.low", 1.0, 20.0);
    const auto high = reader.number("packing.high", 1.0, 20.0);
    card.packing.value = value.value_or(kUsualPacking.value);
    card.packing.low = low.value_or(value ? *value : kUsualPacking.low);
    card.packing.high = high.value_or(value ? *value : kUsualPacking.high);
    if (card.packing.low > card.packing.value || card.packing.high < card.packing.value) {
        throw InvalidInput(
            fmt::format("{} does not lie between its own low and high; correct one of the three.",
                        reader.named("packing.value")));
    }
}

// Bounds of a thickness that is not stated would be read and ignored.
void refuse_lone_bounds(CardReader& reader) {
    for (const char* const bound : {"skin.thickness_low", "skin.thickness_high"}) {
        if (!reader.text(bound, "").empty()) {
            throw InvalidInput(fmt::format(
                "{} goes with skin.thickness; give that too, as measured.", reader.named(bound)));
        }
    }
}

void read_kit(CardReader& reader, FoamCard& card) {
    card.kit_a_g = reader.quantity("kit.a", Kind::mass, 1.0, 1e7, 0.0);
    card.kit_b_g = reader.quantity("kit.b", Kind::mass, 1.0, 1e7, 0.0);
    check_pair(card.kit_a_g > 0.0, card.kit_b_g > 0.0, reader, "kit.a", "kit.b");
    card.kit_price = reader.number("kit.price", 0.0, 1e9).value_or(0.0);
    card.currency = reader.text("kit.currency", "");
}

// The index needs figures of the person's own liquids; without them there is none.
void read_index(CardReader& reader, FoamCard& card) {
    const auto nco = reader.number("index.nco_percent", 1.0, 60.0);
    const auto hydroxyl = reader.number("index.hydroxyl_number", 1.0, 2000.0);
    const double water = reader.number("index.water_percent", 0.0, 20.0).value_or(0.0);
    check_pair(nco.has_value(), hydroxyl.has_value(), reader, "index.nco_percent",
               "index.hydroxyl_number");
    if (nco) {
        constexpr double kWaterEquivalent = 9.0075;
        card.index = isocyanate_index(
            card.mix,
            {{100.0 - water, polyol_equivalent_weight(*hydroxyl)}, {water, kWaterEquivalent}},
            *nco);
    }
}

}  // namespace

FoamCard parse_card(std::string_view toml_text, const std::string& origin) {
    CardReader reader(toml_text, origin, {"foam card", "cavigram foams show generic-firm"});
    FoamCard card;
    card.name = reader.required("name");
    card.family = reader.text("family", card.name);
    card.source = reader.text("source", "not stated");
    card.typical = reader.flag("typical");
    card.mix = parse_mix_ratio(reader.required("mix"), reader.named("mix"));
    card.density_kg_m3 =
        reader.ranged("density.value", "density.", Kind::density, 10.0, 2000.0, kDensitySpread);
    card.basis =
        parse_basis(reader.text("density.basis", "free_rise"), reader.named("density.basis"));
    read_air(reader, card);
    read_packing(reader, card);
    if (!reader.text("skin.thickness", "").empty()) {
        card.skin_thickness_mm = reader.ranged("skin.thickness", "skin.thickness_", Kind::length,
                                               0.0, 50.0, kSkinSpread);
    } else {
        refuse_lone_bounds(reader);
    }
    card.skin_density_kg_m3 =
        reader.ranged("skin.density", "skin.density_", Kind::density, 10.0, 2000.0, kSkinSpread);
    card.skin_profile =
        parse_profile(reader.text("skin.profile", "step"), reader.named("skin.profile"));
    card.liquid_a_kg_m3 = reader.quantity("liquid.a", Kind::density, 500.0, 3000.0, 1200.0);
    card.liquid_b_kg_m3 = reader.quantity("liquid.b", Kind::density, 500.0, 3000.0, 1030.0);
    card.viscosity_pa_s = reader.quantity("liquid.viscosity", Kind::viscosity, 1e-4, 1e4, 1.0);
    read_times(reader, card);
    read_kit(reader, card);
    read_index(reader, card);
    reader.refuse_unknown();
    return card;
}

const std::vector<BuiltInCard>& built_in_cards() {
    static const std::vector<BuiltInCard> cards = {{"generic-firm", kFirm},
                                                   {"generic-soft", kSoft}};
    return cards;
}

namespace {

FoamCard read_card(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file || std::filesystem::is_directory(path)) {
        throw UnusableInput(
            fmt::format("Can't read the foam card {}; check the path.", path.string()));
    }
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    return parse_card(text, path.string());
}

}  // namespace

std::filesystem::path own_cards_folder() {
    const char* const config = std::getenv("XDG_CONFIG_HOME");
    const char* const home = std::getenv("HOME");
    const std::filesystem::path base =
        config != nullptr && *config == '/'
            ? std::filesystem::path(config)
            : std::filesystem::path(home != nullptr ? home : ".") / ".config";
    return base / "cavigram" / "foams";
}

std::vector<std::string> own_card_names() {
    std::vector<std::string> names;
    std::error_code error;
    for (const auto& entry : std::filesystem::directory_iterator(own_cards_folder(), error)) {
        if (entry.path().extension() == ".toml") {
            names.push_back(entry.path().stem().string());
        }
    }
    std::sort(names.begin(), names.end());
    return names;
}

FoamCard load_card(const std::string& name_or_path) {
    const std::filesystem::path path(name_or_path);
    const bool is_name = name_or_path.find('/') == std::string::npos && path.extension() != ".toml";
    std::vector<std::string> names = own_card_names();
    if (is_name && std::find(names.begin(), names.end(), name_or_path) != names.end()) {
        return read_card(own_cards_folder() / (name_or_path + ".toml"));
    }
    for (const BuiltInCard& card : built_in_cards()) {
        names.push_back(card.name);
        if (card.name == name_or_path) {
            return parse_card(card.toml, card.name);
        }
    }
    if (is_name) {
        const std::string nearest = nearest_word(name_or_path, names);
        throw InvalidInput(fmt::format(
            "There is no foam card \"{}\"{}{}{}; \"cavigram foams list\" shows those there "
            "are, and a file "
            "of yours is given by its path.",
            name_or_path, nearest.empty() ? "" : "; did you mean ", nearest,
            nearest.empty() ? "" : "?"));
    }
    return read_card(path);
}

}  // namespace cavigram
