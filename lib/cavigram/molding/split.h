// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/measure/place_words.h"
#include "cavigram/molding/draft.h"
#include "cavigram/molding/glove.h"
#include "cavigram/molding/locked_space.h"
#include "cavigram/molding/loose_pieces.h"
#include "cavigram/molding/parting.h"
#include "cavigram/molding/pull_search.h"
#include "cavigram/molding/release_stretch.h"
#include "cavigram/molding/small_tunnels.h"

namespace cavigram {

/// How a mold is split.
struct SplitOptions {
    std::optional<Vec3> pull = {};      ///< Any length but zero; none: searched for.
    std::optional<Vec3> up = {};        ///< As PullSearchOptions::up.
    std::optional<ShowSide> show = {};  ///< The side that is seen, where flash shows.
    /// Most that the rubber may stretch. A guess: half a soft rubber's elongation at break, or
    /// less.
    double stretch_limit = 0.5;
    double rubber_mm = 10.0;  ///< Wall of rubber that bends aside. Common practice, no source.
    double draft_deg = 3.0;   ///< As PullSearchOptions::draft_deg.
    int directions = 1000;    ///< As PullSearchOptions::directions.
    int across = 192;         ///< Columns in which locked space is measured.

    /// Field by field.
    friend bool operator==(const SplitOptions&, const SplitOptions&) = default;
};

/// A place in which rubber is caught.
struct CaughtPlace {
    LockedPocket pocket;    ///< As measured.
    PocketStretch stretch;  ///< What it takes to let go by stretching around or through,
    StretchRange bent;      ///< or by bending the rubber aside from the parting line.
    bool upper = false;     ///< Which half's rubber it is.
    std::string where;      ///< By ruler, as place_words.
};

/// A hole in which the halves meet.
struct ShutOff {
    Vec3 at_mm = Vec3::Zero();  ///< The middle of its loop.
    double area_mm2 = 0.0;      ///< As seen along the pull.
    std::string where;          ///< By ruler.
};

/// A mold of two halves: how it is pulled apart, where it is parted, and what holds it.
struct Split {
    SplitOptions request;              ///< As asked.
    std::optional<PullSearch> search;  ///< Where no pull was given.
    Parting parting;                   ///< On the full mesh.
    LockedSpace locked;                ///< For that pull.
    std::vector<CaughtPlace> places;   ///< The listed pockets, the largest first.
    double stretch = 0.0;              ///< Most that the rubber must stretch, a share.
    double stretch_coarse = 0.0;       ///< The same with half as many columns: how sure that is.
    Draft draft;                       ///< For that pull.
    std::optional<GloveMold> glove;    ///< If one piece would do.
    std::vector<ShutOff> shut_offs;    ///< Holes in which the halves meet.
    double show_share = 0.0;           ///< Of the line, on the show side.
    std::optional<LoosePieces> loose;  ///< Where two halves alone do not come off; empty of pieces
                                       ///< where none helps.
    std::vector<SmallTunnel> tunnels;  ///< Too narrow for rubber; the halves were judged as if they
                                       ///< were filled.
    std::vector<Finding> findings;     ///< What was noticed.
};

/// Splits a mold: the pull as given or searched, the parting line, locked space, stretch, draft,
/// and whether one piece of rubber would do.
///
/// The two halves are called upper and lower as seen with the pull pointing up.
///
/// O(triangles log triangles), and the cut of parting; the search on a stand-in.
///
/// \pre closed, outward oriented; `index` is of the mesh
///
/// \throw InvalidInput for an option out of range or a pull of zero
///
/// \throw Cancelled
[[nodiscard]] Split split_mold(const TriMesh& mesh_mm, const TriangleBvh& index,
                               const SplitOptions& options = {}, const RunContext& context = {});

/// The same along the pull of the options, which was chosen among the rows of a search that was
/// made before.
///
/// \pre options.pull
[[nodiscard]] Split split_mold(const TriMesh& mesh_mm, const TriangleBvh& index,
                               const SplitOptions& options, PullSearch search,
                               const RunContext& context);

/// The search that split_mold makes where no pull is given; with a pull its one row is that
/// pull's.
///
/// \throw InvalidInput as search_pull
///
/// \throw Cancelled
[[nodiscard]] PullSearch split_search(const TriMesh& mesh_mm, const TriangleBvh& index,
                                      const SplitOptions& options, const RunContext& context);
/// The same on a stand-in that was made before.
///
/// \pre `stand_in` is decimated_proxy of the mesh with PullSearchOptions::proxy_triangles
///
/// \throw as above
[[nodiscard]] PullSearch split_search(const TriMesh& mesh_mm, Proxy stand_in,
                                      const SplitOptions& options, const RunContext& context);

}  // namespace cavigram
