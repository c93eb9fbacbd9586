// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <memory>
#include <string>

#include "guard.h"
#include "http.h"
#include "recent_desk.h"
#include "tally_desk.h"
#include "workbench.h"

namespace cavigram::serve {

/// What stands at which address: the page, and behind it the parts (docs/serve.md lists them).
class Site {
  public:
    /// Largest file of a part.
    static constexpr std::uint64_t kMostUpload = std::uint64_t{1} << 30;

    /// Guard and workbench outlive it. `kept`: as RecentDesk. `version`: the program's.
    Site(const Guard& guard, Workbench& workbench, std::filesystem::path folder,
         std::filesystem::path kept, std::string version);

    /// Answers at once. Throws nothing.
    [[nodiscard]] Answer answer(const Request& request) noexcept;

  private:
    [[nodiscard]] Answer dispatch(const Request& request);
    [[nodiscard]] Answer parts(const Request& request);
    [[nodiscard]] Answer part(const Request& request, const std::shared_ptr<PartJob>& job,
                              const std::string& what);
    [[nodiscard]] Answer result(const std::shared_ptr<PartJob>& job, const std::string& what);
    [[nodiscard]] Answer take_file(const Request& request);

    const Guard& guard_;
    Workbench& workbench_;
    const std::filesystem::path folder_;
    const std::string version_;
    TallyDesk tally_;
    RecentDesk recent_;
};

}  // namespace cavigram::serve
