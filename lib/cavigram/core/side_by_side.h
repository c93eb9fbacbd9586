// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>

#include "cavigram/core/run_context.h"

namespace cavigram {

/// Makes two computations that ask nothing of each other, at once where the context has two threads
/// or more; each then has half of them. With one thread `first` is made before `second`.
///
/// For long computations that use one thread for most of their time: loops are shared out by
/// for_blocks. Only `second` tells of its progress when both are made at once, since that is heard
/// on the thread that made the call. Both are always brought to their end; what `first` throws
/// comes before what `second` throws, for any number of threads.
///
/// \pre neither writes to what the other reads.
///
/// \throw what they throw; Cancelled
void side_by_side(const RunContext& context, const std::function<void(const RunContext&)>& first,
                  const std::function<void(const RunContext&)>& second);

}  // namespace cavigram
