// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/report/fields/sheet_detail.h"

namespace cavigram::detail {

// All that the page says of a plan but for pictures and the 3D view; what the knobs change is
// worded there. \pre plan.display
Sheet sheet_in_words(const Plan& plan);

}  // namespace cavigram::detail
