// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <exception>
#include <string>

#include <nlohmann/json.hpp>

#include "http.h"

namespace cavigram::serve {

// What the addresses answer with, in the forms that all of them use.

[[nodiscard]] Response json_response(const nlohmann::json& value, unsigned status = 200);
[[nodiscard]] Response bytes(std::string text, const char* type);
/// A download of that name, in which only what every system takes stays.
[[nodiscard]] Response saved(Response response, std::string name);
[[nodiscard]] Response not_found();
[[nodiscard]] Response wrong_method();
/// 503 where the machine has no memory, thread or handle left, else 500.
[[nodiscard]] Response fault_response(const std::exception& error);

}  // namespace cavigram::serve
