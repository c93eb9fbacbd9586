// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// What the page is filled with: one JSON object with `plan` (json_text), `live` (what the page
/// needs to do the arithmetic again for another density, waste, number of copies, scale or
/// temperature), `display` (the surface, quantized to 16 bits, with its colorings in 8), `ways`
/// (the ranked ways up with their holes) and `pictures`. Pure ASCII, without the characters <, >
/// and &, so that nothing in it can end the element that holds it.
///
/// \pre plan.display
[[nodiscard]] std::string pour_sheet_data(const Plan& plan);

/// For a page on which the part is turned (turned_air_text): `display` as above, the planned way
/// up, the ranked ones, and the air that stays in each direction of the search's first look.
///
/// \pre plan.display
[[nodiscard]] std::string part_model_text(const Plan& plan);

/// The pour sheet: `page` (tools/pour_sheet, bundled) with the plan's data, title and summary in
/// its places for them. One HTML file that needs no other.
///
/// \pre plan.display; the page holds each place once
[[nodiscard]] std::string pour_sheet_html(const Plan& plan, std::string_view page);

}  // namespace cavigram
