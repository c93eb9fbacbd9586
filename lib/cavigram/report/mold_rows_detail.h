// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// What to build around the part; in short where it stands among much else. \pre plan.mold
void mold_rows(Page& page, const MoldBlock& mold, bool is_short);

}  // namespace cavigram
