// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <new>
#include <poll.h>
#include <stdexcept>
#include <string>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/io/guarded_child_detail.h"

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define CAVIGRAM_SANITIZED 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer) || \
    __has_feature(memory_sanitizer)
#define CAVIGRAM_SANITIZED 1
#endif
#endif

#ifdef CAVIGRAM_COVERAGE
extern "C" void __gcov_dump();  // g++'s <gcov.h> is for C alone
#endif

namespace cavigram {

namespace {

// Sanitizers map terabytes of address space that they never touch, so there a limit on it means
// nothing; and what they report of a child must be seen.
#ifdef CAVIGRAM_SANITIZED
constexpr bool kSanitized = true;
#else
constexpr bool kSanitized = false;
#endif

constexpr int kExitAnswered = 0;
constexpr int kExitOutOfMemory = 97;
constexpr int kExitFailed = 98;

using Clock = std::chrono::steady_clock;

class Descriptor {
  public:
    explicit Descriptor(int file) : file_(file) {}
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
    ~Descriptor() {
        if (file_ >= 0) {
            ::close(file_);
        }
    }
    [[nodiscard]] int get() const { return file_; }

  private:
    int file_;
};

void lower_limit(decltype(RLIMIT_AS) kind, rlim_t value) {
    rlimit limit{};
    if (::getrlimit(kind, &limit) == 0) {
        limit.rlim_max = std::min(limit.rlim_max, value);
        limit.rlim_cur = std::min(limit.rlim_cur, limit.rlim_max);
        ::setrlimit(kind, &limit);
    }
}

// Bytes of address space that this process has mapped; the child inherits its parent's.
rlim_t mapped_bytes() {
    std::array<char, 64> text{};
    const int file = ::open("/proc/self/statm", O_RDONLY | O_CLOEXEC);
    if (file < 0 || ::read(file, text.data(), text.size() - 1) <= 0) {
        return 0;
    }
    ::close(file);
    unsigned long long pages = 0;
    return std::sscanf(text.data(), "%llu", &pages) == 1
               ? static_cast<rlim_t>(pages) * static_cast<rlim_t>(::sysconf(_SC_PAGESIZE))
               : 0;
}

void silence_output() {
    const int nowhere = ::open("/dev/null", O_RDWR | O_CLOEXEC);
    for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
        if (kSanitized && stream == STDERR_FILENO) {
            continue;
        }
        if (nowhere < 0 || ::dup2(nowhere, stream) < 0) {
            ::close(stream);
        }
    }
}

// The parent's handlers make no sense here: a crash must end this process at once. Ctrl-C reaches
// the whole group; what to do about it is for the parent to say.
void reset_signals() {
    for (const int signal : {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGTRAP, SIGSYS, SIGTERM,
                             SIGXCPU, SIGXFSZ, SIGALRM, SIGPIPE, SIGCHLD, SIGHUP, SIGQUIT}) {
        ::signal(signal, SIG_DFL);
    }
    ::signal(SIGINT, SIG_IGN);
    sigset_t none;
    sigemptyset(&none);
    ::sigprocmask(SIG_SETMASK, &none, nullptr);
}

[[noreturn]] void leave(int status) {
#ifdef CAVIGRAM_COVERAGE
    __gcov_dump();  // what ran in the child counts as run, and _exit would forget it
#endif
    ::_exit(status);
}

[[noreturn]] void child_main(const std::function<void(int)>& work, int answer,
                             const ChildLimits& limits, pid_t parent) {
    reset_signals();
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (::getppid() != parent) {
        ::_exit(kExitFailed);  // The parent died before the line above.
    }
    silence_output();
    lower_limit(RLIMIT_CORE, 0);
    lower_limit(RLIMIT_FSIZE, limits.memory_bytes);
    lower_limit(RLIMIT_CPU, static_cast<rlim_t>(std::ceil(limits.time_s)) + 1);
    if (!kSanitized) {
        lower_limit(RLIMIT_AS, mapped_bytes() + limits.memory_bytes);
    }
    // Some importers swallow std::bad_alloc and call it a fault of the file; leaving here tells the
    // truth.
    std::set_new_handler([] { ::_exit(kExitOutOfMemory); });
    try {
        work(answer);
    } catch (const std::bad_alloc&) {
        leave(kExitOutOfMemory);
    } catch (...) {
        leave(kExitFailed);
    }
    leave(kExitAnswered);
}

// A child process that is killed and reaped if nobody waited for it to the end.
class Child {
  public:
    explicit Child(pid_t id)
        : id_(id), watch_(static_cast<int>(::syscall(SYS_pidfd_open, id, 0))) {}
    Child(const Child&) = delete;
    Child& operator=(const Child&) = delete;
    ~Child() {
        if (id_ > 0) {
            ::kill(id_, SIGKILL);
            int status = 0;
            while (::waitpid(id_, &status, 0) < 0 && errno == EINTR) {
            }
        }
    }

