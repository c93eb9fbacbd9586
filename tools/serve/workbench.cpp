// SPDX-License-Identifier: GPL-3.0-or-later
#include "workbench.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <thread>
#include <utility>

#include <fmt/core.h>
#include <malloc.h>

#include "cavigram/core/error.h"

#include "option_table.h"
#include "read_options.h"

namespace cavigram::serve {

namespace {

// `12ab@in`: a part by its id, in a unit of its own.
std::pair<std::string, std::string> id_and_unit(const std::string& text) {
    const std::size_t at = std::min(text.find('@'), text.size());
    return {text.substr(0, at), text.substr(at)};
}

std::string event_text(const char* event, const nlohmann::json& data) {
    return fmt::format("event: {}\ndata: {}\n\n", event,
                       data.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace));
}

// A card by its name lies where cards lie; one by a path could lie anywhere.
void refuse_path(const std::string& option, const std::string& text) {
    if (text.find('/') != std::string::npos || std::filesystem::path(text).extension() == ".toml") {
        throw InvalidInput(
            fmt::format("--{} is \"{}\"; give the name of a card here. Cards in files are taken "
                        "by the command line.",
                        option, text));
    }
}

}  // namespace

bool is_settable(const std::string& option) {
    static constexpr std::array kNot = {"job",   "json",    "out",      "db",    "table",
                                        "quiet", "threads", "progress", "detail"};
    const program::OptionRow* const row = program::find_option(option);
    return row != nullptr && !row->positional && (row->commands & program::kPlan) != 0 &&
           std::find(kNot.begin(), kNot.end(), option) == kNot.end();
}

Workbench::Workbench(std::filesystem::path folder, std::string tally, int threads)
    : folder_(std::move(folder)), tally_(std::move(tally)), threads_(threads) {}

Workbench::~Workbench() {
    end(std::chrono::milliseconds(0));
}

// ---- parts --------------------------------------------------------------------------------------

bool Workbench::has_room(std::uint64_t bytes) const {
    const std::lock_guard lock(parts_mutex_);
    std::uint64_t held = bytes;
    for (const auto& part : parts_) {
        held += part->file().bytes;
    }
    return parts_.size() < kMostParts && held <= kMostBytes;
}

std::string Workbench::full_text() {
    return fmt::format("There are {} parts or {} GiB here already; close one of them first.",
                       kMostParts, kMostBytes >> 30U);
}

std::shared_ptr<PartJob> Workbench::add(PartFile file) {
    const PartFile copy = file;
    auto part = std::make_shared<PartJob>(
        std::move(file),
        [this, copy](const program::JobValues& values) { return read(copy, values); }, turnstile_,
        [this](const nlohmann::json& state) { tell("part", state); });
    const std::lock_guard lock(parts_mutex_);
    parts_.push_back(part);
    return part;
}

std::shared_ptr<PartJob> Workbench::find(const std::string& id) const {
    const std::lock_guard lock(parts_mutex_);
    const auto at = std::find_if(parts_.begin(), parts_.end(),
                                 [&](const auto& part) { return part->file().id == id; });
    return at == parts_.end() ? nullptr : *at;
}

std::vector<std::shared_ptr<PartJob>> Workbench::all() const {
    const std::lock_guard lock(parts_mutex_);
    return parts_;
}

bool Workbench::forget(const std::string& id) {
    const std::vector<std::shared_ptr<PartJob>> parts = all();
    for (const auto& other : parts) {
        const program::JobValues values = other->values();
        const auto also = values.find("also");
        if (also != values.end() &&
            std::any_of(also->second.begin(), also->second.end(),
                        [&](const std::string& text) { return id_and_unit(text).first == id; })) {
            return false;
        }
    }
    std::shared_ptr<PartJob> gone;
    {
        const std::lock_guard lock(parts_mutex_);
        // Those that have ended meanwhile are let go; their threads are joined at once.
        if (std::erase_if(leaving_, [](const auto& part) { return part->ended(); }) > 0) {
            ::malloc_trim(0);  // as in PartJob::work: plans are large
        }
        const auto at = std::find_if(parts_.begin(), parts_.end(),
                                     [&](const auto& part) { return part->file().id == id; });
        if (at == parts_.end()) {
            return true;
        }
        gone = *at;
        parts_.erase(at);
        leaving_.push_back(gone);
    }
    gone->end();
    std::error_code ignored;
    std::filesystem::remove_all(gone->file().path.parent_path(), ignored);
    tell("gone", {{"id", id}});
    return true;
}

