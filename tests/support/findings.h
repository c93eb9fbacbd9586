// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <vector>

#include "cavigram/core/finding.h"

/// The first finding of a kind; none: nullptr.
inline const cavigram::Finding* finding_of(const std::vector<cavigram::Finding>& findings,
                                           cavigram::FindingCode code) {
    const auto found =
        std::find_if(findings.begin(), findings.end(),
                     [&](const cavigram::Finding& finding) { return finding.code == code; });
    return found == findings.end() ? nullptr : &*found;
}

inline bool has_finding(const std::vector<cavigram::Finding>& findings,
                        cavigram::FindingCode code) {
    return finding_of(findings, code) != nullptr;
}
