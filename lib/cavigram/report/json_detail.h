// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string>

#include "cavigram/report/fields/description_detail.h"

namespace cavigram::detail {

// The JSON of whatever `write` tells; -1: on one line.
std::string json_bytes(const std::function<void(Sink&)>& write, int indent, bool ascii);

}  // namespace cavigram::detail
