// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/finding.h"

namespace cavigram {

const char* to_text(Severity severity) {
    switch (severity) {
        case Severity::note:
            return "note";
        case Severity::warning:
            return "warning";
        case Severity::stop:
            return "stop";
    }
    return "note";
}

}  // namespace cavigram
