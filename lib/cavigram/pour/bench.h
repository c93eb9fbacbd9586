// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/foam/card.h"
#include "cavigram/foam/kinetics.h"
#include "cavigram/geom/vector.h"

namespace cavigram {

/// How the liquid gets into the mold.
enum class PourMethod {
    through_hole,        ///< Into the closed and strapped mold.
    open_half_and_turn,  ///< Into the open half, then closed, turned over so that both halves are
                         ///< wetted, and strapped.
    brush_first,         ///< As open_half_and_turn, with a first coat brushed onto both halves.
};

/// The word for a method in text and JSON.
[[nodiscard]] const char* to_text(PourMethod method);
/// The way back.
///
/// \throw InvalidInput naming the three words
[[nodiscard]] PourMethod parse_pour_method(std::string_view text, std::string_view name);

/// What a person does in one step.
enum class StepKind { stir, brush, pour, close, turn, strap, cover };
/// What must be done by a moment that the foam sets.
enum class Deadline { poured, closed, turned, strapped, covered };

/// The words for them in text and JSON.
[[nodiscard]] const char* to_text(StepKind kind);
[[nodiscard]] const char* to_text(Deadline deadline);

/// The person's own seconds. Defaults are guesses: common practice, no source.
struct BenchTimes {
    double stir_s = 12.0;  ///< From the start of stirring, which is when the foam's clock starts.
    double empty_cup_s = 5.0;   ///< Tipping and scraping the cup, once for each mold; through a
                                ///< hole it takes no less.
    double close_s = 6.0;       ///< Laying the halves together.
    double strap_s = 8.0;       ///< Straps or clamps.
    double turn_s = 3.0;        ///< Turning over.
    double plug_s = 2.0;        ///< Covering the pour hole.
    double brush_cm2_s = 40.0;  ///< Area that is brushed in a second.
    /// So long after the work time the foam still runs enough to wet the other half.
    double turn_grace_s = 5.0;
};

/// What the clock depends on.
struct BenchRequest {
    double temperature_c = 23.0;               ///< Of liquids and room.
    std::optional<double> mold_temperature_c;  ///< None: as the liquids.
    TemperatureRule rule;                   ///< How the card's times change with the temperature.
    RiseCurve curve = RiseCurve::gompertz;  ///< Along which the foam rises.
    BenchTimes times;                       ///< The person's own seconds.
    double pour_mass_g = 0.0;  ///< In all cups of one pour; what will stick to a cup is counted
                               ///< too, which errs on the safe side.
    /// Liquid that this part's mold takes; none: the whole pour.
    std::optional<double> mold_mass_g;
    int cups = 1;   ///< That pour is stirred in so many, one after another by one person.
    int molds = 1;  ///< Parts poured from the same cups, each in a mold of its own.
    double liquid_kg_m3 = 1080.0;      ///< Of the stirred mix.
    double viscosity_pa_s = 1.0;       ///< Of the stirred mix; 0.5 to 3 is common (from memory).
    double packing_factor = 1.15;      ///< Of foam in the mold over what fills it rising freely.
    double expansion_ratio = 8.4;      ///< Free-rise volume over that of the liquid.
    double cavity_mm3 = 0.0;           ///< Of this part's mold; 0: not known.
    double open_half_mm3 = 0.0;        ///< What the open half holds; 0: not known.
    bool parted = false;               ///< That half is the parting line's; else half the height.
    double pour_hole_width_mm = 15.0;  ///< Its diameter.
    bool has_pour_hole = true;         ///< False: the mold is filled open, or not at all.
    double hole_length_mm = 20.0;      ///< Through the mold's wall.
    double funnel_head_mm = 50.0;      ///< How high the liquid stands above the hole.
    /// No hole can be wider: the part's width as seen from above. None: not known.
    std::optional<double> widest_hole_mm;
    double area_mm2 = 0.0;         ///< Of all the molds, for brushing.
    Vec3 up = Vec3::UnitZ();       ///< The way up that level and open half are those of.
    double liquid_depth_mm = 0.0;  ///< As BenchPlan.
    double wall_mm = 0.0;  ///< Height of the mold's walls, from which a film drains; 0: not known.
    std::optional<PourMethod> method;  ///< None: the best that fits.
};

/// One thing to do, from when to when, and the deadline that belongs to it. Times from the start of
/// stirring.
struct BenchStep {
    StepKind kind = StepKind::stir;    ///< What is done.
    std::string name;                  ///< In words.
    double seconds = 0.0;              ///< How long it takes.
    double start_s = 0.0;              ///< When it begins.
    double end_s = 0.0;                ///< When it is done.
    std::optional<Deadline> deadline;  ///< None: nothing waits for this step.
    double by_s = 0.0;                 ///< That deadline's time.
};

/// One method's way through its deadlines.
struct MethodBudget {
    PourMethod method = PourMethod::through_hole;  ///< Which.
    std::vector<BenchStep> steps;                  ///< In order of time.
    double total_s = 0.0;                          ///< When the last step is done.
    double spare_s = 0.0;  ///< The least slack over its deadlines; negative: too late by so much.
    Deadline tightest = Deadline::poured;  ///< The deadline with that slack.
    /// Time aside: the open half can hold the liquid, the hole fits the part.
    bool possible = true;
    std::string why_not;  ///< Told (core/told.h); empty where it fits.
};

/// The time line. All times count from the start of stirring and hold at `temperature_c`.
struct BenchPlan {
    double temperature_c = 23.0;  ///< As requested.
    double work_time_s = 0.0;     ///< The card's, at that temperature.
    double poured_by_s = 0.0;     ///< The end of the work time: from then on it foams.
    /// Before the foam fills the open half, rising freely in it; the end of the work time where
    /// half or cavity are not known.
    double closed_by_s = 0.0;
    double turned_by_s = 0.0;  ///< While it still runs: the end of the work time plus turn_grace_s.
    double strapped_by_s = 0.0;  ///< Before the foam fills the cavity and begins to press.
    /// Foam at the highest vent: the cavity is full. None: this pour does not fill it.
    std::optional<double> foam_at_top_s;
    double most_pressure_s = 0.0;  ///< kRisenShare of the rise is over.
    /// When to open. Never before the card's own times, however warm it is; later when it is
    /// colder than there.
    double demold_min_s = 0.0;
    double demold_max_s = 0.0;                     ///< Open by then.
    double mix_s = 0.0;                            ///< All stirring of the chosen method.
    double pour_s = 0.0;                           ///< Its pouring and brushing.
    double close_s = 0.0;                          ///< Everything else: close, turn, strap, cover.
    double spare_s = 0.0;                          ///< As MethodBudget, of the chosen method.
    Deadline tightest = Deadline::poured;          ///< As MethodBudget, of the chosen method.
    PourMethod method = PourMethod::through_hole;  ///< Chosen or asked for.
    /// How deep this part's own liquid stands in the closed mold in the way up in which it rises,
    /// before it rises. As requested.
    double liquid_depth_mm = 0.0;
    double film_mm =
        0.0;  ///< Mean film that stays on walls that were wetted kDrainTime_s ago; 0: not known.
    double hole_flow_ml_s = 0.0;  ///< Through the pour hole.
    double hole_reynolds = 0.0;   ///< Of that flow.
    double hole_needed_mm = 0.0;  ///< Pour hole that would leave no spare time below zero; 0 if
                                  ///< none can: stirring alone takes too long, or the part is
                                  ///< narrower than that hole.
    std::vector<MethodBudget> methods;  ///< All three, in the order of the enum.
    BenchRequest request;               ///< What it was asked for.
    std::vector<Finding> findings;      ///< no_time, little_time and others of docs/findings.md.
};

/// The foam's times today against what there is to do, for one person.
///
/// Deadlines come from the rise (RiseClock) at today's temperature; a room of volume v is full when
/// the foam, whose final volume is packing * cavity, has the share v/(packing * cavity) of it.
/// foam_model.md section 4, FM6 and FM7. Each method is judged by the deadlines of its own steps:
/// - through_hole, into a mold that was closed and strapped before: stir; pour, by the end of the
///   work time, liquid volume over the flow by all losses together (venting/vent_flow.h, checks.md
///   Q2, Q3); cover the hole, before the foam fills the cavity.
/// - open_half_and_turn: stir; pour, by the end of the work time; close, before the foam fills the
///   open half; turn over, while it still runs; strap, before the foam fills the cavity.
///   The halves are turned *held* (one quick clamp, or hands on both sides) and strapped
///   afterwards: the foam allows a good half minute more for straps than for turning, so straps
///   that come first use up the time in which it still wets the other half. A mold too heavy to be
///   held is strapped first by counting its straps into close_s; a finding says so.
/// - brush_first: the same, with brushing between stirring and pouring.
/// Several molds from one cup take each step one mold after another, all judged by this part's
/// deadlines. Several cups are stirred and poured one after another, the clock being that of the
/// first.
///
/// Which half lies open is settled by the way up: it is the upper one of the pose in which the mold
/// rises, since it is turned over afterwards. Where the halves part across that way up, either may
/// lie open; the caller takes the larger.
///
/// Of the methods that fit, the one that wets both halves is preferred; if none fits, the one that
/// misses by least, with a finding that says stop and what would help with the deadline that is
/// missed. Never that the liquids be heated, which shortens every time. A mold of another
/// temperature than its liquids changes no number here: no law for it is known (checks.md section
/// 2); a note says what to do.
///
/// \throw InvalidInput as time_at_temperature_s and RiseClock, for sizes that make no sense, and if
/// the card opens the mold before the foam has risen
[[nodiscard]] BenchPlan bench_plan(const FoamCard& card, const BenchRequest& request);

/// A mold that differs from its liquids by more than this is noted. Common practice, no source.
inline constexpr double kMoldDifference_k = 5.0;

/// How long a turned-over mold drains before the foam sets in motion. A guess: common practice, no
/// source.
inline constexpr double kDrainTime_s = 10.0;

/// Mean thickness of the film that stays on an upright wall of height L after draining for a time:
/// (2/3) sqrt(mu L / (rho g t)) (Jeffreys, Math. Proc. Camb. Phil. Soc. 26 (1930) 204).
///
/// \pre all > 0
[[nodiscard]] double drained_film_mm(double viscosity_pa_s, double liquid_kg_m3, double wall_mm,
                                     double drain_s);

}  // namespace cavigram
