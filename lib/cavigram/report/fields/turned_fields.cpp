// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/fields/blocks_detail.h"
#include "cavigram/report/fields/sheet_detail.h"
#include "cavigram/report/shading_detail.h"

namespace cavigram::detail {

namespace {

std::string packed_triangles(const PocketShape& shape) {
    return base64({reinterpret_cast<const char*>(shape.triangles.data()),
                   shape.triangles.size() * sizeof(shape.triangles[0])});
}

auto of_pocket(auto Pocket::*member) {
    return [member](const PocketShape& shape) { return shape.pocket.*member; };
}

const Block<PocketShape>& shape_block() {
    static const Block<PocketShape> block =
        Block<PocketShape>("PocketShape", "A pocket of air as it is drawn.")
            .field("peak_mm", of_pocket(&Pocket::peak_mm), "its highest place")
            .field("volume_mm3", of_pocket(&Pocket::volume_mm3), "with pockets nested in it")
            .field("depth_mm", of_pocket(&Pocket::depth_mm), "from its top down")
            .field("inside_pocket", of_pocket(&Pocket::parent),
                   "index of the pocket it is nested in; -1: none")
            .field("level_mm", of_pocket(&Pocket::spill_height_mm),
                   "it lies above this height, as a place times `up`")
            .field("triangles", packed_triangles,
                   "base64, 32 bits: those of the surface that is shown that reach above it");
    return block;
}

const Block<MapWay>& map_way_block() {
    static const Block<MapWay> block = Block<MapWay>("MapWay", "A ranked way up.")
                                           .field("rank", &MapWay::rank, "1: recommended")
                                           .field("up", &MapWay::up, "its direction")
                                           .field("planned", &MapWay::planned, "the plan's own");
    return block;
}

auto of_air(auto AirBlock::*member) {
    return [member](const TurnedAir& turned) { return turned.air.*member; };
}

}  // namespace

const Block<TurnedAir>& turned_air_block() {
    static const Block<TurnedAir> block =
        Block<TurnedAir>("TurnedAir", "The air for a way up, while a person turns the part.")
            .field("up", of_air(&AirBlock::up), "how it stands while it rises")
            .choice(
                "pour_hole_after", {"vented", "plugged", "none"},
                [](const TurnedAir& turned) { return to_text(turned.air.pour_hole_after); },
                "what becomes of the pour hole")
            .field("pour_hole_mm", of_air(&AirBlock::pour_hole_mm),
                   "width of each pour hole; 0: there is none")
            .field("no_opening", of_air(&AirBlock::no_opening),
                   "without vents nothing lets air out")
            .list("openings", opening_block(), of_air(&AirBlock::openings),
                  "pour holes, and vents given")
            .list("vents", vent_block(), of_air(&AirBlock::vents), "the best first")
            .field("smallest_pocket_mm3", of_air(&AirBlock::smallest_pocket_mm3),
                   "air below this matters little")
            .field(
                "trapped_unvented_mm3",
                [](const TurnedAir& turned) { return turned.air.unvented.total_mm3; },
                "stays without vents")
            .field("trapped_vented_mm3", of_air(&AirBlock::trapped_vented_mm3), "stays with them")
            .field("squeezed_mm3", &TurnedAir::squeezed_mm3, "of that, once the foam presses on it")
            .field("squeezed_g", &TurnedAir::squeezed_g, "foam that is missing there")
            .list("unvented", shape_block(), &TurnedAir::unvented, "pockets without vents")
            .list("left", shape_block(), &TurnedAir::left, "pockets that stay with vents");
    return block;
}

const Block<PartModel>& part_model_block() {
    static const Block<PartModel> block =
        Block<PartModel>("PartModel", "The part in 3D, and all ways up.")
            .object("display", sheet_display_block(), &PartModel::display, "the part")
            .field("up", &PartModel::up, "planned")
            .list("ways", map_way_block(), &PartModel::ways, "ranked, best first")
            .field("map", &PartModel::map,
                   "base64, 32-bit floats, four a direction: up, and the air that stays in mm3");
    return block;
}

}  // namespace cavigram::detail
