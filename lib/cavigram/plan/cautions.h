// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

namespace cavigram {

/// The usual cautions for pouring a two-part polyurethane foam, in general words; each ends by
/// deferring to the supplier's safety sheet, local rules, or licensed practice. Sources: NIOSH
/// Alert 96-111 (1996); EU Regulation 2020/1149. docs/rooms/plan.md has the dates.
[[nodiscard]] std::vector<std::string> pouring_cautions();

/// The usual cautions for building the mold: setting plaster burns, its dust, resin and rubber, and
/// what is lifted; deferring likewise. Common practice, no source.
[[nodiscard]] std::vector<std::string> molding_cautions();

/// The usual cautions for a soft copy in people's hands; the first ends by deferring to local
/// rules. Common practice, no source.
[[nodiscard]] std::vector<std::string> handling_cautions();

}  // namespace cavigram
