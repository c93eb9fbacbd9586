// SPDX-License-Identifier: GPL-3.0-or-later
#include <optional>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/told.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/workpiece_detail.h"
#include "cavigram/repair/wrap.h"

namespace cavigram {

namespace {

// A wrap that was asked for must hold what the mended surface holds, to within its range.
void check_agreement(const Wrap& wrap, double mended_mm3) {
    if (wrap.volume_mm3 - wrap.volume_below_mm3 > mended_mm3 ||
        wrap.volume_mm3 + wrap.volume_above_mm3 < mended_mm3) {
        throw UnusableInput(
            fmt::format("The wrap holds {} and the mended surface {}, which is further apart than "
                        "its range: it "
                        "bridges or fills what is hollow; leave {} out.",
                        told(wrap.volume_mm3, Kind::volume, 4), told(mended_mm3, Kind::volume, 4),
                        setting("wrap")));
    }
}

}  // namespace

void put_wrap(Workpiece& work, const NotClosed* refusal, std::optional<double> mended_mm3) {
    if (work.options.level != MendLevel::full) {
        if (refusal != nullptr) {
            throw UnusableInput(refusal->told());
        }
        throw InvalidInput(
            fmt::format("A wrap changes the whole surface; give {} without {} off or gentle.",
                        setting("wrap"), setting("mend")));
    }
    const double solid = winding_volume_mm3(work.mesh(), work.context);
    if (refusal != nullptr && !(solid > 0.0)) {
        throw UnusableInput(refusal->told());
    }
    std::optional<Wrap> wrap = wrap_around(work.mesh(), solid, work.context);
    if (!wrap) {
        throw UnusableInput(refusal != nullptr
                                ? refusal->told()
                                : "The wrap went in through a gap of the surface and holds "
                                  "less than the part; close the gap in the mesh.");
    }
    if (mended_mm3) {
        check_agreement(*wrap, *mended_mm3);
    }
    work.put(std::move(wrap->mesh));
    work.ledger.log(RepairAction::wrap, work.mesh().triangles.size(), {},
                    {0.0, wrap->volume_below_mm3, wrap->volume_above_mm3});
    work.ledger.find(
        Severity::warning, "wrapped",
        fmt::format(
            "The surface was replaced by a wrap that bridges gaps up to {}; {} of it has no "
            "surface of the file beneath.",
            told(wrap->alpha_mm, Kind::length), told(wrap->invented_mm2, Kind::area)));
}

}  // namespace cavigram
