// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include <nlohmann/json.hpp>

#include "http.h"
#include "workbench.h"

namespace cavigram::serve {

/// The casting log on the page: what `cavigram tally` does, by the same functions, with its
/// refusals and doubts in the same words. All that reads or writes the log is done where no other
/// request waits for it.
class TallyDesk {
  public:
    /// The workbench outlives it; it knows the parts and the log's file.
    explicit TallyDesk(Workbench& workbench) : workbench_(workbench) {}

    /// Whether an address is one of this desk's.
    [[nodiscard]] static bool owns(const std::string& path);
    [[nodiscard]] Answer answer(const Request& request);
    /// The options that say what was weighed, as the page is told of them.
    [[nodiscard]] static nlohmann::json rows();

  private:
    [[nodiscard]] Answer add(const Request& request);
    [[nodiscard]] Answer one(const Request& request, const std::string& number);

    Workbench& workbench_;
};

}  // namespace cavigram::serve
