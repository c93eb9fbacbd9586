// SPDX-License-Identifier: GPL-3.0-or-later
#include "calls.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <limits>
#include <string_view>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/parallel.h"
#include "cavigram/core/told.h"

#include "options.h"
#include "plan_files.h"
#include "read_options.h"

namespace cavigram::python {

namespace {

// What the program's own output is asked for with. One job file serves the program and the module,
// so in it they are passed over.
constexpr std::array<std::string_view, 7> kProgramsOwn = {"detail",   "first-units", "json", "out",
                                                          "progress", "quiet",       "table"};

bool is_programs_own(std::string_view name) {
    return std::find(kProgramsOwn.begin(), kProgramsOwn.end(), name) != kProgramsOwn.end();
}

program::JobValues job_of(const Call& call) {
    const auto at = call.options.find("job");
    if (at == call.options.end()) {
        return {};
    }
    program::JobValues job = program::read_job(at->second.front());
    std::erase_if(job, [](const auto& value) { return is_programs_own(value.first); });
    return job;
}

}  // namespace

Plan Mesh::plan(const PlanRequest& request, const Stages& stages, const RunContext& context) {
    constexpr std::chrono::milliseconds kBetweenLooks{20};
    std::unique_lock turn(busy_, std::defer_lock);
    while (!turn.try_lock_for(kBetweenLooks)) {
        context.check_stop();
    }
    if (!session_) {
        session_.emplace(soup_);
    }
    return session_->plan(request, stages, context);
}

std::vector<std::string> Made::stops() const {
    std::vector<std::string> sentences;
    for (const Finding& finding : plan_.findings) {
        if (finding.severity == Severity::stop) {
            sentences.push_back(by_keywords(rendered(finding.text)));
        }
    }
    return sentences;
}

std::vector<double> Made::depths_mm(const std::vector<Vec3>& places_mm,
                                    const RunContext& context) const {
    const TriangleBvh* surface = nullptr;
    {
        const std::lock_guard lock(indexing_);
        if (!surface_) {
            surface_.emplace(plan_.part->mesh(), context);
        }
        surface = &*surface_;
    }
    constexpr std::size_t kPlacesInBlock = 1024;
    std::vector<double> depths(places_mm.size());
    for_blocks(places_mm.size(), kPlacesInBlock, context, [&](const Block& block) {
        std::int32_t hint = -1;
        for (std::size_t i = block.begin; i < block.end; ++i) {
            const NearestPoint nearest =
                surface->nearest(places_mm[i], std::numeric_limits<double>::infinity(), hint);
            hint = nearest.triangle;
            depths[i] = std::copysign(nearest.distance_mm, surface->inside(places_mm[i]) ? 1 : -1);
        }
    });
    return depths;
}

std::shared_ptr<const Made> make(const Call& call, const RunContext& context) {
    const program::PartCommand& command = program::part_command(call.command);
    program::JobValues typed = call.options;
    if (call.mesh) {
        typed["part"] = {call.mesh->name()};
    } else if (!call.file.empty()) {
        typed["part"] = {call.file};
    }
    const program::Options options = program::read_values(typed, job_of(call), call.command);
    RunContext running = context;
    running.threads = options.threads;
    Plan plan = call.mesh ? call.mesh->plan(options.plan, command.stages, running)
                          : make_plan(options.plan, command.stages, running);
    return std::make_shared<const Made>(command, std::move(plan));
}

std::vector<std::string> write_plan(const Made& made, const std::filesystem::path& folder,
                                    bool us) {
    check_folder_place(folder);
    const auto files = program::plan_files(made.plan(), us ? UnitSystem::us : UnitSystem::metric);
    make_folder(folder);
    write_files(folder, files, program::other_plan_files(files));
    std::vector<std::string> paths;
    for (const auto& [name, bytes] : files) {
        paths.push_back((folder / name).string());
    }
    return paths;
}

std::vector<const program::OptionRow*> options_of(const std::string& command) {
    std::vector<const program::OptionRow*> rows;
    for (const program::OptionRow& row : program::option_rows()) {
        if ((row.commands & program::command_bit(command)) != 0 && !row.positional &&
            !is_programs_own(row.name)) {
            rows.push_back(&row);
        }
    }
    return rows;
}

std::string by_keywords(const std::string& sentence) {
    std::string text;
    std::size_t at = 0;
    while (at < sentence.size()) {
        const std::size_t dashes = std::min(sentence.find("--", at), sentence.size());
        text.append(sentence, at, dashes - at);
        std::size_t end = std::min(dashes + 2, sentence.size());
        while (end < sentence.size() &&
               (sentence[end] == '-' || (sentence[end] >= 'a' && sentence[end] <= 'z'))) {
            ++end;
        }
        if (dashes < sentence.size()) {
            std::string name = sentence.substr(dashes + 2, end - dashes - 2);
            const bool known = program::find_option(name) != nullptr;
            std::replace(name.begin(), name.end(), '-', known ? '_' : '-');
            text += known ? name : "--" + name;
        }
        at = end;
    }
    return text;
}

}  // namespace cavigram::python
