// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// The ranked ways up, side by side. \pre plan.orientations
void way_table(Page& page, const Plan& plan, bool is_detail);

// Why the planned one is planned. \pre plan.orientations
void way_up_row(Page& page, const Plan& plan);

// How they were found, and what that rests on.
void way_search_rows(Page& page, const Orientations& found);

}  // namespace cavigram
