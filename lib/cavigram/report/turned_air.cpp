// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/turned_air.h"

#include "cavigram/report/fields/sheet_detail.h"
#include "cavigram/report/json_detail.h"

namespace cavigram {

std::string turned_air_text(const TurnedAir& turned) {
    return detail::json_bytes(
               [&](detail::Sink& sink) { detail::turned_air_block().write(turned, sink); }, -1,
               true) +
           "\n";
}

}  // namespace cavigram
