// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/session.h"

namespace cavigram {

/// The air for one way up as one JSON object on one line, for a page that draws it on the surface
/// of part_model_text: openings, vents, figures, and each pocket's triangles. Keys as in the Air
/// block of json_text where they stand there.
[[nodiscard]] std::string turned_air_text(const TurnedAir& turned);

}  // namespace cavigram
