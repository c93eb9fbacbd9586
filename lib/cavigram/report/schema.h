// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace cavigram {

/// The JSON Schema (draft 2020-12) of what json_text writes, from the same descriptions: each key
/// with its meaning, and its unit where it has one (`unit`, an annotation of our own). Keys that
/// this version does not know are not forbidden: later ones may add some.
[[nodiscard]] std::string schema_text();

/// docs/json.md: the same for people, a table for each block.
[[nodiscard]] std::string schema_docs_text();

/// The same as TypeScript interfaces.
[[nodiscard]] std::string schema_types_text();
/// The interfaces of all that the pages are filled with (pour_sheet_data, turned_air_text,
/// part_model_text); they are compiled against them.
[[nodiscard]] std::string sheet_types_text();

}  // namespace cavigram
