// SPDX-License-Identifier: GPL-3.0-or-later
#include "fault_words.h"

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <new>
#include <string_view>
#include <system_error>

#include <fmt/core.h>

namespace cavigram::program {

namespace {

bool is_shortage(int error) {
    return error == EAGAIN || error == ENOMEM || error == EMFILE || error == ENFILE;
}

// TBB tells of a thread that it could not make by a runtime_error that ends with the system's
// words.
int shortage_told(std::string_view text) {
    for (const int error : {EAGAIN, ENOMEM}) {
        if (text.ends_with(std::strerror(error))) {
            return error;
        }
    }
    return 0;
}

std::string shortage(const std::string& cause) {
    return fmt::format(
        "The system gives no more threads, memory or file handles ({}); close other programs and "
        "try again.",
        cause);
}

}  // namespace

FaultWords fault_words(const std::exception& error) {
    if (dynamic_cast<const std::bad_alloc*>(&error) != nullptr) {
        return {
            "There is not enough memory for this part; close other programs or use a coarser "
            "mesh.",
            true};
    }
    if (const auto* const file = dynamic_cast<const std::filesystem::filesystem_error*>(&error)) {
        return {fmt::format("Can't use {}: {}; check its permissions and the disk.",
                            file->path1().string(), file->code().message()),
                true};
    }
    if (const auto* const system = dynamic_cast<const std::system_error*>(&error);
        system != nullptr && is_shortage(system->code().value())) {
        return {shortage(system->code().message()), true};
    }
    if (const int told = shortage_told(error.what()); told != 0) {
        return {shortage(std::strerror(told)), true};
    }
    return {
        std::string("An internal error, which should be reported with the file: ") + error.what(),
        false};
}

}  // namespace cavigram::program
