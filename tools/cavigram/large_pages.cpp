// SPDX-License-Identifier: GPL-3.0-or-later
// Where the program's arrays lie: those of several megabytes in pages of 2 MiB, where the system
// has them.
//
// A search through a large part reads from all over its arrays, and with pages of 4 KiB the
// processor spends much of its time finding out where each lies (docs/decisions/010). That is for a
// program to decide, so it stands here and not in the library, which advises only where it writes
// long arrays in one go (core/large_array.h). Advice only: where it is not followed, nothing
// changes but the time. Sanitizers need their own allocation to find what is wrong with ours.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <new>
#include <sys/mman.h>

#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)

namespace {

constexpr std::size_t kLargePage = std::size_t{1} << 21;
// Less would be mostly the two ends, which lie in small pages.
constexpr std::size_t kLarge = 2 * kLargePage;

void* allocated(std::size_t bytes) noexcept {
    if (bytes < kLarge) {
        // NOLINTNEXTLINE(*-no-malloc): this is what new rests on
        return std::malloc(bytes > 0 ? bytes : 1);
    }
    void* place = nullptr;
    if (::posix_memalign(&place, kLargePage, bytes) != 0) {
        return nullptr;
    }
    // Whole pages only: what lies after the array must not come to cost 2 MiB.
    static_cast<void>(::madvise(place, bytes / kLargePage * kLargePage, MADV_HUGEPAGE));
    return place;
}

}  // namespace

void* operator new(std::size_t bytes) {
    while (true) {
        if (void* const place = allocated(bytes)) {
            return place;
        }
        const std::new_handler handler = std::get_new_handler();
        if (handler == nullptr) {
            throw std::bad_alloc();
        }
        handler();
    }
}

// What the standard library's own do; a new of ours asks for a delete of ours.
void operator delete(void* place) noexcept {
    std::free(place);  // NOLINT(*-no-malloc): the other half of `allocated`
}

void operator delete(void* place, std::size_t) noexcept {
    std::free(place);  // NOLINT(*-no-malloc): the other half of `allocated`
}

#endif
