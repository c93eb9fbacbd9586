// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <string>

#include "cavigram/core/run_context.h"

namespace cavigram {

/// Bytes that nobody else can change or cut: of an anonymous memory file, mapped read-only and
/// sealed, or a copy of it.
class SealedBytes {
  public:
    SealedBytes() = default;
    SealedBytes(const void* start, std::size_t count) : start_(start), count_(count) {}
    SealedBytes(SealedBytes&& other) noexcept;
    SealedBytes& operator=(SealedBytes&& other) noexcept;
    SealedBytes(const SealedBytes&) = delete;
    SealedBytes& operator=(const SealedBytes&) = delete;
    ~SealedBytes();

    [[nodiscard]] std::span<const std::byte> bytes() const {
        return {static_cast<const std::byte*>(start_), count_};
    }

  private:
    const void* start_ = nullptr;
    std::size_t count_ = 0;
};

/// How a guarded child ended.
enum class ChildEnd { answered, crashed, out_of_time, out_of_memory };

struct ChildAnswer {
    ChildEnd end = ChildEnd::crashed;
    SealedBytes answer;  ///< What the child wrote; only if it answered. Not to be trusted.
    std::string how;     ///< "signal 11", "exit status 98": for who mends the reader.
};

struct ChildLimits {
    std::uint64_t memory_bytes =
        0;  ///< On top of what the parent has mapped at the fork; also the longest answer.
    double time_s = 0.0;  ///< Of wall clock and of processor time.
};

/// Runs `work` in a forked child that can hurt nobody, and waits for it.
///
/// The child has the limits, no core file, no output, dies with its parent and leaves by _exit. It
/// hands back what `work` writes to the file descriptor that it is given. `work` must start no
/// threads and wait for none: only the forking thread lives on in the child.
///
/// \throw UnusableInput if the system gives no process or no memory file.
/// \throw Cancelled within about 0.02 s of a stop; the child is killed.
[[nodiscard]] ChildAnswer run_in_child(const std::function<void(int answer)>& work,
                                       const ChildLimits& limits, const RunContext& context);

/// Writes all of `bytes` to a file descriptor.
///
/// \throw std::runtime_error if it can't
void write_all(int file, std::span<const std::byte> bytes);

}  // namespace cavigram
