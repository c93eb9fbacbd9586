// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/foam/card.h"
#include "cavigram/foam/kinetics.h"

namespace cavigram {

/// How the liquid gets into the mold.
enum class PourMethod {
    through_hole,        ///< Into the closed and strapped mold.
    open_half_and_turn,  ///< Into the open lower half, then closed, strapped and turned over so
                         ///< that both halves are wetted.
    brush_first,         ///< As open_half_and_turn, with a first coat brushed onto both halves.
};

/// The word for a method in text and JSON.
[[nodiscard]] const char* to_text(PourMethod method);
/// The way back. \throw InvalidInput naming the three words
[[nodiscard]] PourMethod parse_pour_method(std::string_view text, std::string_view name);

/// The person's own seconds. Defaults are guesses: common practice, no source.
struct BenchTimes {
    double stir_s = 12.0;  ///< From the start of stirring, which is when the foam's clock starts.
    double empty_cup_s = 5.0;   ///< Tipping and scraping the cup into an open half.
    double close_s = 6.0;       ///< Laying the halves together.
    double strap_s = 8.0;       ///< Straps or clamps.
    double turn_s = 3.0;        ///< Turning over.
    double plug_s = 2.0;        ///< Covering the pour hole.
    double brush_cm2_s = 40.0;  ///< Area that is brushed in a second.
};

/// What the time budget depends on.
struct BenchRequest {
    double temperature_c = 23.0;  ///< Of liquids and room.
    TemperatureRule rule;
    BenchTimes times;
    double pour_mass_g = 0.0;
    double liquid_kg_m3 = 1080.0;
    double viscosity_pa_s = 1.0;   ///< Of the stirred mix; 0.5 to 3 is common (from memory).
    double pour_hole_mm = 15.0;    ///< Diameter of the pour hole.
    double hole_length_mm = 20.0;  ///< Through the mold's wall.
    double funnel_head_mm = 50.0;  ///< How high the liquid stands above the hole.
    double area_mm2 = 0.0;         ///< Of the part, for brushing.
    double liquid_depth_mm = 0.0;  ///< How deep the liquid stands in the mold before it rises.
    double wall_mm = 0.0;  ///< Height of the mold's walls, from which a film drains; 0: not known.
    double lower_half_mm3 = 0.0;       ///< What the open half holds; 0: not known.
    std::optional<PourMethod> method;  ///< None: the best that fits.
};

/// One thing to do, and how long it takes.
struct BenchStep {
    std::string name;
    double seconds = 0.0;
};

/// One method's way through the work time.
struct MethodBudget {
    PourMethod method = PourMethod::through_hole;
    std::vector<BenchStep> steps;
    double total_s = 0.0;
    double spare_s = 0.0;  ///< Work time less the total; negative: it foams in your hands.
    bool possible = true;  ///< Time aside: the open half can hold the liquid.
    std::string why_not;
};

struct BenchPlan {
    double temperature_c = 23.0;
    double work_time_s = 0.0;
    double demold_min_s = 0.0;
    double demold_max_s = 0.0;
    double mix_s = 0.0;
    double pour_s = 0.0;
    double close_s = 0.0;  ///< Everything after pouring: close, strap, turn, plug.
    double spare_s = 0.0;
    PourMethod method = PourMethod::through_hole;
    double liquid_depth_mm = 0.0;  ///< As requested.
    double film_mm =
        0.0;  ///< Mean film that stays on walls that were wetted kDrainTime_s ago; 0: not known.
    double hole_flow_ml_s = 0.0;  ///< Through the pour hole.
    double hole_reynolds = 0.0;   ///< Of that flow.
    double hole_needed_mm = 0.0;  ///< Pour hole that would leave no spare time below zero; 0 if
                                  ///< stirring alone takes too long.
    std::vector<MethodBudget> methods;  ///< All three, in the order of the enum.
    BenchRequest request;               ///< What it was asked for.
    std::vector<Finding> findings;
};

/// Times at today's temperature against what there is to do.
///
/// Pouring through the hole takes liquid volume / flow, with the flow by all losses together
/// (venting/vent_flow.h, checks.md Q2, Q3). Of the methods that fit, the one that wets both halves
/// is preferred; if none fits, the one that misses by least, with a finding that says stop. \throw
/// InvalidInput as time_at_temperature_s, and for sizes that make no sense
[[nodiscard]] BenchPlan bench_plan(const FoamCard& card, const BenchRequest& request);

/// How long a turned-over mold drains before the foam sets in motion. A guess: common practice, no
/// source.
inline constexpr double kDrainTime_s = 10.0;

/// Mean thickness of the film that stays on an upright wall of height L after draining for a time:
/// (2/3) sqrt(mu L / (rho g t)) (Jeffreys, Math. Proc. Camb. Phil. Soc. 26 (1930) 204). \pre all >
/// 0
[[nodiscard]] double drained_film_mm(double viscosity_pa_s, double liquid_kg_m3, double wall_mm,
                                     double drain_s);

}  // namespace cavigram
