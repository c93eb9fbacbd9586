// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <random>
#include <string>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/foam/kinetics.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/foam/pressure.h"
#include "cavigram/plan/rise_stage_detail.h"

namespace cavigram::detail {

namespace {

// Balls that the gaps are found by: some to each cell on the surface.
constexpr std::size_t kThicknessSamples = 20'000;
// Cells for what is compared: a row of the table takes a second.
constexpr std::size_t kCompared = 20'000;
// Cells unless one asks for others, so that a sheet takes a second or two; steps cost more.
constexpr std::size_t kCells = 60'000;
constexpr std::size_t kStepped = 15'000;

struct NamedHole {
    std::string name;
    std::string where;
    RiseHole hole;
};

// The holes of the plan that let air out, as wide as they are drilled.
std::vector<NamedHole> holes_of(const Plan& plan) {
    const double wall_mm = plan.request.foam.mold_wall_mm.value_or(kMoldWall_mm);
    std::vector<NamedHole> holes;
    const bool several =
        std::count_if(plan.air->openings.begin(), plan.air->openings.end(),
                      [](const SizedOpening& o) { return o.opening.pour_hole; }) > 1;
    int number = 0;
    for (const SizedOpening& opening : plan.air->openings) {
        if (opening.opening.pour_hole && opening.opening.lets_air_out) {
            ++number;
            holes.push_back({several ? fmt::format("pour hole {}", number) : "pour hole",
                             opening.where,
                             {opening.opening.place_mm, opening.diameter_mm, wall_mm, true}});
        }
    }
    for (std::size_t i = 0; i < plan.air->vents.size(); ++i) {
        const SizedVent& vent = plan.air->vents[i];
        holes.push_back({fmt::format("vent {}", i + 1),
                         vent.where,
                         {vent.at_mm, vent.diameter_mm, wall_mm, false}});
    }
    return holes;
}

std::vector<RiseHole> plain(const std::vector<NamedHole>& holes) {
    std::vector<RiseHole> list;
    list.reserve(holes.size());
    for (const NamedHole& named : holes) {
        list.push_back(named.hole);
    }
    return list;
}

RiseAmount amount_of(const Plan& plan) {
    const FoamMass& mass = plan.foam->mass;
    return {mass.part_mass_g, plan.measures.mass.volume_mm3, mass.free_rise_kg_m3,
            plan.foam->expansion_ratio, plan.foam->air_kpa};
}

// A foam that is `more` times as much as planned, and rises to 1/density times its card's volume.
void take_amount(RiseRequest& request, const RiseAmount& amount, double more, double density) {
    const double volume = amount.volume_mm3;
    const double mass_g = more * amount.part_g;
    const double free_rise = density * amount.free_rise_kg_m3;
    const double mean = mass_g / volume / kGramsPerMm3;
    request.start.liquid_mm3 = std::min(mass_g / request.liquid_kg_m3 / kGramsPerMm3, 0.9 * volume);
    request.course.times.expansion = amount.expansion_ratio / density;
    request.air_kpa = amount.air_kpa;
    request.packing_factor = mean / free_rise;
    const double densest = kPolymer_kg_m3 * (1.0 - 1e-9);
    request.packing_kpa =
        mean > free_rise ? gas_pressure_kpa(std::min(free_rise, densest), std::min(mean, densest),
                                            kPolymer_kg_m3, amount.air_kpa)
                         : 0.0;
}

RiseRequest request_of(const Plan& plan, const std::vector<NamedHole>& holes) {
    const FoamCard& card = plan.foam->card;
    const double temperature = plan.bench->temperature_c;
    const auto today = [&](double time_s) {
        return time_at_temperature_s(time_s, card.at_c, temperature, card.rule);
    };
    RiseRequest request;
    request.cavity_mm3 = plan.measures.mass.volume_mm3;
    request.liquid_kg_m3 = mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3);
    request.course.times = {.work_s = today(card.work_time_s),
                            .risen_s = today(card.rise_time_s),
                            .expansion = plan.foam->expansion_ratio,
                            .curve = card.curve};
    request.course.viscosity_pa_s = plan.request.bench.viscosity_pa_s.value_or(card.viscosity_pa_s);
    if (plan.request.rise.gel_s) {
        request.course.gel_s = today(*plan.request.rise.gel_s);
    }
    request.start.landing_mm = plan.air->pools.landing_mm;
    if (plan.bench->method != PourMethod::through_hole) {
        request.start.film_mm = plan.bench->film_mm;
        request.start.landing_mm.reset();  // turned over: it runs to the lowest place
    }
    request.holes = plain(holes);
    request.smallest_air_mm3 = plan.air->smallest_pocket_mm3;
    take_amount(request, amount_of(plan), 1.0, 1.0);
    return request;
}

RiseCase case_of(std::string what, const Rise& rise) {
    RiseCase result;
    result.what = std::move(what);
    result.full_s = rise.full_s;
    result.filled_share = rise.filled_share;
    for (const RiseAir& air : rise.sealed) {
        result.air_mm3 += air.volume_mm3;
    }
    result.empty_mm3 = rise.missing_mm3;
    for (const RiseAtHole& at : rise.at_holes) {
        result.flash_g += at.flash_g;
    }
    result.peak_kpa = rise.peak_kpa;
    return result;
}

// The same rise without each hole, with the pour hole the other way, with more and less foam.
void add_cases(RiseBlock& block, const Plan& plan, const Shared<RiseGrid>& grid,
               const std::vector<NamedHole>& holes, const RiseRequest& request, RiseNodes& nodes,
               const RunContext& context) {
    const auto add = [&](std::string what, const RiseRequest& other) {
        block.cases.push_back(case_of(std::move(what), *nodes.rise.get({grid, other}, context)));
    };
    add("as planned", request);
    for (std::size_t i = 0; i < holes.size(); ++i) {
        if (holes.size() > 1) {
            RiseRequest without = request;
            without.holes.erase(without.holes.begin() + static_cast<std::ptrdiff_t>(i));
            add(holes[i].hole.pour_hole ? holes[i].name + " plugged" : "without " + holes[i].name,
                without);
        }
    }
    for (const SizedOpening& opening : plan.air->openings) {
        if (opening.opening.pour_hole && !opening.opening.lets_air_out && !holes.empty()) {
            RiseRequest vented = request;
            vented.holes.push_back({opening.opening.place_mm, holes.front().hole.width_mm,
                                    holes.front().hole.length_mm, true});
            add("pour hole vented", vented);
            break;
        }
    }
    for (const auto& [more, what] : {std::pair{1.1, "10 % more foam"}, {0.9, "10 % less foam"}}) {
        RiseRequest other = request;
        take_amount(other, amount_of(plan), more, 1.0);
        add(what, other);
    }
}

// Draws that are the same on every machine: the library's distributions are not.
class Draws {
  public:
    explicit Draws(std::uint64_t seed) : random_(seed) {}
    double even() { return static_cast<double>(random_() >> 11U) * 0x1.0p-53; }
    double normal() {
        const double radius = std::sqrt(-2.0 * std::log(1.0 - even()));
        return radius * std::cos(2.0 * std::numbers::pi * even());
    }
    // Likeliest at the value, and never beyond the range (triangular).
    double ranged(const Ranged& r) {
        const double width = r.high - r.low;
        if (!(width > 0.0)) {
            return r.value;
        }
        const double u = even();
        const double left = (r.value - r.low) / width;
        return u < left ? r.low + std::sqrt(u * width * (r.value - r.low))
                        : r.high - std::sqrt((1.0 - u) * width * (r.high - r.value));
    }

