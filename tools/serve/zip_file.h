// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace cavigram::serve {

/// The files by name in one ZIP archive, in a folder `folder` within it. Same files, same bytes:
/// every file has the first date that the format knows. \throw WriteError
[[nodiscard]] std::string zip_file(const std::string& folder,
                                   const std::vector<std::pair<std::string, std::string>>& files);

}  // namespace cavigram::serve
