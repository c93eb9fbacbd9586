// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/io/soup.h"
#include "cavigram/plan/plan.h"
#include "cavigram/plan/session.h"
#include "cavigram/spatial/triangle_bvh.h"

#include "job.h"
#include "option_table.h"
#include "part_commands.h"

namespace cavigram::python {

/// A mesh as read, or as given. What calls compute of it is kept for the next one.
class Mesh {
  public:
    /// `name` stands for the part's file.
    Mesh(Soup soup, std::string name) : soup_(std::move(soup)), name_(std::move(name)) {}
    [[nodiscard]] const Soup& soup() const { return soup_; }
    [[nodiscard]] const std::string& name() const { return name_; }
    /// As Session::plan; one call at a time, others wait. \throw as that
    [[nodiscard]] Plan plan(const PlanRequest& request, const Stages& stages,
                            const RunContext& context);

  private:
    Soup soup_;
    std::string name_;
    std::timed_mutex busy_;
    std::optional<Session> session_;  // made when first asked
};

/// What a call made.
class Made {
  public:
    Made(const program::PartCommand& command, Plan plan)
        : command_(&command), plan_(std::move(plan)) {}
    [[nodiscard]] const program::PartCommand& command() const { return *command_; }
    [[nodiscard]] const Plan& plan() const { return plan_; }
    /// The sentences of the findings that say stop.
    [[nodiscard]] std::vector<std::string> stops() const;
    /// How deep places lie below the part's surface; outside of it less than 0. \throw Cancelled
    [[nodiscard]] std::vector<double> depths_mm(const std::vector<Vec3>& places_mm,
                                                const RunContext& context) const;

  private:
    const program::PartCommand* command_;
    Plan plan_;
    mutable std::mutex indexing_;
    mutable std::optional<TriangleBvh> surface_;  // made when first asked
};

/// What a call is given: a file or a mesh, or neither where the job names the file.
struct Call {
    std::string command;         ///< As in program::kCommandNames.
    std::string file;            ///< Empty: none.
    std::shared_ptr<Mesh> mesh;  ///< Or none.
    program::JobValues options;  ///< Texts by the options' names.
};

/// Does what the program's command of that name does, but prints and writes nothing.
/// \throw InvalidInput, UnusableInput, NumericalFailure, Cancelled
[[nodiscard]] std::shared_ptr<const Made> make(const Call& call, const RunContext& context);

/// The files of a plan's folder into a folder that is made; gives their paths. `us`: US units come
/// first in the summary. \pre made by `plan` \throw WriteError
std::vector<std::string> write_plan(const Made& made, const std::filesystem::path& folder, bool us);

/// The options of a command that mean something without a terminal and files of results.
[[nodiscard]] std::vector<const program::OptionRow*> options_of(const std::string& command);

/// A sentence of the program's with its options named as keywords: "--mold-holds" is "mold_holds".
[[nodiscard]] std::string by_keywords(const std::string& sentence);

}  // namespace cavigram::python
