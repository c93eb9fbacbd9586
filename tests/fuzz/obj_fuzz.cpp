// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/obj_reader.h"

#include "soup_promises.h"
#include "targets.h"

namespace fuzz {

int fuzz_obj(Bytes bytes) {
    result_or_refusal([&] { require_soup(cavigram::parse_obj(text_of(bytes))); });
    return 0;
}

}  // namespace fuzz
