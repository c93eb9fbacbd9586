// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace cavigram {

/// How much a finding matters: a note is worth knowing, a warning changes what a person should do,
/// and a stop makes the result unusable as it stands (the program then ends with exit status 1).
enum class Severity { note, warning, stop };

/// The word for a severity in text and JSON: `note`, `warning`, `stop`.
[[nodiscard]] const char* to_text(Severity severity);

/// All codes of findings, sorted. docs/findings.md says what each means and what to do.
inline constexpr std::array<std::string_view, 86> kFindingCodes = {
    "air_methods_differ",
    "air_stays",
    "all_skin",
    "armature_unfit",
    "arms_below_cells",
    "base_closed",
    "batch_too_small_for_scale",
    "beams_left_out",
    "board_larger_than_stock",
    "bursts_mold",
    "coordinates_coarse",
    "core_light",
    "count_zero",
    "crosses_itself",
    "density_as_free_rise",
    "double_skin",
    "every_pull_locks",
    "extension_misleads",
    "facets_incomplete",
    "file_cut_short",
    "from_tally",
    "gels_before_full",
    "heavy_to_lift",
    "high_pressure",
    "hold_while_turning",
    "hole_mirrored",
    "hole_on_show_side",
    "holes_kept_apart",
    "holes_too_close",
    "hollow_broken",
    "jacket_meets_itself",
    "large_hole",
    "line_on_show_side",
    "little_time",
    "loose_piece",
    "may_fall_short",
    "mold_needs_slits",
    "mold_temperature",
    "narrow_for_rubber",
    "narrow_necks",
    "no_beam",
    "no_endsolid",
    "no_opening",
    "no_straps",
    "no_time",
    "not_printed_left_out",
    "nothing_shown",
    "one_piece_mold",
    "opening_moved",
    "pigment_below_scale",
    "pose_ignored",
    "pour_hole_elsewhere",
    "pour_hole_narrow",
    "pour_hole_narrow_for_air",
    "pour_hole_smaller",
    "pour_hole_too_wide",
    "residue_matters",
    "rise_leaves_air",
    "rise_short",
    "scale_too_coarse",
    "several_cups",
    "several_solids",
    "short_shot",
    "shut_off_needed",
    "size_unlikely",
    "skin_unsure",
    "solid_within",
    "straps_crowded",
    "straps_too_few",
    "stretch_over_limit",
    "too_much_at_once",
    "trailing_bytes",
    "triangles_not_finite",
    "triangles_out_of_range",
    "triangles_without_area",
    "turned_z_up",
    "units_assumed",
    "units_differ",
    "units_overruled",
    "vent_foams_early",
    "vent_in_pour_hole",
    "vent_too_wide",
    "volume_unsure",
    "wall_thin_to_pour",
    "wrapped",
    "wrapped_in_rubber",
};

/// The stable short name of what a finding is about, `lower_snake`, for programs: one of
/// kFindingCodes. Made of a literal, and one that is not among them does not compile.
class FindingCode {
  public:
    /// No code yet.
    constexpr FindingCode() = default;
    /// The code of a literal, which may stand where codes do, in findings and in comparisons.
    consteval FindingCode(const char* word) : word_(word) {  // NOLINT(google-explicit-constructor)
        if (!listed(word_)) {
            throw "no such code: add it to kFindingCodes and to docs/findings.md";
        }
    }
    /// A code that was read from elsewhere; none for a word that is not listed.
    ///
    /// O(log codes)
    [[nodiscard]] static constexpr std::optional<FindingCode> parse(std::string_view word) {
        if (!listed(word)) {
            return std::nullopt;
        }
        FindingCode code;
        code.word_ = *std::lower_bound(kFindingCodes.begin(), kFindingCodes.end(), word);
        return code;
    }

    /// The word itself; empty for no code yet.
    [[nodiscard]] constexpr std::string_view word() const { return word_; }
    /// Whether both are the same code.
    friend constexpr bool operator==(const FindingCode&, const FindingCode&) = default;

  private:
    [[nodiscard]] static constexpr bool listed(std::string_view word) {
        return std::binary_search(kFindingCodes.begin(), kFindingCodes.end(), word);
    }

    std::string_view word_;
};

/// The word for a code in JSON.
[[nodiscard]] constexpr std::string_view to_text(FindingCode code) {
    return code.word();
}

/// Something noticed about the file, the part or the plan, with the places it concerns.
struct Finding {
    Severity severity = Severity::note;  ///< How much it matters.
    FindingCode code;                    ///< What it is about.
    /// One plain sentence for a person, quantities told (told.h); remedy included.
    std::string text;
    std::vector<std::array<double, 3>> at_mm;  ///< Places in the part's coordinates, possibly none.
};

}  // namespace cavigram
