// SPDX-License-Identifier: GPL-3.0-or-later
#include "site.h"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <unistd.h>
#include <utility>

#include <fmt/core.h>
#include <nlohmann/json.hpp>

#include "cavigram/core/error.h"
#include "cavigram/report/json.h"
#include "cavigram/report/pour_sheet.h"
#include "cavigram/report/text.h"
#include "cavigram/report/turned_air.h"

#include "call_words.h"
#include "changes.h"
#include "fault_views.h"
#include "option_table.h"
#include "plan_files.h"
#include "pour_sheet_page.h"
#include "private_folder.h"
#include "responses.h"
#include "serve_page.h"
#include "target.h"
#include "zip_file.h"

namespace cavigram::serve {

namespace {

using nlohmann::json;

constexpr std::uint64_t kMostChange = 65'536;
constexpr std::chrono::seconds kUploadWithin{600};

// The page runs its own script and shows its own style, and talks to this server only. The pour
// sheet stands in a frame of its own.
constexpr const char* kPagePolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'";

Response page_file(std::string text, const char* type) {
    Response response = bytes(std::move(text), type);
    response.fields = {{"Content-Security-Policy", kPagePolicy}};
    return response;
}

// A file that is being received; half of one is removed.
class FileSink : public BodySink {
  public:
    FileSink(PartFile file, Workbench& workbench, RecentDesk& recent)
        : file_(std::move(file)), workbench_(workbench), recent_(recent) {
        std::filesystem::create_directory(file_.path.parent_path());
        handle_ =
            ::open(file_.path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
        if (handle_ < 0) {
            throw WriteError(
                fmt::format("Can't keep the file: {}; make room on the disk, or set TMPDIR to "
                            "a folder that can be written to.",
                            std::strerror(errno)));
        }
    }
    ~FileSink() override {
        if (handle_ >= 0) {
            ::close(handle_);
            std::error_code ignored;
            std::filesystem::remove_all(file_.path.parent_path(), ignored);
        }
    }
    FileSink(const FileSink&) = delete;
    FileSink& operator=(const FileSink&) = delete;

    void take(std::string_view piece) override {
        file_.bytes += piece.size();
        while (!piece.empty()) {
            const ssize_t count = ::write(handle_, piece.data(), piece.size());
            if (count < 0 && errno != EINTR) {
                throw WriteError(fmt::format("Can't keep the file: {}; make room on the disk.",
                                             std::strerror(errno)));
            }
            piece.remove_prefix(count > 0 ? static_cast<std::size_t>(count) : 0);
        }
    }

    Reply end() override {
        if (!workbench_.has_room(file_.bytes)) {
            return sentence(409, Workbench::full_text());
        }
        ::close(std::exchange(handle_, -1));
        // The work on it begins at once, and does not wait for a copy of it.
        return Work{[job = workbench_.add(file_), &recent = recent_] {
            recent.keep(job);
            return json_response(job->state(), 201);
        }};
    }

  private:
    PartFile file_;
    Workbench& workbench_;
    RecentDesk& recent_;
    int handle_ = -1;
};

// What the page needs to know of the options: the program's own table.
json table_json(const std::string& version) {
    json options = json::array();
    for (const program::OptionRow& row : program::option_rows()) {
        if (is_settable(row.name)) {
            options.push_back(row_json(row));
        }
    }
    return {{"version", version}, {"options", options}, {"weighed", TallyDesk::rows()}};
}

// The sheet's own policy, and leave for this page to show it.
Response sheet_response(const Plan& plan) {
    std::string html = pour_sheet_html(plan, program::pour_sheet_page());
    static constexpr std::string_view kBefore =
        "<meta http-equiv=\"Content-Security-Policy\" content=\"";
    const std::size_t from = html.find(kBefore) + kBefore.size();
    const std::string policy = html.substr(from, html.find('"', from) - from);
    Response response = bytes(std::move(html), "text/html; charset=utf-8");
    response.fields = {{"Content-Security-Policy", policy + "; frame-ancestors 'self'"}};
    return response;
}

// `up=0,0,1`, and places to try: `pour-hole=1,2,3`, `vent=1,2,3;4,5,6`, `show=...`. An empty one
// stands for none. \throw InvalidInput
program::JobValues turned_values(const std::map<std::string, std::string>& query) {
    program::JobValues values;
    for (const auto& [name, text] : query) {
        if (name != "up" && name != "pour-hole" && name != "vent" && name != "show") {
            throw InvalidInput(fmt::format("{} can't be tried while the part is turned.", name));
        }
        std::vector<std::string>& texts = values[name];
        for (std::size_t at = 0; at < text.size();) {
            const std::size_t end =
                name == "vent" ? std::min(text.find(';', at), text.size()) : text.size();
            texts.push_back(text.substr(at, end - at));
            at = end + 1;
        }
    }
    if (values["up"].empty()) {
        throw InvalidInput("The air is told for one way up; say which, as up=0,0,1.");
    }
    return values;
}

Response turned_response(PartJob& job, const program::JobValues& values) {
    try {
        const std::optional<TurnedAir> air = job.air(values);
        return air ? bytes(turned_air_text(*air), "application/json")
                   : sentence(409,
                              "The plan is being computed, or was stopped; the air for other "
                              "ways up follows it.");
    } catch (const Error& error) {
        return sentence(422, rendered(error.told()));
    } catch (const std::exception& error) {
        return fault_response(error);
    }
}

std::string stem(const std::string& name) {
    return std::filesystem::path(name).stem().string();
}

}  // namespace

Site::Site(const Guard& guard, Workbench& workbench, std::filesystem::path folder,
           std::filesystem::path kept, std::string version)
    : guard_(guard),
      workbench_(workbench),
      folder_(std::move(folder)),
      version_(std::move(version)),
      tally_(workbench),
      recent_(std::move(kept), folder_, workbench) {}

Answer Site::answer(const Request& request) noexcept {
    try {
        if (std::optional<Response> instead = guard_.check(request)) {
            return std::move(*instead);
        }
        return dispatch(request);
    } catch (const Error& error) {
        return sentence(507, rendered(error.told()));
    } catch (const std::exception& error) {
        return fault_response(error);
    }
}

Answer Site::dispatch(const Request& request) {
    const bool reads = request.method == "GET";
    const std::string& path = request.path;
    if (path == "/" || path == "/page.js" || path == "/page.css") {
        if (!reads) {
            return wrong_method();
        }
        return path == "/"          ? page_file(serve_page_html(), "text/html; charset=utf-8")
               : path == "/page.js" ? page_file(serve_page_js(), "text/javascript; charset=utf-8")
                                    : page_file(serve_page_css(), "text/css; charset=utf-8");
    }
    if (path == "/api/table") {
        return reads ? json_response(table_json(version_)) : wrong_method();
    }
    if (path == "/api/events") {
        if (!reads) {
            return wrong_method();
        }
        return Events{[this](const Push& push) { return workbench_.subscribe(push); }};
    }
    if (TallyDesk::owns(path)) {
        return tally_.answer(request);
    }
    if (RecentDesk::owns(path)) {
        return recent_.answer(request);
    }
    return path.rfind("/api/parts", 0) == 0 ? parts(request) : not_found();
}

Answer Site::parts(const Request& request) {
    static constexpr std::string_view kParts = "/api/parts";
    const std::string rest = request.path.substr(kParts.size());
    if (rest.empty()) {
        if (request.method == "POST") {
            return take_file(request);
        }
        json all = json::array();
        for (const auto& job : workbench_.all()) {
            all.push_back(job->state());
        }
        return request.method == "GET" ? json_response(all) : wrong_method();
    }
    const std::size_t slash = std::min(rest.find('/', 1), rest.size());
    const std::shared_ptr<PartJob> job =
        rest.front() == '/' ? workbench_.find(rest.substr(1, slash - 1)) : nullptr;
    if (!job) {
        return sentence(404, "This part is not here any more.");
    }
    return part(request, job, rest.substr(std::min(slash + 1, rest.size())));
}

Answer Site::take_file(const Request& request) {
    const auto given = request.query.find("name");
    const std::string name = given == request.query.end() ? "" : given->second;
    constexpr std::size_t kIdBytes = 8;
    PartFile file;
    file.id = random_hex(kIdBytes);
    file.name = shown_name(name);
    file.path = folder_ / file.id / ("mesh" + safe_extension(name));
    if (!workbench_.has_room(0)) {
        return sentence(409, Workbench::full_text());
    }
    return Upload{std::make_unique<FileSink>(std::move(file), workbench_, recent_), kMostUpload,
                  kUploadWithin};
}

Answer Site::part(const Request& request, const std::shared_ptr<PartJob>& job,
                  const std::string& what) {
    const std::string call = request.method + " " + what;
    if (call == "GET ") {
        return json_response(job->state());
    }
    if (call == "DELETE ") {
        return workbench_.forget(job->file().id)
                   ? json_response(json::object())
                   : sentence(409, "Another part is poured with this one; close that one first.");
    }
    if (call == "PUT options") {
        return small_body(kMostChange, [this, job](const std::string& body) {
            try {
                job->change(changes_of(body, is_settable));
                recent_.changed(*job);
                return json_response(job->state());
            } catch (const Error& error) {
                return sentence(422, rendered(error.told()));
            }
        });
    }
    if (call == "POST stop" || call == "POST again") {
        what == "stop" ? job->stop() : job->again();
        return json_response(job->state());
    }
    if (request.method != "GET") {
        return wrong_method();
    }
    if (is_fault_view(what)) {
        const auto from = request.query.find("from");
        return fault_view(workbench_, *job, what,
                          from == request.query.end() ? "front" : from->second);
    }
    if (what == "air") {
        try {
            return Work{[job, values = turned_values(request.query)] {
                return turned_response(*job, values);
            }};
        } catch (const Error& error) {
            return sentence(422, rendered(error.told()));
        }
    }
    return result(job, what);
}

// What was computed of a part, in the form that is asked for. Made when it is asked for, and not on
// the threads that serve.
Answer Site::result(const std::shared_ptr<PartJob>& job, const std::string& what) {
    const PartFile& file = job->file();
    if (what == "job.toml" || what == "command.txt") {
        const program::JobValues values = workbench_.with_names(job->values());
        return what == "job.toml"
                   ? saved(bytes(job_text(file.name, values), "text/plain; charset=utf-8"), what)
                   : bytes(command_line(file.name, values) + "\n", "text/plain; charset=utf-8");
    }
    const std::string step = what == "part.json" ? "part" : what == "grams.json" ? "grams" : "plan";
    const bool known = step != "plan" || what == "plan.json" || what == "plan.txt" ||
                       what == "sheet.html" || what == "plan.zip" || what == "model.json";
    if (!known) {
        return not_found();
    }
    const std::optional<StageResult> found = job->result(step);
    if (!found) {
        Response not_yet =
            sentence(409, "This is not computed yet for the options as they are now.");
        if (what == "sheet.html") {  // said where the sheet would stand, until the page hears of it
            not_yet.fields.emplace_back("Content-Security-Policy",
                                        "default-src 'none'; frame-ancestors 'self'");
        }
        return not_yet;
    }
    const std::string call = job_text(file.name, workbench_.with_names(found->values));
    return Work{[found = *found, what, call, name = stem(file.name)]() -> Response {
        try {
            const Plan& plan = *found.plan;
            if (what == "sheet.html") {
                return sheet_response(plan);
            }
            if (what == "model.json") {
                return bytes(part_model_text(plan), "application/json");
            }
            if (what == "plan.txt") {
                return bytes(summary_text(plan, {.first = found.first, .detail = true}),
                             "text/plain; charset=utf-8");
            }
            if (what == "plan.zip") {
                auto files = program::plan_files(plan, found.first);
                files.emplace_back("job.toml", call);
                return saved(bytes(zip_file("", files), "application/zip"), name + "_plan.zip");
            }
            Response response = bytes(json_text(plan), "application/json");
            return what == "plan.json" ? saved(std::move(response), name + "_plan.json") : response;
        } catch (const std::exception& error) {
            return fault_response(error);
        }
    }};
}

}  // namespace cavigram::serve
