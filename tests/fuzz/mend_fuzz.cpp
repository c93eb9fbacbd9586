// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>

#include "cavigram/repair/mend.h"

#include "small_mesh.h"
#include "targets.h"

namespace fuzz {

// The first byte holds the options.
int fuzz_mend(Bytes bytes) {
    using namespace cavigram;
    Front front(bytes);
    const unsigned bits = front.byte();
    MendOptions options;
    // A search for what a hole's other side looks like takes a tenth of a second, whatever the
    // size.
    options.level = (bits & 3U) == 0   ? MendLevel::full
                    : (bits & 3U) == 1 ? MendLevel::off
                                       : MendLevel::gentle;
    options.hollows = (bits & 4U) == 0 ? Hollows::keep : Hollows::fill;
    options.keep_scraps = (bits & 8U) != 0;
    options.crossings = (bits & 16U) == 0;
    options.survey = (bits & 32U) == 0;
    options.wrap = (bits & 0xC0U) == 0xC0U;
    const TriMesh soup = small_mesh(front);
    if (soup.triangles.empty()) {
        return 0;
    }
    result_or_refusal([&] {
        const Mended mended = mend(soup, options);
        const TriMesh& mesh = mended.part.mesh();
        require(!mesh.triangles.empty(), "a part has a surface");
        require(is_closed(mesh), "a part is closed and its faces agree");
        for (const Vec3& v : mesh.vertices) {
            require(v.allFinite(), "a part's corners are numbers");
        }
        const double volume = signed_volume(mesh);
        require(std::isfinite(volume) && volume > 0.0, "a part encloses a volume");
        require(mended.part.volume_below_mm3() >= 0.0 && mended.part.volume_above_mm3() >= 0.0 &&
                    std::isfinite(mended.part.volume_above_mm3()),
                "a range lies about its value");
    });
    return 0;
}

}  // namespace fuzz
