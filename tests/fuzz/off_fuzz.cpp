// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/off_reader.h"

#include "soup_promises.h"
#include "targets.h"

namespace fuzz {

int fuzz_off(Bytes bytes) {
    for (const bool partial : {false, true}) {
        result_or_refusal(
            [&] { require_soup(cavigram::parse_off(text_of(bytes), "the part", partial)); });
    }
    return 0;
}

}  // namespace fuzz