bool Workbench::end(std::chrono::milliseconds within) {
    std::vector<std::shared_ptr<PartJob>> parts = all();
    {
        const std::lock_guard lock(parts_mutex_);
        parts.insert(parts.end(), leaving_.begin(), leaving_.end());
    }
    for (const auto& part : parts) {
        part->end();
    }
    const auto until = std::chrono::steady_clock::now() + within;
    const auto ended = [&] {
        return std::all_of(parts.begin(), parts.end(),
                           [](const auto& part) { return part->ended(); });
    };
    while (!ended() && std::chrono::steady_clock::now() < until) {
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    return ended();
}

// ---- options ------------------------------------------------------------------------------------

program::Options Workbench::read_tally(program::JobValues values,
                                       const std::string& command) const {
    for (const std::string& card : values["foam"]) {
        refuse_path("foam", card);
    }
    std::erase_if(values, [](const auto& one) { return one.second.empty(); });
    if (!tally_.empty()) {
        values["db"] = {tally_};
    }
    return program::read_values(values, {}, command);
}

program::Options Workbench::read(const PartFile& part, const program::JobValues& values,
                                 const std::string& command) const {
    program::JobValues typed = values;
    std::vector<std::string> names;
    for (auto& [option, texts] : typed) {
        for (std::string& text : texts) {
            if (option == "foam" || option == "rubber-card") {
                refuse_path(option, text);
            } else if (option == "also") {
                const auto [id, unit] = id_and_unit(text);
                const std::shared_ptr<PartJob> other = find(id);
                if (!other || id == part.id) {
                    throw InvalidInput(
                        "The other part that is poured from the same cup is not here; drop its "
                        "file first.");
                }
                text = other->file().path.string() + unit;
                names.push_back(other->file().name);
            }
        }
    }
    typed["part"] = {part.path.string()};
    if ((typed.count("from-tally") > 0 || command != "plan") && !tally_.empty()) {
        typed["db"] = {tally_};
    }
    program::Options options = program::read_values(typed, {}, command);
    options.plan.part.name = part.name;
    for (std::size_t i = 0; i < options.plan.foam.also.size(); ++i) {
        options.plan.foam.also[i].name = names[i];
    }
    options.threads = threads_;
    return options;
}

program::JobValues Workbench::with_names(program::JobValues values) const {
    if (const auto also = values.find("also"); also != values.end()) {
        for (std::string& text : also->second) {
            const auto [id, unit] = id_and_unit(text);
            if (const std::shared_ptr<PartJob> other = find(id)) {
                text = other->file().name + unit;
            }
        }
    }
    if (values.count("from-tally") > 0 && !tally_.empty()) {
        values["db"] = {tally_};
    }
    return values;
}

// ---- listeners ----------------------------------------------------------------------------------

void Workbench::tell(const char* event, const nlohmann::json& data) {
    const auto text = std::make_shared<const std::string>(event_text(event, data));
    const std::lock_guard lock(listeners_mutex_);
    for (const auto& [number, push] : listeners_) {
        push(text);
    }
}

std::function<void()> Workbench::subscribe(const Push& push) {
    std::uint64_t number = 0;
    {
        const std::lock_guard lock(listeners_mutex_);
        number = next_listener_++;
        listeners_[number] = push;
    }
    // Changes may overtake these; a state tells its serial number.
    for (const auto& part : all()) {
        push(std::make_shared<const std::string>(event_text("part", part->state())));
    }
    push(std::make_shared<const std::string>("event: ready\ndata: {}\n\n"));
    return [this, number] {
        const std::lock_guard lock(listeners_mutex_);
        listeners_.erase(number);
    };
}

}  // namespace cavigram::serve