  private:
    std::mt19937_64 random_;
};

void add_uncertain(RiseBlock& block, const Plan& plan, const Shared<RiseGrid>& grid,
                   const RiseRequest& request, const PlaceFrame& frame, RiseNodes& nodes,
                   const RunContext& context) {
    std::vector<Vec3> places;
    for (const LatePlace& late : block.rise.last) {
        places.push_back(late.at_mm);
    }
    for (const RiseAir& air : block.rise.sealed) {
        places.push_back(air.at_mm);
    }
    for (const LatePlace& late : block.rise.unfilled) {
        places.push_back(late.at_mm);
    }
    const Ranged& free_rise = plan.foam->request.free_rise_kg_m3;
    block.runs = plan.request.rise.uncertain;
    const Shared<std::vector<double>> shares =
        nodes.likely.get({grid,
                          request,
                          amount_of(plan),
                          {free_rise.value, free_rise.low, free_rise.high},
                          places,
                          block.runs},
                         context);
    for (std::size_t i = 0; i < places.size(); ++i) {
        block.likely.push_back({places[i], place_words(frame, places[i]).words, (*shares)[i]});
    }
    std::stable_sort(
        block.likely.begin(), block.likely.end(),
        [](const LikelyFilled& a, const LikelyFilled& b) { return a.share < b.share; });
}

// Without those on pieces smaller than the cells, of which nothing is followed.
std::vector<NamedHole> within_cells(const RiseGrid& grid, std::vector<NamedHole> holes) {
    const CellFinder finder(grid);
    std::erase_if(holes,
                  [&](const NamedHole& named) { return finder.nearest(named.hole.at_mm) < 0; });
    return holes;
}

// The cavity in cells, the holes that lead into them, and what is asked of them.
struct Followed {
    std::size_t cells = 0;
    Shared<RiseGrid> grid;
    std::vector<NamedHole> holes;
    RiseRequest request;
    bool steps_failed = false;
};

using Cutter = std::function<Shared<RiseGrid>(std::size_t cells)>;

// None: no hole leads into any cell.
std::optional<Followed> on_cells(const Plan& plan, std::size_t cells, const Cutter& cut,
                                 const std::vector<NamedHole>& drilled) {
    Shared<RiseGrid> grid = cut(cells);
    std::vector<NamedHole> holes = within_cells(*grid, drilled);
    if (holes.empty()) {
        return std::nullopt;
    }
    RiseRequest request = request_of(plan, holes);
    return Followed{cells, std::move(grid), std::move(holes), std::move(request)};
}

// On as many cells as its level allows, unless their number is given. Where steps do not settle,
// the level that is nearer takes all cells.
std::optional<Followed> as_followed(const Plan& plan, const Cutter& cut,
                                    const std::vector<NamedHole>& drilled, RiseNodes& nodes,
                                    const RunContext& context) {
    const std::optional<std::size_t>& given = plan.request.rise.cells;
    std::optional<Followed> all = on_cells(plan, given.value_or(kCells), cut, drilled);
    if (!all) {
        return all;
    }
    all->request.level = level_for(gravity_number_of(*all->grid, all->request));
    if (given || all->request.level != RiseLevel::stepped) {
        return all;
    }
    std::optional<Followed> few = on_cells(plan, kStepped, cut, drilled);
    if (!few) {
        return few;
    }
    few->request.level = RiseLevel::stepped;
    const Shared<Rise> steps = nodes.rise.get({few->grid, few->request}, context);
    if (!steps->steps_failed) {
        return few;
    }
    all->request.level = steps->level;
    all->steps_failed = true;
    return all;
}

void say_where(RiseBlock& block, const PlaceFrame& frame) {
    for (const LatePlace& late : block.rise.last) {
        block.last_where.push_back(place_words(frame, late.at_mm).words);
    }
    for (const RiseAir& air : block.rise.sealed) {
        block.air_where.push_back(place_words(frame, air.at_mm).words);
    }
    for (const RiseSeam& seam : block.rise.seams) {
        block.seam_where.push_back(place_words(frame, seam.at_mm).words);
    }
}

}  // namespace

