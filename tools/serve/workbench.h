// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "http.h"
#include "part_job.h"

namespace cavigram::serve {

/// The parts that are at hand, by id, and those who listen to what becomes of them.
class Workbench {
  public:
    /// Limits, told where they are met.
    static constexpr std::size_t kMostParts = 40;
    static constexpr std::uint64_t kMostBytes = std::uint64_t{4} << 30;  // of all parts' files

    /// `folder`: where the parts' files are kept. `tally`: the casting log; empty: the usual one.
    /// `threads`: as RunContext.
    Workbench(std::filesystem::path folder, std::string tally, int threads);
    ~Workbench();
    Workbench(const Workbench&) = delete;
    Workbench& operator=(const Workbench&) = delete;

    /// Whether another file of so many bytes may come.
    [[nodiscard]] bool has_room(std::uint64_t bytes) const;
    /// What is said where there is none.
    [[nodiscard]] static std::string full_text();
    /// Takes a file that lies in the folder and begins to work on it.
    std::shared_ptr<PartJob> add(PartFile file);
    /// The part of that id, or null.
    [[nodiscard]] std::shared_ptr<PartJob> find(const std::string& id) const;
    /// All, in the order in which they came.
    [[nodiscard]] std::vector<std::shared_ptr<PartJob>> all() const;
    /// Forgets a part and removes its file. False: another part is poured with it.
    bool forget(const std::string& id);

    /// Calls back with each change, after one with each part as it is.
    [[nodiscard]] std::function<void()> subscribe(const Push& push);

    /// Asks all work to end, and waits so long for it. Whether it has.
    bool end(std::chrono::milliseconds within);

    /// Tells all listeners.
    void tell(const char* event, const nlohmann::json& data);

    /// The texts that the program's own table reads: parts that are named by id become files.
    /// \throw InvalidInput, UnusableInput
    [[nodiscard]] program::Options read(const PartFile& part, const program::JobValues& values,
                                        const std::string& command = "plan") const;
    /// The same for a command of the tally that needs no part.
    [[nodiscard]] program::Options read_tally(program::JobValues values,
                                              const std::string& command) const;
    /// The same with parts by their names, as for a command line. Parts that were forgotten keep
    /// their id.
    [[nodiscard]] program::JobValues with_names(program::JobValues values) const;

  private:
    const std::filesystem::path folder_;
    const std::string tally_;
    const int threads_;
    Turnstile turnstile_{2};

    mutable std::mutex listeners_mutex_;
    std::map<std::uint64_t, Push> listeners_;
    std::uint64_t next_listener_ = 0;

    mutable std::mutex parts_mutex_;
    std::vector<std::shared_ptr<PartJob>> parts_;
    std::vector<std::shared_ptr<PartJob>> leaving_;  // until their work has ended
};

/// Whether an option can be set on the page: it changes the plan, and names no file and nothing of
/// the terminal.
[[nodiscard]] bool is_settable(const std::string& option);

}  // namespace cavigram::serve
