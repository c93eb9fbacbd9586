// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/core/error.h"

/// The sentence with which a call is refused, as a user of the library reads it; `accepted` where
/// it is not.
template <class Refusal = cavigram::InvalidInput, class Call>
std::string refusal_of(const Call& call) {
    try {
        static_cast<void>(call());
    } catch (const Refusal& error) {
        return error.what();
    }
    return "accepted";
}