RiseGrid RiseGridKey::make(const RunContext& context) const {
    context.report("cells", 0.0);
    return rise_grid(part->part.mesh(), up, *thickness, volume_mm3, {.cells = cells}, context);
}

Rise RiseKey::make(const RunContext& context) const {
    return follow_rise(*grid, request, context);
}

std::vector<double> RiseVerticesKey::make(const RunContext& /*context*/) const {
    return arrival_at(*grid, *rise, part->part.mesh().vertices);
}

// Viscosity within a factor of two, gel time within 15 % (common practice, no source), free rise
// within the card's range.
std::vector<double> RiseLikelyKey::make(const RunContext& context) const {
    constexpr std::uint64_t kSeed = 16;
    const double viscosity_spread = std::numbers::ln2;
    constexpr double kGelSpread = 0.15;
    const auto [value, low, high] = free_rise_kg_m3;
    std::vector<int> filled(places_mm.size(), 0);
    Draws draws(kSeed);
    for (int run = 0; run < runs; ++run) {
        context.report("uncertain", run / static_cast<double>(runs));
        RiseRequest other = request;
        other.course.viscosity_pa_s *= std::exp(viscosity_spread * draws.normal());
        const double gel = other.course.gel_s.value_or(other.course.times.risen_s);
        other.course.gel_s =
            std::max(1.05 * other.course.times.work_s, gel * std::exp(kGelSpread * draws.normal()));
        take_amount(other, amount, 1.0, draws.ranged({value, low, high}) / value);
        const std::vector<double> arrival =
            arrival_at(*grid, follow_rise(*grid, other, context), places_mm);
        for (std::size_t i = 0; i < places_mm.size(); ++i) {
            filled[i] += std::isinf(arrival[i]) ? 0 : 1;
        }
    }
    std::vector<double> shares;
    shares.reserve(filled.size());
    for (const int times : filled) {
        shares.push_back(times / static_cast<double>(runs));
    }
    return shares;
}

