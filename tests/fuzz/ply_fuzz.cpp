// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/ply_reader.h"

#include "soup_promises.h"
#include "targets.h"

namespace fuzz {

int fuzz_ply(Bytes bytes) {
    for (const bool partial : {false, true}) {
        result_or_refusal(
            [&] { require_soup(cavigram::parse_ply(text_of(bytes), "the part", partial)); });
    }
    return 0;
}

}  // namespace fuzz
