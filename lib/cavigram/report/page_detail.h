// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cavigram/core/told.h"
#include "cavigram/geom/vector.h"
#include "cavigram/report/text.h"

namespace cavigram {

// "1 place", "2,000 places".
std::string plural(std::size_t count, const char* one, const char* many);

/// When a row is shown: brief and detail where everything is not, or is, asked for.
enum class RowWhen { always, brief, detail };

/// A word on the left and what there is to say on the right, quantities told (core/told.h). A row
/// without a label goes on with the one before it; one that is a line of its own has no columns;
/// one with cells is a row of a table with those rows with cells that stand beside it.
struct PageRow {
    std::string label;
    std::string text;
    bool is_line = false;
    RowWhen when = RowWhen::always;
    std::vector<std::string> cells = {};
    std::vector<Vec3> at_mm = {};  ///< Places that it speaks of.
};

/// What people read, as rows; laid out only when it is asked for.
class Page {
  public:
    void line(std::string_view text = "") { rows_.push_back({"", std::string(text), true}); }
    void detail_line(std::string_view text) {
        line(text);
        rows_.back().when = RowWhen::detail;
    }
    void row(std::string_view label, std::string_view text) {
        rows_.push_back({std::string(label), std::string(text)});
    }
    /// As row, with the label only on the first of several.
    void more(std::string_view text) { row("", text); }
    void more(std::string_view text, std::vector<Vec3> at_mm) {
        row("", text);
        rows_.back().at_mm = std::move(at_mm);
    }
    void add(std::string_view label, std::string_view text, bool is_detail) {
        row(label, text);
        rows_.back().when = is_detail ? RowWhen::detail : RowWhen::always;
    }
    /// As row and more, for those who ask for everything.
    void detail(std::string_view label, std::string_view text) { add(label, text, true); }
    /// Instead of the detailed rows.
    void brief(std::string_view label, std::string_view text) {
        row(label, text);
        rows_.back().when = RowWhen::brief;
    }
    void cells(std::string_view label, std::vector<std::string> cells, bool is_detail) {
        add(label, "", is_detail);
        rows_.back().cells = std::move(cells);
    }
    [[nodiscard]] const std::vector<PageRow>& rows() const { return rows_; }
    /// In two columns for a terminal, wrapped; lines of their own too, unless they hold line breaks
    /// already. A label moves down where the row that has it is left out.
    [[nodiscard]] std::string text(const TextStyle& style = {}) const;

  private:
    std::vector<PageRow> rows_;
};

/// "12,345" : digits in threes.
[[nodiscard]] std::string thousands(std::size_t number);
/// The name of the i-th thin place: a to z, then aa, ab ...
[[nodiscard]] std::string letters(std::size_t i);
/// Quantities, told in both systems: "355 mm (14.0 in)".
[[nodiscard]] std::string length_text(double mm);
/// "12.3 cm3 (0.751 in3)"; from a liter on in liters.
[[nodiscard]] std::string volume_text(double mm3);
/// "124 cm2 (19.2 in2)".
[[nodiscard]] std::string area_text(double mm2);
/// "128 kg/m3 (8.00 lb/ft3)".
[[nodiscard]] std::string density_text(double kg_m3);
/// "96.3 g (3.40 oz)".
[[nodiscard]] std::string mass_text(double g);
/// Grams to the scale's step: 38 with a step of 1, 38.0 with 0.1.
[[nodiscard]] std::string scale_grams(double g, double step_g);
/// "x 12.3, y 0.0, z 45.6 mm".
[[nodiscard]] std::string place_text(double x_mm, double y_mm, double z_mm);
/// A way up as a person sets it: "+z", or "-y, leaned 10 degrees toward -z".
[[nodiscard]] std::string up_text(double x, double y, double z);

}  // namespace cavigram
