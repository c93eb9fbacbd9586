// SPDX-License-Identifier: GPL-3.0-or-later
#include "scan_child.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstring>
#include <fcntl.h>
#include <fstream>
#include <iterator>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"

#include "fault_words.h"
#include "option_table.h"
#include "plan_files.h"

namespace cavigram::program {

namespace fs = std::filesystem;

namespace {

constexpr const char* kRow = "scan.json";
constexpr int kNoProgram = 127;

ScanRow failed(const std::string& sentence, bool again) {
    ScanRow row;
    row.sentence = sentence;
    row.again = again;
    return row;
}

// The plan into the folder; its row.
ScanRow planned(const Options& options, const RunContext& context) {
    const Plan plan = make_plan(options.plan, kWholePlan, context);
    for (const auto& [name, bytes] : plan_files(plan, options.style.first, context)) {
        write_file(options.out / name, bytes);
    }
    return scan_row(plan);
}

// What was written before something went wrong belongs to no plan.
void empty(const fs::path& folder) {
    for (const auto& entry : fs::directory_iterator(folder)) {
        fs::remove_all(entry.path());
    }
}

ScanRow row_of(const Options& options, const RunContext& context) {
    try {
        return planned(options, context);
    } catch (const Cancelled&) {
        throw;
    } catch (const WriteError&) {
        throw;  // the next scan would meet it too
    } catch (const NumericalFailure& error) {
        return failed(error.told(), true);
    } catch (const Error& error) {
        return failed(error.told(), false);
    } catch (const std::exception& error) {
        return failed(fault_words(error).sentence, true);
    }
}

}  // namespace

int plan_one_scan(const Options& options, const RunContext& context) {
    const ScanRow row = row_of(options, context);
    if (row.end == ScanEnd::failed) {
        empty(options.out);
    }
    write_file(options.out / kRow, scan_row_json(row));
    return 0;
}

std::vector<std::string> plan_words(const Options& options) {
    static constexpr std::array kNot = {"part",  "job",     "json",     "out",   "table",
                                        "quiet", "threads", "progress", "detail"};
    std::vector<std::string> words;
    for (const OptionRow& row : option_rows()) {
        const auto given = options.values.find(row.name);
        const bool left_out =
            std::find(kNot.begin(), kNot.end(), std::string(row.name)) != kNot.end() ||
            (std::string(row.name) == "db" && !options.from_tally);
        if (given == options.values.end() || left_out) {
            continue;
        }
        const std::string name = "--" + std::string(row.name);
        for (const std::string& text : given->second) {
            words.push_back(row.value.flag ? name : fmt::format("{}={}", name, text));
        }
    }
    return words;
}

// ---- the child process --------------------------------------------------------------------------

namespace {

std::vector<std::string> call_of(const fs::path& scan, const fs::path& folder,
                                 const Options& options) {
    std::vector<std::string> call = {"cavigram", kOneScan, "plan"};
    for (std::string& word : plan_words(options)) {
        call.push_back(std::move(word));
    }
    call.push_back(fmt::format("--threads={}", options.threads));
    call.emplace_back("--progress=off");
    call.push_back("--out=" + folder.string());
    // A name that begins with a dash is no option.
    call.push_back(scan.string().starts_with('-') ? "./" + scan.string() : scan.string());
    return call;
}

[[noreturn]] void run_child(std::vector<char*>& call, int errors, pid_t parent) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (::getppid() != parent) {
        ::_exit(kNoProgram);  // it ended before the line above
    }
    const int nowhere = ::open("/dev/null", O_RDWR | O_CLOEXEC);
    ::dup2(nowhere, STDIN_FILENO);
    ::dup2(nowhere, STDOUT_FILENO);
    ::dup2(errors, STDERR_FILENO);
    sigset_t none;
    sigemptyset(&none);
    ::sigprocmask(SIG_SETMASK, &none, nullptr);
    // When the machine runs out of memory, this process is the one to end. Whether the kernel
    // listens changes nothing here.
    if (const int score = ::open("/proc/self/oom_score_adj", O_WRONLY | O_CLOEXEC); score >= 0) {
        static_cast<void>(::write(score, "1000", 4) + 1);
        ::close(score);
    }
    ::execv("/proc/self/exe", call.data());
    ::_exit(kNoProgram);
}

// Waits for the child; kills it if a stop comes first.
int status_of(pid_t child, const std::stop_token& stop) {
    int status = 0;
    while (true) {
        const pid_t ended = ::waitpid(child, &status, WNOHANG);
        if (ended == child) {
            return status;
        }
        if (ended < 0 && errno != EINTR) {
            throw WriteError(
                fmt::format("Can't wait for the process that plans a scan: {}; try "
                            "again.",
                            std::strerror(errno)));
        }
        if (stop.stop_requested()) {
            ::kill(child, SIGKILL);
            while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
            }
            throw Cancelled();
        }
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
}

// The last sentence that the child said.
std::string last_words(int errors) {
    std::string text(4096, '\0');
    const off_t end = ::lseek(errors, 0, SEEK_END);
    const off_t from = std::max<off_t>(0, end - static_cast<off_t>(text.size()));
    const ssize_t count = ::pread(errors, text.data(), text.size(), from);
    text.resize(count > 0 ? static_cast<std::size_t>(count) : 0);
    while (!text.empty() && text.back() == '\n') {
        text.pop_back();
    }
    text = text.substr(text.rfind('\n') == std::string::npos ? 0 : text.rfind('\n') + 1);
    const std::string name = "cavigram: ";
    return text.starts_with(name) ? text.substr(name.size()) : text;
}

constexpr int kStopped = 130;

ScanRow stopped_from_outside() {
    return failed(
        "It was stopped from outside while this scan was planned; run the same call again.", true);
}

ScanRow row_of_signal(int signal) {
    switch (signal) {
        case SIGKILL:
            return failed(
                "It was killed while this scan was planned, most likely because the "
                "machine ran out of memory; close other programs or use a coarser mesh, "
                "and run the same call again.",
                true);
        case SIGHUP:
        case SIGINT:
        case SIGTERM:
            return stopped_from_outside();
        default:
            return failed(fmt::format("The program crashed on this scan (signal {}), which should "
                                      "be reported with the file.",
                                      signal),
                          true);
    }
}

class ErrorFile {
  public:
    ErrorFile() : file_(::memfd_create("cavigram_errors", MFD_CLOEXEC)) {
        if (file_ < 0) {
            throw WriteError(
                fmt::format("Can't get memory for planning a scan: {}; close other "
                            "programs and try again.",
                            std::strerror(errno)));
        }
    }
    ErrorFile(const ErrorFile&) = delete;
    ErrorFile& operator=(const ErrorFile&) = delete;
    ~ErrorFile() { ::close(file_); }
    [[nodiscard]] int get() const { return file_; }

