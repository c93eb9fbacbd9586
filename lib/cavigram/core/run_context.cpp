// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/run_context.h"

#include "cavigram/core/error.h"

namespace cavigram {

void RunContext::check_stop() const {
    if (stop.stop_requested()) {
        throw Cancelled();
    }
}

void RunContext::report(std::string_view phase, double share) const {
    check_stop();
    if (progress) {
        progress(phase, share);
    }
}

}  // namespace cavigram