    // Waits so many milliseconds at most; true once the child has ended and `status` is set.
    bool ended_within(int milliseconds, int& status) {
        if (watch_.get() >= 0) {
            pollfd watched{.fd = watch_.get(), .events = POLLIN, .revents = 0};
            ::poll(&watched, 1, milliseconds);
        } else {
            ::usleep(2000);  // A kernel without pidfd_open.
        }
        const pid_t ended = ::waitpid(id_, &status, WNOHANG);
        if (ended == 0 || (ended < 0 && errno == EINTR)) {
            return false;
        }
        id_ = -1;
        if (ended < 0) {
            status =
                0;  // The host program ignores SIGCHLD: no status; the answer's own check decides.
        }
        return true;
    }

  private:
    pid_t id_;
    Descriptor watch_;
};

ChildEnd end_of(int status) {
    if (WIFEXITED(status)) {
        switch (WEXITSTATUS(status)) {
            case kExitAnswered:
                return ChildEnd::answered;
            case kExitOutOfMemory:
                return ChildEnd::out_of_memory;
            default:
                return ChildEnd::crashed;
        }
    }
    switch (WTERMSIG(status)) {
        case SIGXCPU:
            return ChildEnd::out_of_time;
        case SIGXFSZ:
        case SIGKILL:  // Not by us: the kernel kills so when the machine runs out of memory.
            return ChildEnd::out_of_memory;
        default:
            return ChildEnd::crashed;
    }
}

std::string words_of(int status) {
    return WIFEXITED(status) ? fmt::format("exit status {}", WEXITSTATUS(status))
                             : fmt::format("signal {}", WTERMSIG(status));
}

// Sealed where the kernel can: it refuses (EBUSY) while it holds a page of the file itself, for a
// transfer or to move it in memory. Then the bytes are copied, which nobody can change either.
SealedBytes taken(int file) {
    struct stat about {};
    if (::fstat(file, &about) != 0 || about.st_size <= 0) {
        return {};
    }
    const auto count = static_cast<std::size_t>(about.st_size);
    if (::fcntl(file, F_ADD_SEALS, F_SEAL_SHRINK | F_SEAL_GROW | F_SEAL_WRITE) == 0) {
        void* start = ::mmap(nullptr, count, PROT_READ, MAP_SHARED | MAP_POPULATE, file, 0);
        return start == MAP_FAILED ? SealedBytes() : SealedBytes(start, count);
    }
    void* start =
        ::mmap(nullptr, count, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (start == MAP_FAILED) {
        return {};
    }
    SealedBytes copy(start, count);
    std::size_t done = 0;
    while (done < count) {
        const ssize_t read = ::pread(file, static_cast<std::byte*>(start) + done, count - done,
                                     static_cast<off_t>(done));
        if (read == 0 || (read < 0 && errno != EINTR)) {
            return {};
        }
        done += read > 0 ? static_cast<std::size_t>(read) : 0;
    }
    return copy;
}

// Forks with all signals blocked, so that no handler of the parent's runs in the child.
pid_t fork_quietly(sigset_t& previous) {
    sigset_t all;
    sigfillset(&all);
    ::pthread_sigmask(SIG_SETMASK, &all, &previous);
    return ::fork();
}

}  // namespace

SealedBytes::SealedBytes(SealedBytes&& other) noexcept
    : start_(std::exchange(other.start_, nullptr)), count_(std::exchange(other.count_, 0)) {}

SealedBytes& SealedBytes::operator=(SealedBytes&& other) noexcept {
    std::swap(start_, other.start_);
    std::swap(count_, other.count_);
    return *this;
}

SealedBytes::~SealedBytes() {
    if (start_ != nullptr) {
        ::munmap(const_cast<void*>(start_), count_);
    }
}

void write_all(int file, std::span<const std::byte> bytes) {
    while (!bytes.empty()) {
        const ssize_t count = ::write(file, bytes.data(), bytes.size());
        if (count < 0 && errno != EINTR) {
            throw std::runtime_error(std::strerror(errno));
        }
        bytes = bytes.subspan(count > 0 ? static_cast<std::size_t>(count) : 0);
    }
}

ChildAnswer run_in_child(const std::function<void(int answer)>& work, const ChildLimits& limits,
                         const RunContext& context) {
    context.check_stop();
    const Descriptor file(::memfd_create("cavigram_answer", MFD_CLOEXEC | MFD_ALLOW_SEALING));
    if (file.get() < 0) {
        throw UnusableInput(fmt::format(
            "Can't get memory for reading a file: {}; close other programs and try again.",
            std::strerror(errno)));
    }
    const pid_t parent = ::getpid();
    const auto start = Clock::now();
    sigset_t previous;
    const pid_t id = fork_quietly(previous);
    if (id == 0) {
        child_main(work, file.get(), limits, parent);
    }
    const int fork_error = errno;
    ::pthread_sigmask(SIG_SETMASK, &previous, nullptr);
    if (id < 0) {
        throw UnusableInput(fmt::format(
            "Can't start the process that reads files: {}; close other programs and try again.",
            std::strerror(fork_error)));
    }
    Child child(id);
    int status = 0;
    while (!child.ended_within(20, status)) {
        context.check_stop();
        if (std::chrono::duration<double>(Clock::now() - start).count() > limits.time_s) {
            return {ChildEnd::out_of_time, {}, "out of time"};
        }
    }
    const ChildEnd end = end_of(status);
    return {end, end == ChildEnd::answered ? taken(file.get()) : SealedBytes(), words_of(status)};
}

}  // namespace cavigram
