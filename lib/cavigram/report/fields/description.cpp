// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cavigram/report/fields/description_detail.h"

namespace cavigram::detail {

std::string unit_of(std::string_view key) {
    // The longest ending that is a unit: mm3_s before s.
    static constexpr std::array kUnits = {"mm3_s", "kg_m3", "g_m2", "mm3", "mm2", "kpa", "deg",
                                          "mm",    "kg",    "ml",   "g",   "s",   "c",   "n"};
    for (const std::string_view unit : kUnits) {
        if (key.size() > unit.size() + 1 && key.ends_with(unit) &&
            key[key.size() - unit.size() - 1] == '_') {
            return std::string(unit);
        }
    }
    return key.ends_with("_percent") ? "percent" : "";
}

void emit(Sink& sink, const Vec3& place) {
    sink.begin_list();
    for (int k = 0; k < 3; ++k) {
        sink.number(place[k]);
    }
    sink.end_list();
}

void emit(Sink& sink, const std::array<double, 3>& place) {
    sink.begin_list();
    for (const double coordinate : place) {
        sink.number(coordinate);
    }
    sink.end_list();
}

}  // namespace cavigram::detail
