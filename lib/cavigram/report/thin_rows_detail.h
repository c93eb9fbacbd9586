// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// Where the part is thin, and what thickening it would change. \pre plan.thin
void thin_rows(Page& page, const Plan& plan);

}  // namespace cavigram
