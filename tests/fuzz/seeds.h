// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "fuzz.h"

namespace fuzz {

/// One target with what its mutations start from.
struct Target {
    const char* name;
    int (*run)(Bytes bytes);
    /// Inputs that are right, or nearly.
    std::vector<std::string> (*seeds)();
    /// Words that its inputs are made of; null: none serve.
    const char* words;
    /// In the CTest program: how many mutations are tried.
    int rounds;
};

/// All of them.
[[nodiscard]] const std::vector<Target>& targets();
/// The words of a target, which stand parted by line breaks.
[[nodiscard]] std::vector<std::string> words_of(const Target& target);

// What they start from, by kind.
std::vector<std::string> stl_seeds();
std::vector<std::string> obj_seeds();
std::vector<std::string> ply_seeds();
std::vector<std::string> off_seeds();
std::vector<std::string> gltf_seeds();
std::vector<std::string> threemf_seeds();
std::vector<std::string> guarded_seeds();
std::vector<std::string> sniff_seeds();
std::vector<std::string> wire_seeds();
std::vector<std::string> mend_seeds();
std::vector<std::string> arrange_seeds();
std::vector<std::string> quantity_seeds();
std::vector<std::string> foam_card_seeds();
std::vector<std::string> rubber_card_seeds();
std::vector<std::string> log_seeds();
std::vector<std::string> job_seeds();
std::vector<std::string> request_seeds();
std::vector<std::string> http_seeds();
std::vector<std::string> site_seeds();

}  // namespace fuzz
