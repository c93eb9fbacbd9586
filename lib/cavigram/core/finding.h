// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <string>
#include <vector>

namespace cavigram {

/// How much a finding matters: a note is worth knowing, a warning changes what a person should do,
/// and a stop makes the result unusable as it stands (the program then ends with exit status 1).
enum class Severity { note, warning, stop };

/// The word for a severity in text and JSON: `note`, `warning`, `stop`.
[[nodiscard]] const char* to_text(Severity severity);

/// Something noticed about the file, the part or the plan, with the places it concerns.
struct Finding {
    Severity severity = Severity::note;
    std::string code;  ///< Stable short name, `lower_snake`, for programs: `units_assumed`.
    std::string
        text;  ///< One plain sentence for a person, quantities told (told.h); remedy included.
    std::vector<std::array<double, 3>> at_mm;  ///< Places in the part's coordinates, possibly none.
};

}  // namespace cavigram
