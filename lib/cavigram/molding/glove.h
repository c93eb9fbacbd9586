// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/molding/glove_slit.h"
#include "cavigram/molding/parting_loops.h"

namespace cavigram {

/// A mold of one piece that is pulled off like a glove.
struct GloveMold {
    Vec3 pull = Vec3::UnitZ();       ///< The way it comes off; its open side is the opposite one.
    Vec3 open_at_mm = Vec3::Zero();  ///< Middle of the flat side on which it is open.
    double open_mm2 = 0.0;           ///< That flat side.
    double locked_mm3 = 0.0;         ///< In which the rubber is caught.
    double stretch = 0.0;            ///< What it must stretch in one piece, a share.
    double slit_stretch = 0.0;       ///< What it must stretch once it is slit.
    std::optional<GloveSlit> slit;   ///< Where to slit it; none: it comes off easily.
    std::string open_where;          ///< The open side, by ruler; with split_mold.
    std::string slit_where;          ///< Where the slit ends, by ruler; with split_mold.
};

/// What a glove is told.
struct GloveOptions {
    double stretch_limit = 0.5;         ///< Most that the rubber may stretch, a share.
    double easy_stretch = 0.1;          ///< What stretches less needs no slit. A guess.
    int across = 96;                    ///< Columns in which locked space is measured.
    std::optional<ShowSide> show = {};  ///< The side that is seen, where a slit leaves its mark.
};

/// Whether a mold of one piece would do: open on a flat side of at least a tenth of the part as
/// seen from there, pulled off against it, along one of `ways`; as it is, or slit from its rim up
/// to where nothing holds it any more. A slit does away with what stretches around the part, not
/// with plugs behind a mouth, nor with what closes around a piece of it. What stretches no more
/// than the limit as it is goes before what must be slit, then less stretch, then a larger side.
///
/// None for several solids, and for a part with a hole through it: through it the rubber would hold
/// the part like a ring on a finger.
///
/// O(ways * (triangles + columns))
///
/// \throw Cancelled
[[nodiscard]] std::optional<GloveMold> glove_mold(const PartingSurface& surface,
                                                  const std::vector<Vec3>& ways,
                                                  const GloveOptions& options = {},
                                                  const RunContext& context = {});

}  // namespace cavigram
