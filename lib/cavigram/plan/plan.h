// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "cavigram/cavity/depth.h"
#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/foam/batch.h"
#include "cavigram/foam/card.h"
#include "cavigram/foam/density_map.h"
#include "cavigram/foam/finish.h"
#include "cavigram/foam/foam_mass.h"
#include "cavigram/foam/window.h"
#include "cavigram/handling/armature.h"
#include "cavigram/handling/beam.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/measure/place_words.h"
#include "cavigram/measure/thickened.h"
#include "cavigram/measure/thickness.h"
#include "cavigram/measure/thin_regions.h"
#include "cavigram/molding/split.h"
#include "cavigram/plan/display.h"
#include "cavigram/plan/mold_stage.h"
#include "cavigram/plan/prepare.h"
#include "cavigram/plan/stages.h"
#include "cavigram/plan/way_and_pull.h"
#include "cavigram/pour/bench.h"
#include "cavigram/pour/orientations.h"
#include "cavigram/pour/rise.h"
#include "cavigram/tally/fit.h"
#include "cavigram/venting/necks.h"
#include "cavigram/venting/pockets.h"
#include "cavigram/venting/pools.h"
#include "cavigram/venting/show_side.h"
#include "cavigram/venting/vents.h"

namespace cavigram {

/// Thickness of a rubber mold's wall where nothing else is known: the length of its holes. Common
/// practice, no source.
inline constexpr double kMoldWall_mm = 20.0;

/// Width of a pour hole where none is asked for. Common practice, no source.
inline constexpr double kPourHole_mm = 15.0;

/// Which foam, how dense, and how it is weighed. What is empty comes from the card.
struct FoamOptions {
    std::string card = "generic-firm";  ///< A name or a path.
    /// Between two cards of the same foam only. None: where a density is asked for and the foam is
    /// known at two mixes, the mix that gives it; else the card's.
    std::optional<MixRatio> mix;
    /// Wanted density; without a basis it is the finished part's mean, the number that a person can
    /// check on a scale.
    std::optional<double> density_kg_m3;
    std::optional<DensityBasis> basis;         ///< Of density_kg_m3.
    std::optional<double> overpack;            ///< Mean over free-rise density.
    std::optional<double> skin_thickness_mm;   ///< As measured.
    std::optional<double> skin_density_kg_m3;  ///< As measured.
    std::optional<SkinProfile> profile;        ///< How the skin fades into the core.
    double air_kpa = kAtmosphere_kpa;          ///< Of the room.
    std::optional<double> mold_holds_kpa;      ///< None: kMoldHolds_kpa, a guess.
    std::optional<double> mold_wall_mm;   ///< Through which holes go; none: kMoldWall_mm, a guess.
    std::optional<double> cell_mm;        ///< As DepthOptions::cell_mm.
    std::optional<double> waste_share;    ///< None: the shop's own, else BatchRequest's default.
    std::optional<WasteFilm> waste_film;  ///< Instead of a share.
    std::optional<double> cup_residue_g;  ///< Of A, left in its own cup; none: nothing.
    Weighing weighing = Weighing::tared;  ///< How a cup's contents are weighed.
    double pigment_share = 0.0;           ///< As BatchRequest.
    double scale_readability_g = 1.0;     ///< As BatchRequest.
    bool scale_in_ounces = false;         ///< As BatchRequest.
    double spare_g = 0.0;                 ///< As BatchRequest.
    int copies = 1;                       ///< As BatchRequest.
    std::optional<double> finish_g_m2;    ///< Pigment or paint; none: kFinish_g_m2, a guess.
    std::optional<double> largest_batch_g;  ///< As BatchRequest::largest_g.
    /// More parts that are poured from the same cup; same scale as the first.
    std::vector<AlsoPart> also;
    /// What this shop's own castings say; replaces density, skin and waste that are not given.
    /// docs/rooms/plan.md
    std::optional<ShopFit> shop;
};

/// One way up, and what is open.
struct AirOptions {
    Vec3 up = Vec3::UnitZ();  ///< Any length but zero.
    /// False: `up` is only how the file stands. It is scored beside the others, and where the stage
    /// orient runs too, its first choice is planned for.
    bool up_given = true;
    std::optional<Vec3> pour_hole_at_mm;  ///< None: the highest place.
    /// What becomes of the pour hole while the foam rises. None: there is none where the pour
    /// method that was asked for needs none and no place is given for it, else it is vented.
    std::optional<PourHoleAfter> pour_hole_after;
    std::vector<Vec3> vents_at_mm;  ///< None: up to most_vents are proposed.
    int most_vents = 3;  ///< More holes than this are hard to plug; common practice, no source.
    std::optional<double> smallest_pocket_mm3;  ///< As PocketOptions::min_volume_mm3.
    /// The side that is seen: holes keep off it, and the search for a way up counts those on it.
    std::optional<ShowSide> show;
    std::optional<WayWeights> weights;        ///< For the search, as OrientationOptions.
    double neck_mm = NeckOptions{}.width_mm;  ///< As NeckOptions; 0: not looked for.
};

/// The room, the hands and the hole.
struct BenchOptions {
    std::optional<double> temperature_c;       ///< None: the card's own.
    std::optional<double> mold_temperature_c;  ///< None: as the liquids.
    BenchTimes times;                          ///< The person's own seconds.
    /// As BenchRequest. None: kPourHole_mm, and less where the part takes no wider.
    std::optional<double> pour_hole_width_mm;
    std::optional<double> viscosity_pa_s;  ///< None: the card's.
    std::optional<PourMethod> method;      ///< None: the best that fits.
};

/// How the mold is split.
struct SplitChoice {
    std::optional<Vec3> pull;             ///< None: the best.
    std::optional<double> stretch_limit;  ///< A share; none: SplitOptions::stretch_limit, a guess.
};

/// Foam creeps: held so for hours or days it gives way by so many times what it does at once. A
/// guess; no figure was found.
inline constexpr double kCreep = 1.5;

/// How the part is held, and what is in it.
struct HandleOptions {
    std::vector<Vec3> grips_mm;   ///< One or two places on the part; none: its middle.
    std::optional<Rod> armature;  ///< A rod that is cast in; it takes its volume from the foam.
    bool no_armature = false;     ///< None is wanted, and none is proposed.
    double rod_cover_mm = ArmatureOptions{}.cover_mm;        ///< As ArmatureOptions.
    double most_droop_share = ArmatureOptions{}.most_share;  ///< As ArmatureOptions.
    std::optional<double> foam_modulus_kpa;                  ///< Young's, of the core, as measured.
    std::optional<double> creep;                             ///< None: kCreep, a guess.
    /// Field by field.
    friend bool operator==(const HandleOptions&, const HandleOptions&) = default;
};

/// How the rise is followed.
struct RiseOptions {
    /// As RiseGridOptions. None: 60,000, or 15,000 where it is followed step by step.
    std::optional<std::size_t> cells;
    std::optional<double> gel_s;  ///< At the card's temperature; none: the time of rise, a guess.
    int uncertain = 0;            ///< So many runs over what is not known; 0: none.
};

/// Everything that a command can ask for.
struct PlanRequest {
    PartRequest part;                     ///< Which file.
    FoamOptions foam;                     ///< Which foam, how dense, how weighed.
    std::optional<double> thin_limit_mm;  ///< None: twice the skin, at least kHardToFill_mm.
    std::optional<double> thicken_mm;     ///< What every wall would gain in all; none: not asked.
    AirOptions air;                       ///< Way up, openings.
    BenchOptions bench;                   ///< Room and hands.
    MoldOptions mold;                     ///< What is built around the part.
    SplitChoice split;                    ///< How the mold is split.
    HandleOptions handle;                 ///< Grip and armature.
    RiseOptions rise;                     ///< The foam rising, in time.
};

/// Gaps narrower than this are hard to fill by a rising foam. Common practice, no source.
inline constexpr double kHardToFill_mm = 4.0;

/// What a part measures.
struct MeasuresBlock {
    MassProperties mass;           ///< Volume, area, moments.
    double volume_low_mm3 = 0.0;   ///< Likely range, from mending.
    double volume_high_mm3 = 0.0;  ///< Likely range, from mending.
    int shells = 0;                ///< Closed surfaces.
    int genus = 0;                 ///< Handles over all shells: (2 shells - Euler number) / 2.
};

/// Thickness is measured, and colored, up to this many times the limit of what counts as thin;
/// beyond it is only "thick".
inline constexpr double kShownOverLimit = 3.0;

/// A thin place, and where it is as a person with a ruler would say it.
struct ThinPlace {
    ThinRegion region;                ///< As measured.
    PlaceWords where;                 ///< By ruler.
    std::optional<std::size_t> pair;  ///< The place that is its mirror image, if any,
    std::string pair_words;           ///< and words for both.
};

/// Where the part is thin.
struct ThinBlock {
    double limit_mm = 0.0;           ///< Walls thinner than this are listed.
    double skin_mm = 0.0;            ///< Below twice this a wall is all skin.
    double all_skin_area_mm2 = 0.0;  ///< Of such walls among the places.
    ThicknessMap map;                ///< Thickness all over the part.
    std::vector<ThinPlace> places;   ///< The worst first.
    SmallRegions small;              ///< Those too small to be listed.
    /// For each sample of the map the index of its place in `places`, or -1.
    std::vector<std::int32_t> place_of_sample;
    std::optional<Thickened> thickened;  ///< If it was asked for.
};

/// Another part that is poured from the same cup, read, measured and weighed by itself.
struct AlsoPoured {
    InputBlock input;                  ///< The file as it was understood.
    std::shared_ptr<const Part> part;  ///< Mended; always there once it was read.
    MeasuresBlock measures;            ///< Of that part.
    double part_mass_g = 0.0;          ///< Skin and core of that part.
    PourWindow window;                 ///< Of its own mold, with holes as the first part's.
    /// Its own clock, by the first part's method, in the way up that was asked for, else as its
    /// file stands. With Stages::bench.
    std::optional<BenchPlan> clock;
};

/// Foam that fills pour hole and vents, through the mold's wall.
struct HolesFoam {
    double pour_hole_width_mm = 0.0;  ///< 0: no pour hole.
    int vents = 0;                    ///< As many as are given, or as may be made.
    double vent_width_mm = 0.0;       ///< Of each.
    double wall_mm = kMoldWall_mm;    ///< Length of the holes.
    double volume_mm3 = 0.0;          ///< pi/4 d2 times wall, of all.
    double mass_g = 0.0;              ///< At the part's mean density.
};

/// One known mix of the foam: its card, and its free rise in the room's air.
struct KnownMix {
    FoamCard card;           ///< At that mix.
    Ranged free_rise_kg_m3;  ///< In the room's air.
};

/// The same finished density with another mix.
struct OtherMix {
    MixRatio mix;                 ///< By weight.
    double packing_factor = 0.0;  ///< Mean over free-rise density.
    double part_a_g = 0.0;        ///< 0: it would not fill the mold.
    double part_b_g = 0.0;        ///< As part_a_g.
    double pressure_kpa = 0.0;    ///< About what it presses with.
    bool firmer = false;          ///< More of A: firmer and lighter in free rise.
};

/// How the mix was settled, and which others there are.
struct Mixes {
    bool chosen = false;          ///< By the wanted density.
    bool clamped = false;         ///< The foam has no mix that light or dense.
    std::vector<KnownMix> known;  ///< All that are known of the foam, the named card first.
    bool open = false;            ///< A density of the finished part would choose between them,
    double packing_for_density = 1.0;  ///< as the one that it packs to so many times its free rise.
    std::optional<OtherMix> other;     ///< The same density the other way, if there is one.
};

/// Where the skin lies, and how well its volume is known.
struct SkinBlock {
    DepthVolume depth;         ///< Volume within each depth of the surface.
    double error_share = 0.0;  ///< Likely relative error of the skin's volume.
    /// The profile integrated over the depth curve against the part's mass: rounding error.
    double closes_to_share = 0.0;
    /// What a measured skin takes of the cavity, whatever is poured.
    std::optional<double> measured_mm3;
};

/// Mix, skin and core, and what goes into the cup.
struct FoamBlock {
    FoamCard card;                              ///< As used, interpolated where a mix asked for it.
    FoamRequest request;                        ///< What skin and core were computed for.
    DensityBasis basis = DensityBasis::molded;  ///< Of the wanted density, or the card's.
    std::optional<double> wanted_kg_m3;         ///< As FoamOptions::density_kg_m3.
    Mixes mixes;                                ///< How the mix was settled.
    /// What the shop's castings make of this part, with a prediction interval; where they settle
    /// its mass.
    std::optional<Estimate> predicted_g;
    FoamMass mass;                     ///< Skin and core.
    SkinBlock skin;                    ///< Where the skin lies.
    double expansion_ratio = 0.0;      ///< Liquid to free-rise volume.
    double air_kpa = kAtmosphere_kpa;  ///< Of the room.
    double rod_mm3 = 0.0;              ///< Of the cavity, taken up by a rod that was given.
    HolesFoam holes;                   ///< Foam in pour hole and vents.
    PourWindow window;                 ///< Of the cavity with its holes.
    Batch batch;                ///< What goes into the cup for this part and those poured with it.
    Finish finish;              ///< Pigment or paint for the part's surface.
    double liquid_share = 0.0;  ///< Of the cavity, before it rises.
    /// What a hand meets: mean density beneath each place of the surface, for each triangle and
    /// vertex of the part's mesh. With the stage density.
    std::optional<DensityMap> density;
    std::vector<AlsoPoured> also;  ///< In the order of FoamOptions::also.
};

/// A pour hole, or a vent that was given, as a person drills it.
struct SizedOpening {
    Opening opening;           ///< As it was understood.
    std::string where;         ///< By ruler, as place_words.
    double diameter_mm = 0.0;  ///< Of the vent, or of the hole in the pour hole's cover; 0: none.
};

/// A proposed or given vent with the width that its air needs.
struct SizedVent {
    Vec3 at_mm = Vec3::Zero();  ///< Its place on the surface.
    double frees_mm3 = 0.0;     ///< Air that it lets out beyond those before it.
    double residual_mm3 = 0.0;  ///< Air that stays with it and those before it.
    double diameter_mm = 0.0;   ///< To drill.
    bool given = false;         ///< By the person; else proposed.
    std::string where;          ///< By ruler, as place_words.
    int merged = 0;             ///< As Vent::merged.
};

/// Air that stays with the best so many vents.
struct LeftAfter {
    std::size_t vents = 0;      ///< So many.
    double trapped_mm3 = 0.0;   ///< Air that stays.
    double squeezed_mm3 = 0.0;  ///< Once the foam presses as it does at the end.
};

/// What keeping holes off the show side comes to.
struct ShowCost {
    double cost_mm3 = 0.0;        ///< Air that stays more, with as many vents.
    std::size_t holes_on_it = 0;  ///< Of those given, or for want of any other place.
};

/// What of the foam the widths of vents, the pressure and the liquid rest on.
struct AirBasis {
    std::string card;              ///< The foam card's name.
    double temperature_c = 0.0;    ///< Today's; the rise takes as long as it does there.
    double free_rise_kg_m3 = 0.0;  ///< Of the mix, in the room's air.
    double packing_factor = 1.0;   ///< Mean density over free rise.
};

/// The air once more by upright columns, which share nothing with the first method but the mesh.
struct SecondMethod {
    int columns = 0;                     ///< Along the longer side.
    double piece_difference_mm3 = 0.0;   ///< Largest, of a piece of air.
    double volume_difference_mm3 = 0.0;  ///< The part's volume by columns less the first's.
};

/// Air, pour hole and vents for one way up.
struct AirBlock {
    Vec3 up = Vec3::UnitZ();                                ///< How the part stands while it rises.
    PourHoleAfter pour_hole_after = PourHoleAfter::vented;  ///< As it was settled.
    double pour_hole_mm = 0.0;         ///< Width of each pour hole; 0: there is none.
    bool pour_hole_elsewhere = false;  ///< The highest place takes none so wide.
    double cover_drill_mm = 0.0;       ///< Of the hole in each pour hole's cover; 0: there is none.
    AirBasis rests_on;                 ///< What of the foam the figures rest on.
    std::vector<SizedOpening> openings;  ///< Pour holes, and vents that were given.
    bool no_opening = false;             ///< Without vents nothing lets air out: all of it stays.
    TrappedAir unvented;                 ///< With the pour holes alone.
    std::vector<SizedVent> vents;        ///< The best first.
    double trapped_vented_mm3 = 0.0;     ///< Air that stays with these vents.
    double smallest_pocket_mm3 = 0.0;    ///< Pockets below this are not listed.
    std::vector<LeftAfter> left_after;   ///< With none, one, two ... of the best vents.
    double pressure_kpa = 0.0;           ///< The foam's, that left_after is squeezed with.
    std::optional<ShowCost> show;        ///< With AirOptions::show.
    Pools pools;  ///< Where liquid gathers that comes in by the first pour hole.
    std::optional<NarrowNecks> necks;  ///< With the openings and vents above; none: not looked for.
    double air_rate_mm3_s = 0.0;  ///< At the fastest of the rise; what the vents are sized for.
    SecondMethod second;          ///< The same air by another method.
};

/// A pour hole or vent, and how far it lies from the parting line, on which it is most easily made.
struct HoleAtLine {
    bool pour_hole = false;     ///< Else a vent.
    Vec3 at_mm = Vec3::Zero();  ///< Where.
    double from_line_mm = 0.0;  ///< To the nearest place of the line.
};

/// How the mold is split.
struct SplitBlock {
    Split found;                             ///< Pull, line, what is caught.
    std::vector<std::vector<Vec3>> line_mm;  ///< Each loop with fewer points, to 0.1 mm.
    std::vector<HoleAtLine> holes;           ///< With Stages::air.
    /// With Stages::orient: ways up and pulls ranked together; the first pair is planned.
    std::optional<WaysAndPulls> together;
};

/// Whether the part keeps its shape in the hand.
enum class Hold {
    holds,    ///< Even the softest foam of the range droops by less than the share.
    may_sag,  ///< Some foams of the range do.
    sags,     ///< Even the stiffest droops by more.
};
/// The word for it: `holds`, `may_sag`, `sags`.
[[nodiscard]] const char* to_text(Hold hold);

/// Where a hand holds.
struct Grip {
    bool given = false;         ///< Else the middle.
    Vec3 at_mm = Vec3::Zero();  ///< As given, or on the part's line.
    std::size_t node = 0;       ///< Of the beam.
    std::string where;          ///< By ruler, as place_words.
};

/// How far one end, or the part between two grips, droops.
struct HandleSpan {
    DroopSpan likely;           ///< With the likely foam, at once.
    double low_mm = 0.0;        ///< With the stiffest of the range.
    double high_mm = 0.0;       ///< With the softest, left hanging so.
    double bare_mm = 0.0;       ///< With the likely foam, without the rod.
    Vec3 at_mm = Vec3::Zero();  ///< Of the place that droops.
    std::string where;          ///< By ruler, as place_words.
};

/// The part in the hand.
struct HandleBlock {
    StiffLayers foam;                ///< Skin and core, as stiffness.
    Ranged core_modulus_mpa;         ///< With the range of such foams; without one where measured.
    bool modulus_given = false;      ///< By the person.
    bool outside_law = false;        ///< The skin is too dense for the law of cellular solids.
    double creep = kCreep;           ///< As used.
    double most_droop_share = 0.0;   ///< What holds droops by no more.
    double length_mm = 0.0;          ///< Along the part's line.
    bool straight = true;            ///< That line.
    std::vector<Grip> grips;         ///< One or two.
    Vec3 down = -Vec3::UnitZ();      ///< The way down in which it droops most.
    std::vector<HandleSpan> spans;   ///< None where the part is no beam.
    std::size_t worst = 0;           ///< The span that droops most for its length.
    Hold hold = Hold::holds;         ///< What that comes to.
    std::optional<LaidRod> rod;      ///< The armature that was given, where it lies.
    double foam_displaced_g = 0.0;   ///< By it.
    double part_mass_g = 0.0;        ///< In the hand: foam and rod.
    double balance_mm = 0.0;         ///< Of the center of mass from the first grip, along the line.
    std::vector<RodChoice> choices;  ///< Proposed, where the part does not surely hold.
};

/// The rise once more with something changed.
struct RiseCase {
    std::string what;              ///< What was changed, told.
    std::optional<double> full_s;  ///< As Rise.
    double filled_share = 0.0;     ///< As Rise.
    double air_mm3 = 0.0;          ///< Cut off.
    double empty_mm3 = 0.0;        ///< Not filled for want of foam or time.
    double flash_g = 0.0;          ///< Through all holes.
    double peak_kpa = 0.0;         ///< As Rise.
};

/// How likely a place fills, where viscosity, gel time and density are not known better.
struct LikelyFilled {
    Vec3 at_mm = Vec3::Zero();  ///< The place.
    std::string where;          ///< By ruler, as place_words.
    double share = 0.0;         ///< Of the runs in which it fills.
};

/// A hole by which air leaves, and what the foam does there.
struct RiseHoleBlock {
    std::string name;   ///< `pour hole` or `vent 2`.
    std::string where;  ///< By ruler.
    RiseHole hole;      ///< As it was taken.
    RiseAtHole at;      ///< What happens there.
};

/// The foam rising, in time.
struct RiseBlock {
    Rise rise;                            ///< As it was followed.
    std::string story;                    ///< In a sentence or two, told.
    std::vector<RiseHoleBlock> holes;     ///< Those that let air out.
    std::vector<std::string> last_where;  ///< For each of Rise::last, by ruler.
    std::vector<std::string> air_where;   ///< For each of Rise::sealed.
    std::vector<std::string> seam_where;  ///< For each of Rise::seams.
    std::vector<double> per_vertex_s;     ///< When foam gets there; infinity: never.
    std::vector<RiseCase> cases;          ///< With Stages::rise_cases.
    int runs = 0;                         ///< As RiseOptions::uncertain.
    std::vector<LikelyFilled> likely;     ///< Of those runs, the least likely first.
};

/// All that is known of one part: a block for each stage that ran.
struct Plan {
    PlanRequest request;                ///< What it was asked for.
    InputBlock input;                   ///< The file as it was understood.
    std::shared_ptr<const Part> part;   ///< Mended; always there in a plan that was made.
    MeasuresBlock measures;             ///< What the part measures.
    std::optional<ThinBlock> thin;      ///< With Stages::thin.
    std::optional<FoamBlock> foam;      ///< With Stages::foam.
    std::optional<AirBlock> air;        ///< With Stages::air.
    std::optional<BenchPlan> bench;     ///< With Stages::bench.
    std::optional<HandleBlock> handle;  ///< With Stages::handle.
    std::optional<MoldBlock> mold;      ///< With Stages::mold.
    std::optional<RiseBlock> rise;      ///< With Stages::rise; none where nothing lets air out.
    PourHoleAfter pour_hole_after = PourHoleAfter::vented;  ///< As it was settled.
    std::optional<Orientations> orientations;               ///< With Stages::orient.
    std::optional<SplitBlock> split;                        ///< With Stages::split.
    bool up_given = true;                 ///< As AirOptions: what the row marked `asked` is.
    std::optional<DisplayBlock> display;  ///< With Stages::display.
    std::vector<Finding> findings;        ///< Of all stages, in the order in which they ran.
    std::vector<std::string> cautions;    ///< For the person at the bench.
};

/// The card that the options ask for, at the mix that they give or that their density chooses.
///
/// \throw InvalidInput, UnusableInput
[[nodiscard]] FoamCard card_of(const FoamOptions& options);

/// Reads the part and computes the stages asked for, each once.
///
/// \throw InvalidInput, UnusableInput, Cancelled
[[nodiscard]] Plan make_plan(const PlanRequest& request, const Stages& stages,
                             const RunContext& context = {});

/// Whether a finding makes the result unusable as it stands.
[[nodiscard]] bool has_stop(const Plan& plan);

}  // namespace cavigram
