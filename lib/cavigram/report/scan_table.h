// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/core/told.h"
#include "cavigram/plan/plan.h"

namespace cavigram {

/// How the plan of a scan ended.
enum class ScanEnd {
    planned,
    stop,   ///< Planned, but the part needs attention first: there is no recipe.
    failed  ///< Not planned.
};
/// The word for it: `planned`, `stop`, `failed`.
[[nodiscard]] const char* to_text(ScanEnd end);

/// What goes into the cup for a scan.
struct ScanPour {
    double part_g = 0.0;               ///< The finished part.
    double molded_kg_m3 = 0.0;         ///< Its mean density.
    double part_a_g = 0.0;             ///< As the scale shows it, in each cup.
    double part_b_g = 0.0;             ///< As part_a_g.
    double pigment_g = 0.0;            ///< Into B.
    int cups = 1;                      ///< For one part; above 1 a joint shows between them.
    double scale_readability_g = 1.0;  ///< The scale's step.
    bool scale_in_ounces = false;      ///< Masses are told as such a scale shows them.
};

/// What a table tells of a scan that was planned.
struct ScanFigures {
    std::size_t triangles = 0;        ///< As read.
    std::array<double, 3> size_mm{};  ///< Along x, y, z of the file.
    double volume_mm3 = 0.0;          ///< Of the part,
    double volume_low_mm3 = 0.0;      ///< and its likely range, from mending.
    double volume_high_mm3 = 0.0;     ///< As volume_low_mm3.
    int vents = 0;                    ///< To drill, beside the pour hole.
    double trapped_mm3 = 0.0;         ///< Air that stays with them.
    int warnings = 0;                 ///< Findings that change what a person should do.
    std::optional<ScanPour> pour;     ///< None where a finding says stop.
};

/// One scan of many.
struct ScanRow {
    std::string scan;                    ///< Path of the file.
    std::string folder;                  ///< Of its plan, beside the table.
    ScanEnd end = ScanEnd::failed;       ///< How its plan ended.
    std::string sentence;                ///< What says stop, or why it failed; else empty.
    bool again = false;                  ///< It failed for a reason that may be gone by now.
    std::string options;                 ///< As typed.
    std::string version;                 ///< Of the program.
    std::string content_sha256;          ///< Of the file; empty: it could not be read.
    std::string key;                     ///< Of all that the plan was made from.
    std::optional<ScanFigures> figures;  ///< None where it failed.
};

/// The row of a plan: end, sentence and figures; the rest is for those who know the file.
///
/// \pre the plan has foam and air
[[nodiscard]] ScanRow scan_row(const Plan& plan);

/// One JSON object of schema `cavigram/scan/1`, ending in a line break: what lies in a scan's
/// folder as `scan.json`. What is no UTF-8 in a path comes out replaced.
[[nodiscard]] std::string scan_row_json(const ScanRow& row);
/// And back.
///
/// \throw UnusableInput if it is none
[[nodiscard]] ScanRow parse_scan_row(std::string_view json);

/// The rows as CSV (RFC 4180, UTF-8), a heading first, in the order given; lengths in mm, masses in
/// g whatever units come first elsewhere.
[[nodiscard]] std::string scan_table_csv(const std::vector<ScanRow>& rows);

/// No page shows more rows than this; those that failed or need attention come first.
inline constexpr std::size_t kMostShownRows = 5000;

/// The rows as one HTML page that needs no other file and no script: those that failed first, then
/// those that need attention, then the rest, each in the order given, with links into the folders
/// of the plans.
[[nodiscard]] std::string scan_table_html(const std::vector<ScanRow>& rows,
                                          UnitSystem first = UnitSystem::metric);

/// How many ended how: "3 scans: 1 planned, 1 needs attention first, 1 failed".
[[nodiscard]] std::string scan_counts_text(const std::vector<ScanRow>& rows);

}  // namespace cavigram
