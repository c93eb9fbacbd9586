// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cavigram/cavity/outer_offset.h"
#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/molding/board_layout.h"
#include "cavigram/molding/channels.h"
#include "cavigram/molding/facing_gaps.h"
#include "cavigram/molding/jacket.h"
#include "cavigram/molding/mold_box.h"
#include "cavigram/molding/parting.h"
#include "cavigram/molding/rubber.h"
#include "cavigram/molding/straps.h"

namespace cavigram {

/// What to build around the part. What is empty is chosen.
struct MoldOptions {
    MoldKind kind = MoldKind::box;                       ///< How it is built.
    std::string rubber_card = "generic-silicone-soft";   ///< A name or a path.
    std::optional<double> rubber_mm;                     ///< None: kRubber_mm.
    std::optional<double> rubber_waste_share;            ///< None: the card's.
    std::optional<double> jacket_mm;                     ///< None: usual_jacket_mm.
    JacketMaterial jacket_of = JacketMaterial::plaster;  ///< What the jacket is made of.
    std::optional<double> water_per_plaster;             ///< None: kWaterPerPlaster, a guess.
    std::optional<Vec3> pull;  ///< Along which the halves come apart; none: the way up.
    /// Height of the parting above the part's lowest place along the pull; none: half.
    std::optional<double> parting_mm;
    std::optional<double> board_mm;       ///< None: kBoard_mm, a guess.
    std::optional<Vec2> stock_mm;         ///< Length and width of a sheet; none: Stock, a guess.
    std::optional<double> master_g;       ///< What is molded; none: not known.
    std::optional<int> straps;            ///< As many as there are; none: as many as it takes.
    std::optional<double> strap_holds_n;  ///< One leg; none: kStrapHolds_n, a guess.
    std::optional<double> foam_shrink_share;  ///< Of the copies, linear; none: left out.
};

/// A hole from the cavity to the outside.
struct MoldHole {
    bool pour_hole = false;     ///< Otherwise a vent.
    Vec3 at_mm = Vec3::Zero();  ///< On the part.
    double width_mm = 0.0;      ///< Its diameter.
};

/// What the costly figures of a mold rest on beside the part.
struct MoldShapeRequest {
    double rubber_mm = 0.0;     ///< Around the part.
    double jacket_mm = 0.0;     ///< Over it, also where the chosen kind has none.
    Vec3 pull = Vec3::UnitZ();  ///< Unit.

