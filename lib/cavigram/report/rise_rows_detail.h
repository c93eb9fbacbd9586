// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// How the foam rises: its story, the last places, air that is cut off, holes, pressure. In short:
// the story alone, and the rest in detail.
void rise_rows(Page& page, const RiseBlock& rise, bool is_short);

// What a vent buys, and how likely places fill.
void rise_tables(Page& page, const RiseBlock& rise);

}  // namespace cavigram
