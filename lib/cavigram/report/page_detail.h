// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

namespace cavigram {

/// Plain text in two columns, a word on the left and what there is to say on the right, wrapped at
/// 100 columns.
class Page {
  public:
    void line(std::string_view text = "");
    /// Continues under the right column where the text is long or holds line breaks.
    void row(std::string_view label, std::string_view text);
    /// As row, with the label only on the first of several.
    void more(std::string_view text) { row("", text); }
    [[nodiscard]] const std::string& text() const { return text_; }

  private:
    std::string text_;
};

/// "12,345" : digits in threes.
[[nodiscard]] std::string thousands(std::size_t number);
/// "355 mm (14.0 in)".
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
