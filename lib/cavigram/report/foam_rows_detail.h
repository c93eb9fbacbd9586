// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// What goes into the cup, large, and the window in which it works; or why there is no recipe.
void grams_rows(Page& page, const Plan& plan);
// Mix, part, skin and core.
void foam_rows(Page& page, const Plan& plan);
// What nobody measured, in one place.
void guess_rows(Page& page, const Plan& plan);

}  // namespace cavigram
