// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/foreign_format_detail.h"
#include "cavigram/io/mesh_format.h"
#include "cavigram/io/stated_unit_detail.h"
#include "cavigram/io/text_detail.h"

#include "targets.h"

namespace fuzz {

int fuzz_sniff(Bytes bytes) {
    using namespace cavigram;
    const std::string_view text = text_of(bytes);
    for (const MeshFormat& format : mesh_formats()) {
        static_cast<void>(format_of(text, format.extension));
    }
    static_cast<void>(foreign_format(text));
    static_cast<void>(is_point_text(text));
    constexpr std::size_t kMost = 4096;
    if (const auto entry = zip_entry(text, ".model", kMost)) {
        require(entry->start.size() <= kMost, "no more is inflated than was asked for");
    }
    if (const auto unit = unit_of_amf(text)) {
        require(*unit > 0.0, "a unit is a length");
    }
    double value = 0.0;
    static_cast<void>(parse_number(text, value));
    const std::string shown = shown_text(text);
    require_sentence("A name in a sentence: " + shown + ".");
    require(significant_digits(text) >= 0, "a count of digits");
    return 0;
}

}  // namespace fuzz
