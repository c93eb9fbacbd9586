// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/gltf_reader.h"

#include "soup_promises.h"
#include "targets.h"

namespace fuzz {

int fuzz_gltf(Bytes bytes) {
    result_or_refusal([&] {
        const auto soup = cavigram::parse_gltf(text_of(bytes), scratch());
        if (soup) {
            require_soup(*soup);
        }
    });
    return 0;
}

}  // namespace fuzz
