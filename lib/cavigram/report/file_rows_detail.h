// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

// What is wrong with the file, by kind.
void fault_rows(Page& page, const Plan& plan);

// What was mended.
void mending_rows(Page& page, const Plan& plan);

void size_and_volume_rows(Page& page, const Plan& plan);

// `is_detail`: only where details are asked for.
void area_and_shape_rows(Page& page, const Plan& plan, bool is_detail);

// What was mended, and what the part measures.
void file_rows(Page& page, const Plan& plan);

}  // namespace cavigram
