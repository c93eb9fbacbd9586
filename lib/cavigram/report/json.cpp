// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/json.h"

#include <cmath>

#include <nlohmann/json.hpp>

#include "cavigram/report/guesses.h"

namespace cavigram {

namespace {

using Json = nlohmann::ordered_json;

Json place(const Vec3& p) {
    return Json::array({p.x(), p.y(), p.z()});
}

Json places(const std::vector<std::array<double, 3>>& list) {
    Json json = Json::array();
    for (const auto& p : list) {
        json.push_back({p[0], p[1], p[2]});
    }
    return json;
}

Json input_json(const InputBlock& input) {
    return {{"file", input.file},
            {"format", input.format},
            {"triangles", input.triangles},
            {"units", input.units},
            {"units_source", input.units_source},
            {"scale", input.scale}};
}

Json faults_json(const std::vector<Fault>& faults) {
    Json list = Json::array();
    for (const Fault& fault : faults) {
        list.push_back({{"kind", fault.kind},
                        {"count", fault.count},
                        {"places_mm", places(fault.places_mm)},
                        {"sizes_mm", fault.sizes_mm}});
    }
    return list;
}

Json repair_json(const Part& part) {
    Json steps = Json::array();
    for (const RepairStep& step : part.steps()) {
        steps.push_back({{"action", step.action},
                         {"count", step.count},
                         {"volume_change_mm3", step.volume_change_mm3},
                         {"volume_below_mm3", step.volume_below_mm3},
                         {"volume_above_mm3", step.volume_above_mm3},
                         {"places_mm", places(step.places_mm)}});
    }
    return {{"verdict", to_text(part.verdict())},
            {"faults", faults_json(part.faults())},
            {"crossing_pairs_left", part.crossings().size()},
            {"steps", steps},
            {"volume_uncertainty_mm3", std::max(part.volume_below_mm3(), part.volume_above_mm3())},
            {"triangles", part.mesh().triangles.size()}};
}

Json measures_json(const MeasuresBlock& measures) {
    return {{"volume_mm3", measures.mass.volume_mm3},
            {"volume_low_mm3", measures.volume_low_mm3},
            {"volume_high_mm3", measures.volume_high_mm3},
            {"area_mm2", measures.mass.area_mm2},
            {"bounds_min_mm", place(measures.mass.bounds_mm.min)},
            {"bounds_max_mm", place(measures.mass.bounds_mm.max)},
            {"centroid_mm", place(measures.mass.centroid_mm)},
            {"shells", measures.shells},
            {"genus", measures.genus}};
}

Json thin_json(const ThinBlock& thin) {
    Json regions = Json::array();
    for (std::size_t i = 0; i < thin.regions.regions.size(); ++i) {
        const ThinRegion& region = thin.regions.regions[i];
        const ThinPlace& place_of = thin.places[i];
        regions.push_back({{"least_mm", region.thickness_mm},
                           {"typical_mm", region.typical_mm},
                           {"area_mm2", region.area_mm2},
                           {"at_mm", place(region.at_mm)},
                           {"reason", region.all_skin       ? "all_skin"
                                      : region.hard_to_fill ? "hard_to_fill"
                                                            : "below_limit"},
                           {"where", place_of.where.words},
                           {"from_end", place_of.where.end},
                           {"from_end_mm", place_of.where.from_end_mm},
                           {"to_end_mm", place_of.where.to_end_mm}});
        if (place_of.pair) {
            regions.back()["pair"] = *place_of.pair;
            regions.back()["pair_where"] = place_of.pair_words;
        }
    }
    Json json = {
        {"limit_mm", thin.limit_mm},
        {"skin_mm", thin.skin_mm},
        {"all_skin_area_mm2", thin.all_skin_area_mm2},
        {"regions", regions},
        {"small_regions",
         {{"count", thin.regions.small_count}, {"area_mm2", thin.regions.small_area_mm2}}}};
    if (thin.thickened) {
        const Thickened& thicker = *thin.thickened;
        json["thickened"] = {{"gain_mm", thicker.gain_mm},
                             {"places_leaving", thicker.places_leaving},
                             {"places_left", thicker.places_left},
                             {"area_leaving_mm2", thicker.area_leaving_mm2},
                             {"area_left_mm2", thicker.area_left_mm2},
                             {"volume_leaving_mm3", thicker.volume_leaving_mm3},
                             {"all_skin_leaving_mm2", thicker.all_skin_leaving_mm2},
                             {"all_skin_left_mm2", thicker.all_skin_left_mm2},
                             {"volume_added_mm3", thicker.volume_added_mm3}};
    }
    return json;
}

Json foam_json(const FoamBlock& foam) {
    const FoamMass& mass = foam.mass;
    Json json = {{"card", foam.card.name},
                 {"typical_values", foam.card.typical},
                 {"mix_a", foam.card.mix.a},
                 {"mix_b", foam.card.mix.b},
                 {"mix_chosen", foam.mix_chosen},
                 {"mix_at_its_end", foam.mix_clamped},
                 {"basis", to_text(foam.basis)},
                 {"free_rise_kg_m3", mass.free_rise_kg_m3},
                 {"free_rise_low_kg_m3", foam.request.free_rise_kg_m3.low},
                 {"free_rise_high_kg_m3", foam.request.free_rise_kg_m3.high},
                 {"air_kpa", foam.air_kpa},
                 {"packing_factor", mass.packing_factor},
                 {"molded_density_kg_m3", mass.molded_density_kg_m3},
                 {"skin_measured", mass.skin_measured},
                 {"skin_thickness_mm", mass.skin_thickness_mm},
                 {"skin_thickness_low_mm", mass.skin_thickness_low_mm},
                 {"skin_thickness_high_mm", mass.skin_thickness_high_mm},
                 {"skin_density_kg_m3", mass.skin_density_kg_m3},
                 {"skin_profile", to_text(foam.request.profile)},
                 {"core_density_kg_m3", mass.core_density_kg_m3},
                 {"skin_volume_mm3", mass.skin_volume_mm3},
                 {"skin_volume_error_mm3", foam.skin_error_share * mass.skin_volume_mm3},
                 {"core_volume_mm3", mass.core_volume_mm3},
                 {"unfilled_mm3", mass.unfilled_mm3},
                 {"skin_mass_g", mass.skin_mass_g},
                 {"core_mass_g", mass.core_mass_g},
                 {"part_mass_g", mass.part_mass_g},
                 {"part_mass_low_g", mass.part_mass_low_g},
                 {"part_mass_high_g", mass.part_mass_high_g},
                 {"deepest_mm", foam.depth.deepest.depth_mm},
                 {"deepest_at_mm", place(foam.depth.deepest.at_mm)},
                 {"cell_mm", foam.depth.cell_mm},
                 {"expansion_ratio", foam.expansion_ratio},
                 {"liquid_share", foam.liquid_share},
                 {"pressure_upper_kpa", foam.window.strap_for_kpa}};
    if (foam.other) {
        const OtherMix& other = *foam.other;
        json["other_mix"] = {{"mix_a", other.mix.a},
                             {"mix_b", other.mix.b},
                             {"packing_factor", other.packing_factor},
                             {"part_a_g", other.part_a_g},
                             {"part_b_g", other.part_b_g},
                             {"pressure_kpa", other.pressure_kpa},
                             {"firmer", other.firmer}};
    }
    if (foam.card.index) {
        json["isocyanate_index"] = *foam.card.index;
    }
    if (foam.density) {
        const DensityMap& density = *foam.density;
        json["density_map"] = {
            {"deepest_mm", DensityMapOptions{}.deepest_mm},
            {"least_kg_m3", density.least_kg_m3},
            {"p10_kg_m3", density.p10_kg_m3},
            {"median_kg_m3", density.median_kg_m3},
            {"p90_kg_m3", density.p90_kg_m3},
            {"most_kg_m3", density.most_kg_m3},
            {"area_mm2", density.area_mm2},
            {"all_skin_area_mm2", density.all_skin_area_mm2},
            {"edge_area_mm2", density.edge_area_mm2},
        };
    }
    for (const AlsoPoured& other : foam.also) {
        json["also"].push_back({{"file", other.file},
                                {"volume_mm3", other.volume_mm3},
                                {"part_mass_g", other.part_mass_g}});
    }
    return json;
}

Json batch_json(const Batch& batch) {
    return {{"pour_mass_g", batch.pour_mass_g},
            {"part_a_g", batch.part_a_g},
            {"part_b_g", batch.part_b_g},
            {"pigment_g", batch.pigment_g},
            {"waste_g", batch.waste_g},
            {"spare_g", batch.spare_g},
            {"batches", batch.batches},
            {"cups_each", batch.cups_each},
            {"copies_per_kit", batch.copies_per_kit},
            {"cost_per_copy", batch.cost_per_copy},
            {"scale_readability_g", batch.scale_readability_g},
            {"ratio_off_percent", batch.ratio_off_percent},
            {"ratio_uncertainty_percent", batch.ratio_uncertainty_percent},
            {"ratio_true_percent", batch.ratio_true_percent},
            {"weighing", to_text(batch.request.weighing)},
            {"least_batch_g", batch.least_batch_g},
            {"scale_needed_g", batch.scale_needed_g},
            {"liquid_ml", batch.liquid_ml},
            {"cup_ml", batch.cup_ml},
            {"total_a_g", batch.total_a_g},
            {"total_b_g", batch.total_b_g},
            {"total_pigment_g", batch.total_pigment_g}};
}

Json window_json(const PourWindow& window) {
    return {
        {"fills_from_low_g", window.fills_from_low_g},   {"fills_from_g", window.fills_from_g},
        {"fills_from_high_g", window.fills_from_high_g}, {"planned_g", window.planned_g},
        {"presses_over_g", window.presses_over_g},       {"pressure_kpa", window.pressure_kpa},
        {"strap_for_kpa", window.strap_for_kpa},         {"mold_holds_kpa", window.mold_holds_kpa}};
}

Json balance_json(const Balance& balance, double skin_closes_to_share) {
    return {{"part_g", balance.part_g},           {"holes_g", balance.holes_g},
            {"flash_g", balance.flash_g},         {"spare_g", balance.spare_g},
            {"waste_g", balance.waste_g},         {"residue_g", balance.residue_g},
            {"rounding_g", balance.rounding_g},   {"pigment_g", balance.pigment_g},
            {"part_a_g", balance.part_a_g},       {"part_b_g", balance.part_b_g},
            {"closes_to_g", balance.closes_to_g}, {"skin_closes_to_share", skin_closes_to_share}};
}

Json guesses_json(const Plan& plan) {
    Json json = Json::array();
    for (const Guess& guess : guesses_of(plan)) {
        json.push_back(
            {{"what", guess.what}, {"value", guess.value}, {"replace_with", guess.replace_with}});
    }
    return json;
}

void add_air_details(Json& json, const AirBlock& air) {
    Json left_after = Json::array();
    for (const LeftAfter& left : air.left_after) {
        left_after.push_back({{"vents", left.vents},
                              {"trapped_mm3", left.trapped_mm3},
                              {"squeezed_mm3", left.squeezed_mm3},
                              {"squeezed_most_mm3", left.trapped_mm3}});
    }
    json["left_after"] = left_after;
    json["pressure"] = {{"low_kpa", 0.0}, {"high_kpa", air.pressure_kpa}, {"known", true}};
    if (air.show) {
        json["show"] = {{"cost_mm3", air.show->cost_mm3}, {"holes_on_it", air.show->holes_on_it}};
    }
    Json pools = Json::array();
    for (const Pool& pool : air.pools.pools) {
        Json row = {{"floor_mm", place(pool.floor_mm)},
                    {"volume_mm3", pool.volume_mm3},
                    {"depth_mm", pool.depth_mm},
                    {"entry_mm3", pool.entry_mm3},
                    {"inside_pool", pool.parent}};
        if (air.pools.level_height_mm) {
            row["liquid_gets_there"] = pool.reached;
        }
        pools.push_back(row);
    }
    json["liquid"] = {{"basins", pools}};
    if (air.pools.landing_mm) {
        json["liquid"]["lands_mm"] = place(*air.pools.landing_mm);
    }
    if (air.pools.level_height_mm && !air.pools.pools.empty()) {
        json["liquid"]["stands_mm"] =
            *air.pools.level_height_mm - air.pools.pools.front().floor_height_mm;
    }
    if (air.necks) {
        Json held = Json::array();
        for (const HeldBack& h : air.necks->held_back) {
            held.push_back({{"peak_mm", place(h.peak_mm)}, {"volume_mm3", h.volume_mm3}});
        }
        json["necks"] = {{"width_mm", air.neck_mm},
                         {"spacing_mm", air.necks->spacing_mm},
                         {"trapped_open_mm3", air.necks->open_mm3},
                         {"trapped_closed_mm3", air.necks->closed_mm3},
                         {"held_back", held}};
    }
}

// What is drilled where: a vent, or the cover of a pour hole; 0 for a plug.
double opening_drill_mm(const AirBlock& air, const Opening& opening) {
    if (opening.pour_hole) {
        return air.cover_drill_mm;
    }
    for (const SizedVent& vent : air.vents) {
        if (vent.at_mm == opening.place_mm) {
            return vent.diameter_mm;
        }
    }
    return 0.0;
}

Json air_json(const AirBlock& air) {
    Json openings = Json::array();
    for (std::size_t i = 0; i < air.openings.size(); ++i) {
        openings.push_back({{"kind", air.openings[i].pour_hole ? "pour_hole" : "vent"},
                            {"at_mm", place(air.openings[i].place_mm)},
                            {"where", air.openings_where[i]},
                            {"lets_air_out", air.openings[i].lets_air_out},
                            {"given", air.openings[i].given},
                            {"diameter_mm", opening_drill_mm(air, air.openings[i])}});
    }
    Json pockets = Json::array();
    for (const Pocket& pocket : air.unvented.pockets) {
        pockets.push_back({{"peak_mm", place(pocket.peak_mm)},
                           {"volume_mm3", pocket.volume_mm3},
                           {"depth_mm", pocket.depth_mm},
                           {"inside_pocket", pocket.parent}});
    }
    Json vents = Json::array();
    for (const SizedVent& vent : air.vents) {
        vents.push_back({{"at_mm", place(vent.at_mm)},
                         {"where", vent.where},
                         {"frees_mm3", vent.frees_mm3},
                         {"diameter_mm", vent.diameter_mm},
                         {"given", vent.given},
                         {"merged", vent.merged}});
    }
    Json json = {{"up", place(air.up)},
                 {"pour_hole_after", to_text(air.pour_hole_after)},
                 {"openings", openings},
                 {"pockets", pockets},
                 {"small_pockets",
                  {{"count", air.unvented.hidden_count},
                   {"volume_mm3", air.unvented.hidden_mm3},
                   {"below_mm3", air.smallest_pocket_mm3}}},
                 {"trapped_unvented_mm3", air.unvented.total_mm3},
                 {"vents", vents},
                 {"trapped_vented_mm3", air.trapped_vented_mm3},
                 {"air_rate_mm3_s", air.air_rate_mm3_s},
                 {"second_method",
                  {{"columns", air.second_columns},
                   {"piece_difference_mm3", air.second_piece_mm3},
                   {"volume_difference_mm3", air.second_volume_mm3}}}};
    json["rests_on"] = {{"card", air.rests_on.card},
                        {"temperature_c", air.rests_on.temperature_c},
                        {"packing_factor", air.rests_on.packing_factor},
                        {"free_rise_kg_m3", air.rests_on.free_rise_kg_m3}};
    add_air_details(json, air);
    return json;
}

Json orientations_json(const Orientations& found, bool up_given) {
    Json rows = Json::array();
    for (const RankedWayUp& row : found.rows) {
        const WayUp& way = row.value;
        rows.push_back({{"up", place(way.up)},
                        {"rank", row.rank},
                        {"vents_needed", way.vents_needed},
                        {"trapped_unvented_mm3", way.unvented_mm3},
                        {"trapped_vented_mm3", way.vented_mm3},
                        {"trapped_leaning_mm3", way.worst_vented_mm3},
                        {"forgiven_lean_deg", row.lean_deg},
                        {"height_mm", way.height_mm},
                        {"holes_on_show", way.holes_on_show},
                        {"block_length_mm", way.footing.block_length_mm},
                        {"block_width_mm", way.footing.block_width_mm},
                        {"foot_mm2", way.footing.foot_mm2},
                        {"foot_margin_mm", way.footing.margin_mm},
                        {"stands", way.footing.stands()},
                        {"path_mm", row.path_mm},
                        {"score", row.score},
                        {"pareto", row.pareto},
                        {"asked", row.asked && up_given},
                        {"as_the_file_stands", row.asked && !up_given},
                        {"reasons", row.reasons}});
        if (found.pour_hole_after == PourHoleAfter::none) {
            rows.back().erase("path_mm");
        }
    }
    return rows;
}

Json bench_json(const BenchPlan& bench) {
    Json methods = Json::array();
    for (const MethodBudget& method : bench.methods) {
        Json steps = Json::array();
        for (const BenchStep& step : method.steps) {
            steps.push_back({{"kind", to_text(step.kind)},
                             {"name", step.name},
                             {"seconds", step.seconds},
                             {"start_s", step.start_s},
                             {"end_s", step.end_s},
                             {"deadline", step.deadline ? Json(to_text(*step.deadline)) : Json()},
                             {"by_s", step.deadline ? Json(step.by_s) : Json()}});
        }
        methods.push_back({{"method", to_text(method.method)},
                           {"steps", steps},
                           {"total_s", method.total_s},
                           {"spare_s", method.spare_s},
                           {"tightest", to_text(method.tightest)},
                           {"possible", method.possible},
                           {"why_not", method.why_not}});
    }
    return {{"temperature_c", bench.temperature_c},
            {"work_time_s", bench.work_time_s},
            {"mix_s", bench.mix_s},
            {"pour_s", bench.pour_s},
            {"close_s", bench.close_s},
            {"spare_s", bench.spare_s},
            {"tightest", to_text(bench.tightest)},
            {"method", to_text(bench.method)},
            {"poured_by_s", bench.poured_by_s},
            {"closed_by_s", bench.closed_by_s},
            {"turned_by_s", bench.turned_by_s},
            {"strapped_by_s", bench.strapped_by_s},
            {"foam_at_top_s", bench.foam_at_top_s ? Json(*bench.foam_at_top_s) : Json()},
            {"most_pressure_s", bench.most_pressure_s},
            {"demold_min_s", bench.demold_min_s},
            {"demold_max_s", bench.demold_max_s},
            {"pour_hole_needed_mm", bench.hole_needed_mm},
            {"up", place(bench.request.up)},
            {"open_half_mm3", bench.request.open_half_mm3},
            {"cups", bench.request.cups},
            {"molds", bench.request.molds},
            {"liquid_depth_mm", bench.liquid_depth_mm},
            {"film_mm", bench.film_mm},
            {"methods", methods}};
}

Json findings_json(const std::vector<Finding>& findings) {
    Json json = Json::array();
    for (const Finding& finding : findings) {
        json.push_back({{"severity", to_text(finding.severity)},
                        {"code", finding.code},
                        {"text", finding.text},
                        {"at_mm", places(finding.at_mm)}});
    }
    return json;
}

}  // namespace

std::string json_text(const Plan& plan) {
    Json json;
    json["schema"] = "cavigram/1";
    json["program"] = {{"version", CAVIGRAM_VERSION}};
    json["input"] = input_json(plan.input);
    json["repair"] = repair_json(*plan.part);
    json["measures"] = measures_json(plan.measures);
    if (plan.thin) {
        json["thin"] = thin_json(*plan.thin);
    }
    if (plan.foam) {
        json["foam"] = foam_json(*plan.foam);
        json["window"] = window_json(plan.foam->window);
    }
    if (plan.batch) {
        json["batch"] = batch_json(*plan.batch);
        json["balance"] = balance_json(plan.batch->balance, plan.foam->skin_closes_to_share);
    }
    if (plan.finish) {
        json["finish"] = {{"area_mm2", plan.finish->area_mm2},
                          {"rate_g_m2", plan.finish->rate_g_m2},
                          {"rate_is_guess", plan.finish->rate_is_guess},
                          {"grams", plan.finish->grams},
                          {"total_g", plan.finish->total_g}};
    }
    if (plan.air) {
        json["air"] = air_json(*plan.air);
    }
    if (plan.orientations) {
        json["orientations"] = orientations_json(*plan.orientations, plan.up_given);
    }
    if (plan.bench) {
        json["bench"] = bench_json(*plan.bench);
        json["bench"]["pour_hole_after"] = to_text(plan.pour_hole_after);
    }
    json["findings"] = findings_json(plan.findings);
    json["guesses"] = guesses_json(plan);
    json["cautions"] = plan.cautions;
    // A file name need not be valid UTF-8; what is not is replaced rather than refused.
    return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace cavigram
