// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/soup_wire_detail.h"

#include "soup_promises.h"
#include "targets.h"

namespace fuzz {

int fuzz_wire(Bytes bytes) {
    const auto answer = cavigram::receive(bytes);
    if (answer && answer->soup) {
        require_soup(*answer->soup);
    } else if (answer) {
        require(!answer->refusal.empty(), "neither a soup nor a refusal");
    }
    return 0;
}

}  // namespace fuzz
