// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/pour/bench.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// How the liquid goes in, and what is done afterwards.
const char* method_words(PourMethod method);
// In brief: "through the hole", "into the open half", "brushing first".
const char* short_words(PourMethod method);

// The time line from the start of stirring to opening, why this method, and the pour hole.
void bench_rows(Page& page, const Plan& plan, bool is_short);

}  // namespace cavigram
