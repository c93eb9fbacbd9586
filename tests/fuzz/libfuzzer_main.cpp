// SPDX-License-Identifier: GPL-3.0-or-later
#include <cstdio>
#include <cstdlib>

#include "targets.h"

// What libFuzzer calls, for the one target that the build names.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    // In a buffer of its own, so that what the input held is told apart from what lies beside it.
    try {
        return fuzz::FUZZ_TARGET({reinterpret_cast<const std::byte*>(data), size});
    } catch (const std::exception& error) {
        std::fprintf(stderr, "broken: %s\n", error.what());
        std::abort();
    }
}
