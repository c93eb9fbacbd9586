// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// Pour hole, pockets and vents for one way up, what is left vent by vent, what the show side and
// narrow necks cost, where liquid gathers, what it all rests on, and the second method. \pre
// plan.air
void air_rows(Page& page, const Plan& plan);

// What becomes of a pour hole, told; one that is not poured through never was one.
std::string after_words(const AirBlock& air, const Opening& opening, bool poured_through);

}  // namespace cavigram
