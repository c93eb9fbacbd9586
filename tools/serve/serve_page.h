// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace cavigram::serve {

/// The page's files, as build.mjs bundled them.
[[nodiscard]] std::string serve_page_html();
[[nodiscard]] std::string serve_page_js();
[[nodiscard]] std::string serve_page_css();

}  // namespace cavigram::serve
