// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// What is left vent by vent, what the show side and narrow necks cost, and where liquid gathers.
void air_detail_rows(Page& page, const AirBlock& air);

}  // namespace cavigram
