// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <sys/mman.h>
#include <vector>

namespace cavigram {

/// Gives an empty vector room for `count` elements, in pages of 2 MiB where the system has them.
///
/// Fresh memory comes page by page, and at 4 KiB each that takes half the time of reading and
/// welding a large file. Advice only: where it is not followed, nothing changes but the time.
///
/// O(1) before the pages are touched.
///
/// \throw std::bad_alloc
template <class T>
void reserve_large(std::vector<T>& values, std::size_t count) {
    values.reserve(count);
    constexpr std::uintptr_t kHugePage = std::uintptr_t{1} << 21;
    const auto begin = reinterpret_cast<std::uintptr_t>(values.data());
    const std::uintptr_t first = (begin + kHugePage - 1) / kHugePage * kHugePage;
    const std::uintptr_t last = (begin + count * sizeof(T)) / kHugePage * kHugePage;
    if (first < last) {
        char* const from = reinterpret_cast<char*>(values.data()) + (first - begin);
        static_cast<void>(::madvise(from, last - first, MADV_HUGEPAGE));
    }
}

/// As reserve_large, and fills it with `count` new elements, or copies of `value`.
///
/// O(n)
template <class T>
void resize_large(std::vector<T>& values, std::size_t count) {
    reserve_large(values, count);
    values.resize(count);
}
template <class T>
void resize_large(std::vector<T>& values, std::size_t count, const T& value) {
    reserve_large(values, count);
    values.resize(count, value);
}

}  // namespace cavigram
