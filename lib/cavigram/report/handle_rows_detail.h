// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// Weight, droop and armature; details only for those who ask for everything. \pre plan.handle and
// plan.foam
void handle_rows(Page& page, const Plan& plan);

}  // namespace cavigram
