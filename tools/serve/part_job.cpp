// SPDX-License-Identifier: GPL-3.0-or-later
#include "part_job.h"

#include <algorithm>
#include <utility>

#include <malloc.h>

#include "cavigram/core/error.h"

#include "call_words.h"
#include "fault_words.h"
#include "plan_files.h"

namespace cavigram::serve {

namespace {

// A part that takes longer was never meant for a page.
constexpr std::chrono::minutes kLongest{30};
// Eyes need no more.
constexpr std::chrono::milliseconds kBetweenSigns{100};

// The steps in order; each holds what those before it do.
struct Step {
    const char* name;
    Stages stages;
};

constexpr Step kSteps[] = {{"part", {}}, {"grams", {.foam = true}}, {"plan", kWholePlan}};

// Sets options, or takes away those without a text.
void replace(program::JobValues& values, const program::JobValues& changes) {
    for (const auto& [name, texts] : changes) {
        if (texts.empty()) {
            values.erase(name);
        } else {
            values[name] = texts;
        }
    }
}

}  // namespace

std::string told_by_names(std::string text, const PlanRequest& request) {
    const auto rename = [&](const std::string& path, const std::string& name) {
        std::size_t at = path.empty() ? std::string::npos : text.find(path);
        while (at != std::string::npos) {
            text.replace(at, path.size(), name);
            at = text.find(path, at + name.size());
        }
    };
    rename(request.part.file.string(), request.part.name);
    for (const AlsoPart& other : request.foam.also) {
        rename(other.file.string(), other.name);
    }
    return text;
}

bool Turnstile::enter(const std::stop_token& stop) {
    std::unique_lock lock(mutex_);
    if (!changed_.wait(lock, stop, [this] { return free_ > 0; })) {
        return false;
    }
    --free_;
    return true;
}

void Turnstile::leave() {
    {
        const std::lock_guard lock(mutex_);
        ++free_;
    }
    changed_.notify_all();
}

PartJob::PartJob(PartFile file, Read read, Turnstile& turnstile,
                 std::function<void(const nlohmann::json&)> changed)
    : file_(std::move(file)),
      read_(std::move(read)),
      turnstile_(turnstile),
      changed_(std::move(changed)) {
    thread_ = std::jthread([this](const std::stop_token& ending) { work(ending); });
}

PartJob::~PartJob() {
    end();
}

// ---- what is asked of it ------------------------------------------------------------------------

void PartJob::change(const std::map<std::string, std::vector<std::string>>& changes) {
    const std::lock_guard lock(mutex_);
    program::JobValues values = values_;
    replace(values, changes);
    if (values == values_) {
        return;
    }
    static_cast<void>(read_(values));
    values_ = std::move(values);
    if (changes.count("units") + changes.count("longest") + changes.count("scale") > 0) {
        size_asked_ = false;
        size_is_right_ = false;
    }
    ++version_;
    mode_ = Mode::working;
    error_.clear();
    stop_.request_stop();
    wake_.notify_all();
    tell_locked();
}

void PartJob::stop() {
    const std::lock_guard lock(mutex_);
    if (mode_ == Mode::working) {
        mode_ = Mode::stopped;
        stop_.request_stop();
        tell_locked();
    }
}

void PartJob::again() {
    const std::lock_guard lock(mutex_);
    if (mode_ == Mode::stopped || mode_ == Mode::failed) {
        size_is_right_ = size_is_right_ || size_asked_;
        mode_ = Mode::working;
        error_.clear();
        wake_.notify_all();
        tell_locked();
    }
}

void PartJob::end() {
    thread_.request_stop();
    const std::lock_guard lock(mutex_);
    stop_.request_stop();
}

bool PartJob::ended() const {
    return ended_;  // without the lock, which a change may hold while it looks for other parts
}

// ---- the work -----------------------------------------------------------------------------------

void PartJob::work(const std::stop_token& ending) {
    std::unique_lock lock(mutex_);
    while (wake_.wait(lock, ending, [this] { return mode_ == Mode::working; })) {
        stop_ = std::stop_source();
        if (ending.stop_requested()) {  // `end` may have stopped the source before this one
            break;
        }
        const std::stop_token stop = stop_.get_token();
        const std::uint64_t version = version_;
        const program::JobValues values = values_;
        tell_locked();
        lock.unlock();
        if (turnstile_.enter(stop)) {
            program::Options options;
            try {
                options = read_(values);
                compute(options, values, version, stop);
            } catch (const Cancelled&) {  // by a change, the person or the end
            } catch (const Error& error) {
                fail(version, told_by_names(rendered(error.told()), options.plan));
            } catch (const std::exception& error) {
                fail(version, program::fault_words(error).sentence);
            }
            turnstile_.leave();
            // Each part has a thread of its own, and the allocator keeps what a thread let go of
            // for that thread: after a day of parts that is most of the memory (serve.soak).
            ::malloc_trim(0);
        }
        lock.lock();
        computing_ = false;
        if (version == version_ && mode_ == Mode::working && !stop.stop_requested()) {
            mode_ = Mode::done;
        }
        tell_locked();
    }
    ended_ = true;
}

void PartJob::compute(const program::Options& options, const program::JobValues& values,
                      std::uint64_t version, const std::stop_token& stop) {
    const auto start = std::chrono::steady_clock::now();
    bool too_long = false;
    RunContext context;
    context.threads = options.threads;
    context.stop = stop;
    context.progress = [&](std::string_view phase, double share) {
        too_long = std::chrono::steady_clock::now() - start > kLongest;
        if (too_long) {
            throw Cancelled();
        }
        progressed(phase, share);
    };
    for (const Step& step : kSteps) {
        {
            const std::lock_guard lock(mutex_);
            step_ = step.name;
            computing_ = true;
        }
        try {
            const auto plan = [&] {
                const std::lock_guard lock(session_mutex_);
                return std::make_shared<const Plan>(
                    session_.plan(options.plan, step.stages, context));
            }();
            {
                const std::lock_guard lock(mutex_);
                results_[step.name] = {version, plan, values, options.style.first};
                tell_locked();
            }
            if (asks_for_size(*plan, version)) {
                return;
            }
        } catch (const Cancelled&) {
            if (too_long) {
                fail(version, "This took more than 30 minutes; use a coarser mesh.");
            }
            throw;
        }
    }
}

bool PartJob::asks_for_size(const Plan& plan, std::uint64_t version) {
    const auto unlikely =
        std::find_if(plan.findings.begin(), plan.findings.end(),
                     [](const Finding& finding) { return finding.code == "size_unlikely"; });
    const std::lock_guard lock(mutex_);
    if (unlikely == plan.findings.end() || size_is_right_ || version != version_ ||
        mode_ != Mode::working) {
        return false;
    }
    size_asked_ = true;
    mode_ = Mode::stopped;
    error_ = rendered(unlikely->text) + " Say what its numbers are in, or go on if it is right.";
    return true;
}

void PartJob::progressed(std::string_view phase, double share) {
    const std::lock_guard lock(mutex_);
    const auto now = std::chrono::steady_clock::now();
    const bool next = phase_ != phase;
    phase_ = phase;
    share_ = share;
    if (next || now - told_ > kBetweenSigns) {
        tell_locked();
    }
}

void PartJob::fail(std::uint64_t version, const std::string& sentence) {
    const std::lock_guard lock(mutex_);
    if (version == version_ && mode_ == Mode::working) {
        mode_ = Mode::failed;
        error_ = sentence;
    }
}

// ---- what is told -------------------------------------------------------------------------------

program::JobValues PartJob::values() const {
    const std::lock_guard lock(mutex_);
    return values_;
}

std::optional<StageResult> PartJob::result(const std::string& step) const {
    const std::lock_guard lock(mutex_);
    const auto at = results_.find(step);
    return at == results_.end() || at->second.version != version_ ? std::nullopt
                                                                  : std::optional(at->second);
}

std::optional<TurnedAir> PartJob::air(const program::JobValues& instead) {
    const std::lock_guard turning(turning_mutex_);
    const std::unique_lock session(session_mutex_, std::try_to_lock);
    if (!session) {
        return std::nullopt;
    }
    program::JobValues values;
    RunContext context;
    {
        const std::lock_guard lock(mutex_);
        const auto plan = results_.find("plan");
        if (plan == results_.end() || plan->second.version != version_) {
            return std::nullopt;
        }
        values = values_;
        context.stop = stop_.get_token();
    }
    replace(values, instead);
    const program::Options options = read_(values);
    context.threads = options.threads;
    try {
        return session_.air(options.plan, options.plan.air.up, context);
    } catch (const Cancelled&) {
        return std::nullopt;
    }
}

nlohmann::json PartJob::state() const {
    const std::lock_guard lock(mutex_);
    return state_locked();
}

nlohmann::json PartJob::state_locked() const {
    static constexpr const char* kModes[] = {"working", "stopped", "failed", "done"};
    nlohmann::json steps_json = nlohmann::json::array();
    for (const Step& step : kSteps) {
        const auto at = results_.find(step.name);
        const bool there = at != results_.end();
        const bool done = there && at->second.version == version_;
        const bool running = !done && computing_ && mode_ == Mode::working && step_ == step.name;
        steps_json.push_back({{"name", step.name},
                              {"state", done      ? "done"
                                        : running ? "running"
                                                  : "waiting"},
                              {"version", there ? at->second.version : 0}});
    }
    return {{"id", file_.id},
            {"name", file_.name},
            {"bytes", file_.bytes},
            {"serial", serial_},
            {"version", version_},
            {"mode", kModes[static_cast<int>(mode_)]},
            {"error", error_},
            {"options", values_},
            {"steps", steps_json},
            {"phase", computing_ ? phase_ : ""},
            {"share", computing_ ? share_ : 0.0},
            {"waits", mode_ == Mode::working && !computing_}};
}

void PartJob::tell_locked() {
    ++serial_;
    told_ = std::chrono::steady_clock::now();
    changed_(state_locked());
}

}  // namespace cavigram::serve