RiseStage rise_stage(const Plan& plan, const Shared<PreparedPart>& part,
                     const Shared<TriangleBvh>& surface, bool cases, RiseNodes& nodes,
                     const RunContext& context) {
    RiseStage stage;
    const std::vector<NamedHole> drilled = holes_of(plan);
    if (drilled.empty()) {
        return stage;  // the air's stage has said so
    }
    const Shared<ThicknessMap> thickness =
        nodes.thickness.get({part, surface, std::nullopt, kThicknessSamples}, context);
    const Cutter cut = [&](std::size_t cells) {
        return nodes.grid.get({part, thickness, plan.air->up, plan.measures.mass.volume_mm3, cells},
                              context);
    };
    const std::optional<Followed> followed = as_followed(plan, cut, drilled, nodes, context);
    if (!followed) {
        return stage;
    }
    const std::vector<NamedHole>& holes = followed->holes;
    const PlaceFrame frame = place_frame(plan.measures.mass, plan.air->up);
    RiseBlock block;
    const Shared<Rise> rise = nodes.rise.get({followed->grid, followed->request}, context);
    block.rise = *rise;
    block.rise.steps_failed |= followed->steps_failed;
    block.story = rise_story(block.rise, frame);
    for (std::size_t i = 0; i < holes.size(); ++i) {
        block.holes.push_back(
            {holes[i].name, holes[i].where, holes[i].hole, block.rise.at_holes[i]});
    }
    say_where(block, frame);
    block.per_vertex_s = *nodes.vertices.get({part, followed->grid, rise}, context);
    stage.findings = rise_findings(block.rise, followed->request, frame);
    const int uncertain = plan.request.rise.uncertain;
    if (cases || uncertain > 0) {
        // To compare, fewer cells do, and all rows of the table rest on the same.
        const Shared<RiseGrid> few = cut(std::min(kCompared, followed->cells));
        const std::vector<NamedHole> seen = within_cells(*few, drilled);
        RiseRequest compared = request_of(plan, seen);
        compared.level = block.rise.level;  // the same way for all that is compared
        if (cases && !seen.empty()) {
            add_cases(block, plan, few, seen, compared, nodes, context);
        }
        if (uncertain > 0 && !seen.empty()) {
            add_uncertain(block, plan, few, compared, frame, nodes, context);
        }
    }
    stage.block = std::move(block);
    return stage;
}

}  // namespace cavigram::detail
