// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <random>
#include <string>
#include <vector>

namespace fuzz {

/// Damage, for where libFuzzer is not: one of the seeds with one to four changes. Bits flipped,
/// bytes replaced, cut, pieces doubled, taken out or brought in from another seed, written numbers
/// replaced, lines repeated or swapped, words put in. The generator's numbers alone decide.
[[nodiscard]] std::string mutated(const std::vector<std::string>& seeds,
                                  const std::vector<std::string>& words, std::mt19937& random);

}  // namespace fuzz