    /// Field by field.
    friend bool operator==(const MoldShapeRequest&, const MoldShapeRequest&) = default;
};

/// The part as it lies in the mold, whatever is poured.
struct MoldShape {
    std::optional<TriMesh> outer;     ///< The part without its hollows, if it has any.
    OuterOffset offset;               ///< Shells of rubber, and of rubber and jacket.
    double lowest_mm = 0.0;           ///< Along the pull.
    double height_mm = 0.0;           ///< Along the pull.
    double length_mm = 0.0;           ///< Of the smallest rectangle around it from above,
    double width_mm = 0.0;            ///< and its shorter side.
    double projected_area_mm2 = 0.0;  ///< Of the cavity along the pull.
};

/// What of the plan the mold rests on.
struct MoldConditions {
    const TriMesh& mesh;                ///< Of the part.
    const Shells& shells;               ///< Of that mesh.
    const TriangleBvh& surface;         ///< Of that mesh.
    const MassProperties& mass;         ///< Of that mesh.
    Vec3 up = Vec3::UnitZ();            ///< As it stands while it rises: holes run along it.
    std::vector<MoldHole> holes;        ///< From the air's stage.
    double casting_g = 0.0;             ///< What comes out of it.
    double pressure_kpa = 0.0;          ///< What the planned pour presses with.
    double strap_for_kpa = 0.0;         ///< What straps are planned for.
    std::optional<double> warm_mold_c;  ///< If the mold is warmed:
    double liquid_c = 23.0;             ///< the temperature of what is poured into it,
    double liquid_kg_m3 = 1080.0;       ///< and its density.
};

/// What one kind of mold takes.
struct KindAmounts {
    MoldKind kind = MoldKind::box;  ///< Which.
    double rubber_g = 0.0;          ///< To mix.
    double jacket_g = 0.0;          ///< To mix, powder and water or resin; 0: none.
    double weight_g = 0.0;          ///< Rubber, fresh jacket and casting.
};

/// What to build, buy, cut and strap.
struct MoldBlock {
    MoldOptions request;         ///< What it was computed for.
    RubberCard card;             ///< The rubber.
    Vec3 pull = Vec3::UnitZ();   ///< Unit.
    double rubber_mm = 0.0;      ///< The least there is around the part.
    double jacket_mm = 0.0;      ///< Over it; 0: none.
    OuterOffset offset;          ///< Shells of rubber, and of rubber and jacket.
    double lower_half_mm = 0.0;  ///< Height of the half below the parting, jacket and all.
    double upper_half_mm = 0.0;  ///< Of the other.
    Rubber rubber;               ///< To mix, all of it.
    /// Rubber in the lower half of a box mold, which is poured first, to mix; none for other kinds.
    std::optional<double> lower_half_g;
    std::optional<Jacket> jacket;       ///< For brushed and jacketed.
    std::optional<MoldBox> box;         ///< For a box.
    std::optional<BoardLayout> layout;  ///< Of the box's boards.
    std::vector<Channel> channels;      ///< In the order of the conditions' holes.
    std::vector<MoldHole> holes;        ///< What those are.
    double projected_area_mm2 = 0.0;    ///< Of the cavity along the pull.
    Straps straps;                      ///< And what the mold holds with them.
    bool holds_by_straps = false;       ///< The window of the pour rests on that.
    double master_lift_n = 0.0;         ///< At most, if request.master_g is not known.
    double weight_g = 0.0;              ///< To lift: rubber, fresh jacket and casting.
    double shrink_low_share = 0.0;      ///< By which a copy is smaller, linear, at least,
    double shrink_share = 0.0;          ///< likely,
    double shrink_high_share = 0.0;     ///< and at most.
    double heat_soak_s = 0.0;           ///< Until the rubber is warm throughout, about.
    std::optional<double> contact_c;    ///< Where a warmed mold and the mix meet.
    std::vector<KindAmounts> kinds;     ///< What each kind would take, as thick.
};

/// More than this is not for one person: the load constant of the revised NIOSH lifting equation,
/// 23 kg, for a load close to the body and ideal in all else. From memory.
inline constexpr double kLift_g = 23'000.0;

/// The mold's block and what was noticed.
struct MoldStage {
    MoldBlock block;                ///< What to build.
    std::vector<Finding> findings;  ///< Of rubber, jacket, boards, straps and weight.
};

/// Checks what can be checked before the part is read, and loads the rubber's card.
///
/// \throw InvalidInput, UnusableInput
[[nodiscard]] RubberCard rubber_of(const MoldOptions& options);

/// Built as it is split: pulled along, boards flat at the middle of a line that climbs, unless the
/// options say where. As they are where the parting has no line.
[[nodiscard]] MoldOptions built_as_split(MoldOptions options, const Parting& parting);

/// What the options and the way up make of that. \pre a pull that is given is not zero
[[nodiscard]] MoldShapeRequest mold_shape_request(const MoldOptions& options, const Vec3& up);

/// Measures the part for its mold: rubber never gets into a hollow, so neither do the offsets.
///
/// Cost: outer_offset, an outline of a million cells.
///
/// \pre `shells` and `surface` are of the mesh, `center_mm` its center of mass
///
/// \throw Cancelled
[[nodiscard]] MoldShape mold_shape(const MoldShapeRequest& request, const TriMesh& mesh,
                                   const Shells& shells, const TriangleBvh& surface,
                                   const Vec3& center_mm, const RunContext& context = {});

/// Puts together what to build around the part: rubber and jacket by true offset distance, a box's
/// boards and their layout, holes at true length, straps and what the mold holds.
///
/// Cost: outer_offset, an outline of a million cells, 4,000 rays.
///
/// \throw InvalidInput for a parting off the part, a plaster that can't be stirred, a pull of zero;
/// Cancelled
[[nodiscard]] MoldStage mold_stage(const MoldOptions& options, const MoldConditions& conditions,
                                   const RunContext& context = {});
/// As above, of a part that was measured for it. Cost: 4,000 rays.
///
/// \pre `shape` was made of this part, for mold_shape_request(options, conditions.up)
[[nodiscard]] MoldStage mold_stage(const MoldOptions& options, const MoldConditions& conditions,
                                   const MoldShape& shape, const RunContext& context = {});

}  // namespace cavigram
