// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "option_table.h"

namespace cavigram::serve {

/// What a page wants options to be: `{"density": ["9lb/ft3"], "quiet": null}`; no text takes one
/// away. \throw InvalidInput for what can't be understood or is not `settable`
[[nodiscard]] std::map<std::string, std::vector<std::string>> changes_of(
    const std::string& body, const std::function<bool(const std::string& option)>& settable);

/// What a page is told of an option.
[[nodiscard]] nlohmann::json row_json(const program::OptionRow& row);

}  // namespace cavigram::serve
