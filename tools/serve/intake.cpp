// SPDX-License-Identifier: GPL-3.0-or-later
#include "intake.h"

#include <exception>
#include <utility>

#include <fmt/core.h>

namespace cavigram::serve {

Response Intake::too_much() {
    const std::uint64_t most = upload_.most_bytes;
    drop();
    return sentence(413, fmt::format("That is more than {} bytes.", most));
}

std::optional<Response> Intake::expect(std::uint64_t bytes) {
    return bytes > upload_.most_bytes ? std::optional(too_much()) : std::nullopt;
}

std::optional<Response> Intake::take(std::string_view piece) {
    taken_ += piece.size();
    if (taken_ > upload_.most_bytes) {
        return too_much();
    }
    try {
        upload_.sink->take(piece);
    } catch (const std::exception& failure) {
        drop();
        return sentence(507, failure.what());
    }
    return std::nullopt;
}

Reply Intake::end() {
    return std::exchange(upload_, {}).sink->end();
}

}  // namespace cavigram::serve
