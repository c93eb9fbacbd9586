// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cavigram/core/told.h"
#include "cavigram/report/fields/blocks_detail.h"

namespace cavigram::detail {

const Block<Finding>& finding_block() {
    static const Block<Finding> block =
        Block<Finding>("Finding", "Something noticed about the file, the part or the plan.")
            .choice(
                "severity", {"note", "warning", "stop"},
                [](const Finding& f) { return to_text(f.severity); },
                "how much it matters; a stop makes the result unusable as it stands")
            .field(
                "code", [](const Finding& f) { return to_text(f.code); },
                "stable short name, for programs")
            .field(
                "text", [](const Finding& f) { return rendered(f.text); },
                "one sentence for a person, with the way out")
            .field("at_mm", &Finding::at_mm, "places that it concerns");
    return block;
}

const Block<InputBlock>& input_block() {
    static const Block<InputBlock> block =
        Block<InputBlock>("Input", "The file as it was understood.")
            .field("file", &InputBlock::file, "its name")
            .field("format", &InputBlock::format, "how it is written")
            .field("triangles", &InputBlock::triangles, "as read")
            .field("units", &InputBlock::units, "of the file's numbers; `any` with --longest")
            .choice("units_source", {"option", "file", "assumed", "longest"},
                    &InputBlock::units_source, "who says so")
            .field("scale", &InputBlock::scale, "millimeters for each of the file's numbers");
    return block;
}

namespace {

const Block<Fault>& fault_block() {
    static const Block<Fault> block =
        Block<Fault>("Fault", "What was wrong with the surface as read.")
            .field(
                "kind", [](const Fault& f) { return to_text(f.kind); }, "what it is")
            .field("count", &Fault::count, "of triangles, edges, vertices, holes, shells or pairs")
            .field("places_mm", &Fault::places_mm, "where")
            .field("sizes_mm", &Fault::sizes_mm, "rims' lengths, spikes' heights, the noise");
    return block;
}

const Block<RepairStep>& step_block() {
    static const Block<RepairStep> block =
        Block<RepairStep>("RepairStep", "One thing that was done to the surface.")
            .field(
                "action", [](const RepairStep& s) { return to_text(s.action); }, "what")
            .field("count", &RepairStep::count, "of vertices, triangles or holes it touched")
            .field("volume_change_mm3", &RepairStep::volume_change_mm3, "signed")
            .field("volume_below_mm3", &RepairStep::volume_below_mm3,
                   "how far below the true volume may lie because of it")
            .field("volume_above_mm3", &RepairStep::volume_above_mm3, "and above")
            .field("places_mm", &RepairStep::places_mm, "where, the worst first");
    return block;
}

const Block<ThinPlace>& region_block() {
    static const Block<ThinPlace> block =
        Block<ThinPlace>("ThinRegion", "A place where the part is thin.")
            .field(
                "least_mm", [](const ThinPlace& r) { return r.region.thickness_mm; },
                "5th percentile by area")
            .field(
                "typical_mm", [](const ThinPlace& r) { return r.region.typical_mm; },
                "median by area")
            .field(
                "area_mm2", [](const ThinPlace& r) { return r.region.area_mm2; },
                "of the surface there")
            .field(
                "at_mm", [](const ThinPlace& r) { return r.region.at_mm; }, "its middle")
            .choice(
                "reason", {"all_skin", "hard_to_fill", "below_limit"},
                [](const ThinPlace& r) {
                    return r.region.all_skin       ? "all_skin"
                           : r.region.hard_to_fill ? "hard_to_fill"
                                                   : "below_limit";
                },
                "why it is listed; `below_limit`: only the limit asked for says so")
            .field(
                "where", [](const ThinPlace& r) { return rendered(r.where.words); },
                "by ruler from the part's ends")
            .field(
                "from_end", [](const ThinPlace& r) { return r.where.end; },
                "the nearer end of the long axis")
            .field(
                "from_end_mm", [](const ThinPlace& r) { return r.where.from_end_mm; },
                "from that end, where it begins")
            .field(
                "to_end_mm", [](const ThinPlace& r) { return r.where.to_end_mm; },
                "and where it ends")
            .field(
                "pair", [](const ThinPlace& r) { return r.pair; },
                "index of its mirror image, if any")
            .field(
                "pair_where",
                [](const ThinPlace& r) {
                    return r.pair ? std::optional(rendered(r.pair_words)) : std::nullopt;
                },
                "words for both");
    return block;
}

const Block<Thickened>& thickened_block() {
    static const Block<Thickened> block =
        Block<Thickened>("Thickened", "What thicker walls would change (--thicken).")
            .field("gain_mm", &Thickened::gain_mm, "what every wall gains in all")
            .field("places_leaving", &Thickened::places_leaving, "that leave the list")
            .field("places_left", &Thickened::places_left, "that stay on it")
            .field("area_leaving_mm2", &Thickened::area_leaving_mm2, "of those that leave")
            .field("area_left_mm2", &Thickened::area_left_mm2, "of those that stay")
            .field("volume_leaving_mm3", &Thickened::volume_leaving_mm3,
                   "between the two sides of those that leave")
            .field("all_skin_leaving_mm2", &Thickened::all_skin_leaving_mm2,
                   "that is no longer all skin")
            .field("all_skin_left_mm2", &Thickened::all_skin_left_mm2, "that still is")
            .field("volume_added_mm3", &Thickened::volume_added_mm3, "to the whole part");
    return block;
}

const Block<SmallRegions>& small_regions_block() {
    static const Block<SmallRegions> block =
        Block<SmallRegions>("SmallRegions", "Thin places too small to be listed.")
            .field("count", &SmallRegions::count, "of them")
            .field("area_mm2", &SmallRegions::area_mm2, "together");
    return block;
}

}  // namespace

const Block<Part>& repair_block() {
    static const Block<Part> block =
        Block<Part>("Repair", "What mending found and did.")
            .choice(
                "verdict", {"sound", "repaired", "wrapped"},
                [](const Part& part) { return to_text(part.verdict()); },
                "how the part came to be closed")
            .list("faults", fault_block(), &Part::faults, "as found")
            .field(
                "crossing_pairs_left", [](const Part& part) { return part.crossings().size(); },
                "pairs of triangles that still cross")
            .list("steps", step_block(), &Part::steps, "in order")
            .field(
                "volume_uncertainty_mm3",
                [](const Part& part) {
                    return std::max(part.volume_below_mm3(), part.volume_above_mm3());
                },
                "how far off all steps together may have put the volume")
            .field(
                "triangles", [](const Part& part) { return part.mesh().triangles.size(); },
                "of the mended surface");
    return block;
}

const Block<MeasuresBlock>& measures_block() {
    static const Block<MeasuresBlock> block =
        Block<MeasuresBlock>("Measures", "What the part measures.")
            .field(
                "volume_mm3", [](const MeasuresBlock& m) { return m.mass.volume_mm3; },
                "exact for the mended mesh")
            .field("volume_low_mm3", &MeasuresBlock::volume_low_mm3, "likely range, from mending")
            .field("volume_high_mm3", &MeasuresBlock::volume_high_mm3, "likely range, from mending")
            .field(
                "area_mm2", [](const MeasuresBlock& m) { return m.mass.area_mm2; },
                "of the surface, inner walls included")
            .field(
                "bounds_min_mm", [](const MeasuresBlock& m) { return m.mass.bounds_mm.min(); },
                "lower corner of the box around it")
            .field(
                "bounds_max_mm", [](const MeasuresBlock& m) { return m.mass.bounds_mm.max(); },
                "upper corner")
            .field(
                "centroid_mm", [](const MeasuresBlock& m) { return m.mass.centroid_mm; },
                "center of the volume")
            .field("shells", &MeasuresBlock::shells, "closed surfaces")
            .field("genus", &MeasuresBlock::genus, "holes through it, over all shells");
    return block;
}

const Block<ThinBlock>& thin_block() {
    static const Block<ThinBlock> block =
        Block<ThinBlock>("Thin", "Where the part is thin.")
            .field("limit_mm", &ThinBlock::limit_mm, "below which a place is listed")
            .field("skin_mm", &ThinBlock::skin_mm, "below twice this a wall is all skin")
            .field("all_skin_area_mm2", &ThinBlock::all_skin_area_mm2, "of such walls")
            .list("regions", region_block(), &ThinBlock::places, "the thinnest first")
            .object("small_regions", small_regions_block(), &ThinBlock::small,
                    "those too small to be listed")
            .object("thickened", thickened_block(), &ThinBlock::thickened,
                    "what thicker walls would change, if asked for");
    return block;
}

}  // namespace cavigram::detail
