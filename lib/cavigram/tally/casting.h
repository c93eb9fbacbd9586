// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace cavigram {

/// The depth t at which a casting's S(t) is recorded. One depth for all, so that castings can be
/// compared whatever skin the foam makes; 1 mm is amid the skins that hand-cast flexible foam has
/// (about half a millimeter to two; from memory), where S(t)/t differs least from that of the
/// shop's own skin.
inline constexpr double kSkinReference_mm = 1.0;
/// No mix of this kind of foam is denser as a liquid (part A is 1,120 to 1,250). From memory.
inline constexpr double kDensestLiquid_kg_m3 = 1300.0;

/// How a casting came out. What a person wrote stays in Casting::verdict.
enum class CastingVerdict {
    good,
    short_shot,  ///< `short`: the mold was not filled.
    lost,        ///< Nothing can be learned from its mass.
    flashed,     ///< Filled, and foam came out of holes or the parting line.
    other,       ///< A word of an older log, such as `flaw`.
};

/// `good`, `short`, `lost`, `flashed`; nothing said is good, any other word is `other`.
[[nodiscard]] CastingVerdict casting_verdict(std::string_view word);
/// The same, for what a person types today.
///
/// \throw InvalidInput naming the four words
[[nodiscard]] CastingVerdict parse_casting_verdict(std::string_view word, std::string_view name);

/// One casting as it was weighed. Masses that were not taken are empty.
struct Casting {
    std::int64_t number = 0;  ///< Given by the log, rising from 1.
    std::string
        date;  ///< `2026-11-24` or with a time, as the person wrote it; the log sorts by number.
    std::string part;         ///< What was cast.
    std::string mold;         ///< Which mold, in the shop's own word; empty: not said.
    std::string foam;         ///< The card's name.
    std::string mix;          ///< `50:100`.
    double volume_mm3 = 0.0;  ///< Of the cavity, from the part's mesh.
    double area_mm2 = 0.0;    ///< Of its surface.
    /// The depth of skin_volume_mm3: kSkinReference_mm in all that is logged today. Empty in logs
    /// of the first version.
    std::optional<double> skin_reference_mm;
    /// The cavity's volume within that depth of its surface; all of it where it is thinner.
    std::optional<double> skin_volume_mm3;
    std::optional<double> cup_mass_g;        ///< A and B poured together.
    std::optional<double> part_mass_g;       ///< Out of the mold, flash trimmed.
    std::optional<double> flash_mass_g;      ///< Trimmed flash, vents and sprue.
    std::optional<double> stayed_mass_g;     ///< The film left in the cups, risen foam taken out.
    std::optional<double> free_rise_mass_g;  ///< The leftover that rose freely in a cup,
    std::optional<double> free_rise_volume_ml;  ///< and its volume.
    std::optional<double> temperature_c;        ///< Of the room.
    std::string verdict;  ///< `good`, `short`, `lost`, `flashed`; see casting_verdict.
    std::string note;     ///< In the shop's own words.
};

/// What was in the mold when it was full: part and flash. Empty if the part was not weighed.
[[nodiscard]] std::optional<double> mold_mass_g(const Casting& casting);
/// Density of the freely risen cup; empty if there was none.
[[nodiscard]] std::optional<double> free_rise_density_kg_m3(const Casting& casting);
/// S(t)/t, the area that a skin of even thickness would have in this part; where S(t) is not
/// recorded, the area of the surface, which is somewhat more.
[[nodiscard]] double skin_area_mm2(const Casting& casting);
/// Whether the part weighs more than its cavity full of gas-free polymer, which can't be.
[[nodiscard]] bool heavier_than_polymer(const Casting& casting);
/// Whether the casting can be at all: a size within those of parts (core/limits.h), masses up to
/// a ton, a freely risen cup and a part that are not heavier than polymer. What add() took can;
/// a log that was damaged or changed by other means may hold what can't.
[[nodiscard]] bool is_possible(const Casting& casting);

/// Refuses a casting that can't be: masses that are not positive, parts that sum to more than the
/// cup held (beyond the rounding of a gram scale), a part heavier than gas-free polymer, a freely
/// risen cup denser than `liquid_kg_m3`, an unknown verdict.
///
/// \throw InvalidInput, one sentence
void check_casting(const Casting& casting, double liquid_kg_m3 = kDensestLiquid_kg_m3);

/// A field of CSV: what holds a comma, a quote or a line break in quotes, quotes within doubled
/// (RFC 4180).
[[nodiscard]] std::string csv_field(const std::string& text);

/// The castings as CSV with a heading (RFC 4180): units in the names, empty where nothing was
/// weighed.
[[nodiscard]] std::string castings_csv(const std::vector<Casting>& castings);

}  // namespace cavigram
