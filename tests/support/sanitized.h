// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdlib>

/// Whether a long list of cases is gone through as a whole. Under a sanitizer, which takes ten to
/// fifty times as long, and where lines are counted (tests/coverage.sh), a share of it is: each
/// line of code once more, and not each case. With CAVIGRAM_TEST_WHOLE in the environment
/// (tests/run_sanitized.sh --all) it is whole there, too.
inline bool goes_through_all() {
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__) || defined(CAVIGRAM_COVERAGE)
    return std::getenv("CAVIGRAM_TEST_WHOLE") != nullptr;
#else
    return true;
#endif
}
