// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// What was mended, and what the part measures.
void file_rows(Page& page, const Plan& plan);

}  // namespace cavigram
