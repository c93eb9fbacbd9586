// SPDX-License-Identifier: GPL-3.0-or-later
#include "recent_desk.h"

#include <exception>
#include <optional>
#include <utility>

#include <fmt/core.h>
#include <nlohmann/json.hpp>

#include "cavigram/core/error.h"

#include "private_folder.h"
#include "responses.h"
#include "target.h"

namespace cavigram::serve {

namespace {

constexpr const char* kAll = "/api/recent";

}  // namespace

RecentDesk::RecentDesk(std::filesystem::path kept, std::filesystem::path folder,
                       Workbench& workbench)
    : recent_(std::move(kept)), folder_(std::move(folder)), workbench_(workbench) {}

void RecentDesk::tell() {
    workbench_.tell("recent", nlohmann::json::object());
}

void RecentDesk::keep(const std::shared_ptr<PartJob>& job) noexcept {
    try {
        const std::string id = recent_.keep(job->file().name, job->file().path);
        if (id.empty()) {
            return;
        }
        {
            const std::lock_guard lock(mutex_);
            recent_of_[job->file().id] = id;
        }
        // Known again, it has the options that were chosen then, until others are.
        const program::JobValues values = job->values();
        recent_.use(id, values.empty() ? std::nullopt : std::optional(values));
        tell();
    } catch (const std::exception&) {
        // A full disk, or the part was closed meanwhile: it is on the bench, and is not kept.
        return;
    }
}

void RecentDesk::changed(const PartJob& job) noexcept {
    std::string id;
    {
        const std::lock_guard lock(mutex_);
        const auto at = recent_of_.find(job.file().id);
        id = at == recent_of_.end() ? "" : at->second;
    }
    if (!id.empty()) {
        recent_.use(id, job.values());
    }
}

bool RecentDesk::owns(const std::string& path) {
    return path == kAll || path.rfind(kAll + std::string("/"), 0) == 0;
}

Response RecentDesk::list() const {
    nlohmann::json parts = nlohmann::json::array();
    for (const RecentPart& part : recent_.all()) {
        parts.push_back({{"id", part.id},
                         {"name", part.name},
                         {"bytes", part.bytes},
                         {"used_ms", part.used_ms}});
    }
    return json_response({{"keeps", recent_.keeps()},
                          {"folder", recent_.folder().string()},
                          {"most_parts", Recent::kMostParts},
                          {"most_bytes", Recent::kMostBytes},
                          {"parts", parts}});
}

std::shared_ptr<PartJob> RecentDesk::opened(const std::string& recent) const {
    const std::lock_guard lock(mutex_);
    for (const auto& [part, id] : recent_of_) {
        if (id == recent) {
            if (std::shared_ptr<PartJob> job = workbench_.find(part)) {
                return job;
            }
        }
    }
    return nullptr;
}

Response RecentDesk::open(const std::string& id) {
    if (const auto job = opened(id)) {
        return json_response(job->state());
    }
    const std::optional<RecentPart> part = recent_.find(id);
    if (!part) {
        return sentence(404, "This part is not kept any more; drop its file again.");
    }
    if (!workbench_.has_room(part->bytes)) {
        return sentence(409, Workbench::full_text());
    }
    constexpr std::size_t kIdBytes = 8;
    PartFile file;
    file.id = random_hex(kIdBytes);
    file.name = part->name;
    file.path = folder_ / file.id / ("mesh" + safe_extension(part->name));
    file.bytes = part->bytes;
    std::filesystem::create_directory(file.path.parent_path(), folder_);
    share_file(part->file, file.path);
    const std::shared_ptr<PartJob> job = workbench_.add(std::move(file));
    {
        const std::lock_guard lock(mutex_);
        recent_of_[job->file().id] = id;
    }
    try {
        job->change(part->values);
    } catch (const Error&) {
        // An option that this version or this log refuses: it opens without.
    }
    recent_.use(id, job->values());
    tell();
    return json_response(job->state(), 201);
}

Answer RecentDesk::answer(const Request& request) {
    const std::string rest =
        request.path == kAll ? "" : request.path.substr(std::string(kAll).size() + 1);
    const std::string call =
        request.method + " " + rest.substr(std::min(rest.find('/'), rest.size()));
    const std::string id = rest.substr(0, rest.find('/'));
    std::function<Response()> make;
    if (call == "GET " && id.empty()) {
        make = [this] { return list(); };
    } else if (call == "POST /open") {
        make = [this, id] { return open(id); };
    } else if (call == "DELETE ") {
        make = [this, id] {
            {
                const std::lock_guard lock(mutex_);
                std::erase_if(recent_of_,
                              [&](const auto& one) { return id.empty() || one.second == id; });
            }
            id.empty() ? recent_.forget_all() : recent_.forget(id);
            tell();
            return list();
        };
    } else {
        return wrong_method();
    }
    return Work{[make = std::move(make)] {
        try {
            return make();
        } catch (const std::exception& error) {
            return sentence(507,
                            fmt::format("The recent parts can't be reached: {}.", error.what()));
        }
    }};
}

}  // namespace cavigram::serve
