// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string_view>

#include "http.h"

namespace cavigram::serve {

/// A request's body as it arrives, held to the limits of what wants it. Where it refuses, what was
/// taken is let go, and nothing more may come.
class Intake {
  public:
    Intake() = default;
    explicit Intake(Upload upload) : upload_(std::move(upload)) {}

    /// The head says that so many bytes will come. Gives the refusal if they are too many.
    [[nodiscard]] std::optional<Response> expect(std::uint64_t bytes);
    /// Takes a piece. Gives the refusal if it is one too many or can't be kept.
    [[nodiscard]] std::optional<Response> take(std::string_view piece);
    /// The whole body was taken; what it is answered with.
    [[nodiscard]] Reply end();
    /// The rest will not come.
    void drop() { upload_ = {}; }
    [[nodiscard]] std::chrono::seconds within() const { return upload_.within; }

  private:
    [[nodiscard]] Response too_much();

    Upload upload_;
    std::uint64_t taken_ = 0;
};

}  // namespace cavigram::serve
