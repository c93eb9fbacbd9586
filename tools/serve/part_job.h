// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <stop_token>
#include <string>
#include <thread>
#include <vector>

#include <nlohmann/json.hpp>

#include "cavigram/plan/plan.h"
#include "cavigram/plan/session.h"

#include "job.h"
#include "options.h"

namespace cavigram::serve {

/// Lets so many jobs compute at once; the others wait their turn.
class Turnstile {
  public:
    explicit Turnstile(int most) : free_(most) {}
    /// Waits for a turn. False: the stop came first.
    [[nodiscard]] bool enter(const std::stop_token& stop);
    void leave();

  private:
    std::mutex mutex_;
    std::condition_variable_any changed_;
    int free_;
};

/// Of a part, what stays.
struct PartFile {
    std::string id;              ///< Random.
    std::string name;            ///< As the person knows the file; never a path.
    std::filesystem::path path;  ///< Where its bytes lie.
    std::uint64_t bytes = 0;
};

/// A plan with the stages that one step of a job has made.
struct StageResult {
    std::uint64_t version = 0;  ///< Of the options.
    std::shared_ptr<const Plan> plan;
    program::JobValues values;              ///< The options that it was made with.
    UnitSystem first = UnitSystem::metric;  ///< Whose units come first.
};

/// A sentence in which files are told by their names: where they lie is nobody's business.
[[nodiscard]] std::string told_by_names(std::string text, const PlanRequest& request);

/// One part, its options, and the work on it: one thread, which computes the steps (part, grams,
/// plan) in turn, and begins again when an option changes. All members may be called from any
/// thread, and none waits for the work.
class PartJob {
  public:
    /// Turns texts of options into the program's; \throw InvalidInput, UnusableInput
    using Read = std::function<program::Options(const program::JobValues&)>;

    /// `changed` is told the state whenever it changes.
    PartJob(PartFile file, Read read, Turnstile& turnstile,
            std::function<void(const nlohmann::json&)> changed);
    /// Stops the work and waits for its end.
    ~PartJob();
    PartJob(const PartJob&) = delete;
    PartJob& operator=(const PartJob&) = delete;

    [[nodiscard]] const PartFile& file() const { return file_; }
    [[nodiscard]] nlohmann::json state() const;
    [[nodiscard]] program::JobValues values() const;

    /// Sets options, or removes those without a text, and begins again. Nothing changes where one
    /// is refused. \throw InvalidInput, UnusableInput
    void change(const std::map<std::string, std::vector<std::string>>& changes);
    /// Stops what is computed; what is there stays.
    void stop();
    /// Begins again what was stopped or has failed. A part of an unlikely size is stopped once its
    /// size is known, so that a wrong unit does not cost minutes; this says that it is right.
    void again();
    /// Asks the work to end for good, without waiting for it.
    void end();
    /// Whether the work has ended after `end`.
    [[nodiscard]] bool ended() const;

    /// The result of a step, for the options as they are now; empty: it is not there yet.
    [[nodiscard]] std::optional<StageResult> result(const std::string& step) const;

    /// The air while a person turns the part: with these options in the place of those that are
    /// set, a way up among them. Empty: the plan is not there yet, or something is computed of the
    /// part. Computed by the caller, and cut short by a change. \throw InvalidInput, UnusableInput
    [[nodiscard]] std::optional<TurnedAir> air(const program::JobValues& instead);

  private:
    enum class Mode { working, stopped, failed, done };

    void work(const std::stop_token& ending);
    void compute(const program::Options& options, const program::JobValues& values,
                 std::uint64_t version, const std::stop_token& stop);
    [[nodiscard]] bool asks_for_size(const Plan& plan, std::uint64_t version);
    void progressed(std::string_view phase, double share);
    void fail(std::uint64_t version, const std::string& sentence);
    [[nodiscard]] nlohmann::json state_locked() const;
    void tell_locked();

    const PartFile file_;
    const Read read_;
    Turnstile& turnstile_;
    const std::function<void(const nlohmann::json&)> changed_;
    std::mutex turning_mutex_;  // questions for air wait for each other,
    std::mutex session_mutex_;  // and for no plan. Both taken before mutex_, never after it
    Session session_;           // what was computed of the part

    mutable std::mutex mutex_;
    std::condition_variable_any wake_;
    program::JobValues values_;
    std::uint64_t version_ = 1;  // of the options
    std::uint64_t serial_ = 0;   // of the state
    Mode mode_ = Mode::working;
    bool computing_ = false;
    bool size_asked_ = false;     // since it is unlikely
    bool size_is_right_ = false;  // so the person said
    std::atomic<bool> ended_{false};
    std::string error_;
    std::string step_;  // that is being computed
    std::string phase_;
    double share_ = 0.0;
    std::chrono::steady_clock::time_point told_{};
    std::map<std::string, StageResult> results_;
    std::stop_source stop_;
    std::jthread thread_;
};

}  // namespace cavigram::serve
