// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "cavigram/io/soup.h"

namespace cavigram {

/// What the reading child hands to its parent: a soup, or the sentence that says why there is none.
struct WireAnswer {
    std::optional<Soup> soup;
    std::string refusal;  ///< Only if there is no soup.
};

/// Writes a soup to a file descriptor: as float32 where that loses nothing, without indices where
/// they only count up.
void send_soup(int file, const Soup& soup);
/// Writes a refusal to a file descriptor.
void send_refusal(int file, std::string_view sentence);

/// Rebuilds what was sent, believing nothing: every size, index, coordinate and letter is checked,
/// so that the result keeps Soup's promises whatever the bytes are. Empty if anything is amiss.
/// O(bytes).
[[nodiscard]] std::optional<WireAnswer> receive(std::span<const std::byte> bytes);

}  // namespace cavigram
