// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <string>

#include "http.h"
#include "recent.h"
#include "workbench.h"

namespace cavigram::serve {

/// Which parts of the bench are kept as which recent ones, and the addresses of these.
class RecentDesk {
  public:
    /// `kept`: the folder for what stays; empty: nothing does. `folder`: where the bench's files
    /// lie. The workbench outlives it.
    RecentDesk(std::filesystem::path kept, std::filesystem::path folder, Workbench& workbench);

    /// Keeps a part that was dropped. Takes as long as a copy of its file.
    void keep(const std::shared_ptr<PartJob>& job) noexcept;
    /// Its options are others now.
    void changed(const PartJob& job) noexcept;

    /// Whether an address is one of this desk's.
    [[nodiscard]] static bool owns(const std::string& path);
    [[nodiscard]] Answer answer(const Request& request);

  private:
    [[nodiscard]] Response list() const;
    [[nodiscard]] Response open(const std::string& id);
    [[nodiscard]] std::shared_ptr<PartJob> opened(const std::string& recent) const;
    void tell();

    Recent recent_;
    const std::filesystem::path folder_;
    Workbench& workbench_;
    mutable std::mutex mutex_;
    std::map<std::string, std::string> recent_of_;  // by the part's id on the bench
};

}  // namespace cavigram::serve
