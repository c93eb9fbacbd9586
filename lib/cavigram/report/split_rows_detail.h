// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// How the mold is split; `is_detail`: the places and the other pulls only for those who ask. \pre
// plan.split
void split_rows(Page& page, const Plan& plan, bool is_detail);

}  // namespace cavigram
