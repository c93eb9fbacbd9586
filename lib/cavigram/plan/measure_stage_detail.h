// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/core/run_context.h"
#include "cavigram/plan/plan.h"

namespace cavigram::detail {

// What a part measures, with the range that its mending leaves. \throw Cancelled
MeasuresBlock measures_of(const Part& part, const RunContext& context);

}  // namespace cavigram::detail