  private:
    int file_;
};

ScanRow written_row(const fs::path& folder) {
    std::ifstream file(folder / kRow, std::ios::binary);
    return parse_scan_row(std::string{std::istreambuf_iterator<char>(file), {}});
}

}  // namespace

ScanRow plan_in_child(const fs::path& scan, const fs::path& folder, const Options& options,
                      const std::stop_token& stop) {
    std::vector<std::string> words = call_of(scan, folder, options);
    std::vector<char*> call;
    call.reserve(words.size() + 1);
    for (std::string& word : words) {
        call.push_back(word.data());
    }
    call.push_back(nullptr);
    const ErrorFile errors;
    const pid_t parent = ::getpid();
    const pid_t child = ::fork();
    if (child == 0) {
        run_child(call, errors.get(), parent);
    }
    if (child < 0) {
        throw WriteError(
            fmt::format("Can't start the process that plans a scan: {}; close other "
                        "programs and try again.",
                        std::strerror(errno)));
    }
    const int status = status_of(child, stop);
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0) {
        return written_row(folder);
    }
    // What it left behind is half a plan.
    empty(folder);
    if (WIFSIGNALED(status)) {
        return row_of_signal(WTERMSIG(status));
    }
    const std::string sentence = last_words(errors.get());
    switch (WEXITSTATUS(status)) {
        case 2:
            throw InvalidInput(sentence);
        case 3:
            throw WriteError(sentence);
        case kStopped:
            return stopped_from_outside();
        case kNoProgram:
            throw WriteError(
                "Can't start the process that plans a scan; is the program still "
                "where it was?");
        default:
            return failed(sentence.empty()
                              ? fmt::format("The program ended with status {} on this scan.",
                                            WEXITSTATUS(status))
                              : sentence,
                          true);
    }
}

}  // namespace cavigram::program
