// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/mold_stage.h"

#include <algorithm>
#include <limits>
#include <string>
#include <utility>

#include <fmt/core.h>

#include "cavigram/cavity/height_volume.h"
#include "cavigram/core/error.h"
#include "cavigram/core/told.h"
#include "cavigram/measure/silhouette.h"
#include "cavigram/molding/mold_heat.h"
#include "cavigram/pour/footing.h"

namespace cavigram {

namespace {

// How heat runs in the stirred liquid: conductivity and heat capacity of liquid polyurethanes, from
// memory.
constexpr double kLiquid_w_mk = 0.15;
constexpr double kLiquid_j_kgk = 1800.0;

// The outline along the pull: area right to about a cell times its length.
constexpr int kOutlineCells = 1000;

// Fills in how the part lies along the pull.
void take_extents(MoldShape& shape, const TriMesh& mesh, const Vec3& pull, const Vec3& center_mm) {
    shape.lowest_mm = std::numeric_limits<double>::infinity();
    double highest = -shape.lowest_mm;
    for (const Triangle& t : mesh.triangles) {
        for (const std::int32_t v : t) {
            const double h = pull.dot(mesh.vertices[static_cast<std::size_t>(v)]);
            shape.lowest_mm = std::min(shape.lowest_mm, h);
            highest = std::max(highest, h);
        }
    }
    shape.height_mm = highest - shape.lowest_mm;
    const Footing foot = footing(mesh, pull, center_mm);
    shape.length_mm = foot.block_length_mm;
    shape.width_mm = foot.block_width_mm;
}

void add(std::vector<Finding>& findings, const std::vector<Finding>& more) {
    findings.insert(findings.end(), more.begin(), more.end());
}

// Puts the block together.
class MoldMaker {
  public:
    MoldMaker(const MoldOptions& options, const MoldConditions& conditions, const MoldShape& shape,
              const RunContext& context)
        : options_(options), conditions_(conditions), shape_(shape), context_(context) {}

    MoldStage make() {
        MoldBlock& block = stage_.block;
        block.request = options_;
        block.card = rubber_of(options_);
        const MoldShapeRequest wanted = mold_shape_request(options_, conditions_.up);
        block.pull = wanted.pull;
        block.rubber_mm = wanted.rubber_mm;
        jacket_mm_ = wanted.jacket_mm;
        block.jacket_mm = options_.kind == MoldKind::box ? 0.0 : jacket_mm_;
        block.offset = shape_.offset;
        box_ = mold_box(box_request());
        if (options_.kind == MoldKind::box) {
            take_box();
        } else {
            take_shell();
        }
        take_channels();
        take_rubber();
        for (const MoldKind kind : {MoldKind::box, MoldKind::brushed, MoldKind::jacketed}) {
            block.kinds.push_back(amounts_of(kind));
        }
        take_straps();
        take_shrinkage();
        take_heat();
        block.master_lift_n = master_lift_n(block.offset.solid_mm3, options_.master_g.value_or(0.0),
                                            block.card.density_kg_m3);
        judge_weight();
        return std::move(stage_);
    }

  private:
    [[nodiscard]] MoldBoxRequest box_request() const {
        const double rubber = stage_.block.rubber_mm;
        return {shape_.length_mm,
                shape_.width_mm,
                shape_.height_mm,
                rubber,
                rubber,
                rubber,
                options_.board_mm.value_or(kBoard_mm),
                options_.parting_mm};
    }

    void take_box() {
        MoldBlock& block = stage_.block;
        block.box = box_;
        Stock stock;
        if (options_.stock_mm) {
            stock.length_mm = options_.stock_mm->maxCoeff();
            stock.width_mm = options_.stock_mm->minCoeff();
        }
        block.layout = board_layout(box_.boards, stock);
        add(stage_.findings, block.layout->findings);
        block.lower_half_mm = box_.lower_half_mm;
        block.upper_half_mm = box_.upper_half_mm;
    }

    void take_shell() {
        MoldBlock& block = stage_.block;
        block.jacket = jacket_amounts(jacket_request());
        block.lower_half_mm = box_.lower_half_mm + jacket_mm_;
        block.upper_half_mm = box_.upper_half_mm + jacket_mm_;
        judge_jacket();
    }

    [[nodiscard]] JacketRequest jacket_request() const {
        const std::vector<OuterShell>& shells = stage_.block.offset.shells;
        JacketRequest request;
        request.material = options_.jacket_of;
        request.volume_mm3 = shells[1].volume_mm3 - shells[0].volume_mm3;
        request.water_per_plaster = options_.water_per_plaster.value_or(kWaterPerPlaster);
        return request;
    }

    void judge_jacket() {
        const MoldBlock& block = stage_.block;
        const double rubber = block.rubber_mm;
        const std::optional<FacingGap> gap = narrowest_gap(
            conditions_.mesh, conditions_.surface,
            {.more_than_mm = 2.0 * rubber, .less_than_mm = 2.0 * (rubber + jacket_mm_)}, context_);
        if (!gap) {
            return;
        }
        const Vec3& at = gap->at_mm;
        const double room = 0.5 * gap->width_mm - rubber;
        // No jacket is thinner than a layer of cloth and resin.
        constexpr double kThinnest_mm = 2.0;
        const std::string thinner =
            room > kThinnest_mm ? fmt::format(", or make the jacket thinner than {} ({})",
                                              told(room, Kind::length, 2), setting("jacket"))
                                : std::string();
        stage_.findings.push_back(
            {Severity::warning,
             "jacket_meets_itself",
             fmt::format("Two walls stand {} apart near {}, and {} of rubber on both leave less "
                         "than twice the jacket: it would meet itself there and lock; fill that "
                         "gap with rubber{}.",
                         told(gap->width_mm, Kind::length), told_place(at.x(), at.y(), at.z()),
                         told_own(rubber, Kind::length, 3), thinner),
             {{at.x(), at.y(), at.z()}}});
    }

    void take_channels() {
        MoldBlock& block = stage_.block;
        block.holes = conditions_.holes;
        for (const MoldHole& hole : block.holes) {
            const double length =
                options_.kind == MoldKind::box
                    ? block_length_mm(conditions_.mesh, hole.at_mm, conditions_.up, block.rubber_mm)
                    : shell_length_mm(conditions_.surface, hole.at_mm, conditions_.up,
                                      block.rubber_mm + jacket_mm_);
            block.channels.push_back({hole.at_mm, hole.width_mm, length});
        }
    }

    // What the holes take of the rubber; of a shell only as far as the rubber goes.
    [[nodiscard]] double holes_mm3(MoldKind kind) const {
        double sum = 0.0;
        for (Channel channel : stage_.block.channels) {
            if (kind != MoldKind::box) {
                channel.length_mm = std::min(channel.length_mm, stage_.block.rubber_mm);
            }
            sum += channel.volume_mm3();
        }
        return sum;
    }

    [[nodiscard]] RubberRequest rubber_request(MoldKind kind) const {
        const MoldBlock& block = stage_.block;
        const OuterShell& shell = block.offset.shells.front();
        RubberRequest request;
        request.kind = kind;
        request.card = block.card;
        request.thickness_mm = block.rubber_mm;
        const bool is_box = kind == MoldKind::box;
        request.around_mm3 = is_box ? box_.block_mm3 - block.offset.solid_mm3 : shell.volume_mm3;
        request.error_mm3 = is_box ? 0.0 : shell.error_mm3;
        // Holes as wide as the mold are a typing error that the air's stage tells; no rubber less
        // than none.
        request.holes_mm3 = std::min(holes_mm3(kind), 0.5 * request.around_mm3);
        request.waste_share = options_.rubber_waste_share;
        return request;
    }

    void take_rubber() {
        MoldBlock& block = stage_.block;
        block.rubber = rubber_amounts(rubber_request(options_.kind));
        add(stage_.findings, block.rubber.findings);
        if (options_.kind != MoldKind::box) {
            return;
        }
        // The lower half's block, less the part below the parting.
        const HeightVolume heights(shape_.outer ? *shape_.outer : conditions_.mesh, block.pull,
                                   context_);
        const double parting = box_.lower_half_mm - box_.request.floor_mm;
        const double half_mm3 = box_.block_length_mm * box_.block_width_mm * box_.lower_half_mm -
                                heights.volume_below_mm3(heights.lowest_mm() + parting);
        block.lower_half_g = block.rubber.gross_g * half_mm3 / block.rubber.request.around_mm3;
    }

    [[nodiscard]] KindAmounts amounts_of(MoldKind kind) const {
        const Rubber rubber = rubber_amounts(rubber_request(kind));
        KindAmounts amounts{kind, rubber.gross_g, 0.0, rubber.net_g + conditions_.casting_g};
        if (kind != MoldKind::box) {
            const Jacket jacket = jacket_amounts(jacket_request());
            amounts.jacket_g = jacket.powder_g + jacket.water_g + jacket.resin_g;
            amounts.weight_g += jacket.heaviest_g;
        }
        return amounts;
    }

    void take_straps() {
        MoldBlock& block = stage_.block;
        block.projected_area_mm2 = shape_.projected_area_mm2;
        StrapRequest request;
        request.pressure_kpa = conditions_.pressure_kpa;
        request.strap_for_kpa = conditions_.strap_for_kpa;
        request.projected_area_mm2 = block.projected_area_mm2;
        request.run_mm = shape_.length_mm + 2.0 * (block.rubber_mm + block.jacket_mm);
        request.holds_n = options_.strap_holds_n;
        request.straps = options_.straps;
        block.straps = plan_straps(request);
        add(stage_.findings, block.straps.findings);
    }

    void take_shrinkage() {
        MoldBlock& block = stage_.block;
        const double foam = options_.foam_shrink_share.value_or(0.0);
        const Ranged& rubber = block.card.shrinkage_share;
        block.shrink_low_share = combined_shrink(rubber.low, foam);
        block.shrink_share = combined_shrink(rubber.value, foam);
        block.shrink_high_share = combined_shrink(rubber.high, foam);
    }

    void take_heat() {
        MoldBlock& block = stage_.block;
        const RubberCard& card = block.card;
        const HeatRun rubber{card.conductivity_w_mk, card.density_kg_m3, card.capacity_j_kgk};
        block.heat_soak_s = heat_soak_s(block.rubber_mm, rubber);
        if (conditions_.warm_mold_c) {
            const HeatRun liquid{kLiquid_w_mk, conditions_.liquid_kg_m3, kLiquid_j_kgk};
            block.contact_c = contact_temperature_c(rubber, *conditions_.warm_mold_c, liquid,
                                                    conditions_.liquid_c);
        }
    }

    void judge_weight() {
        MoldBlock& block = stage_.block;
        block.weight_g = block.rubber.net_g + conditions_.casting_g +
                         (block.jacket ? block.jacket->heaviest_g : 0.0);
        if (block.weight_g > kLift_g) {
            stage_.findings.push_back(
                {Severity::warning,
                 "heavy_to_lift",
                 fmt::format(
                     "The closed mold weighs about {}, and one person should lift no more "
                     "than {} even where all else is ideal; lift it by two or with a hoist, "
                     "or build it thinner.",
                     told(block.weight_g, Kind::mass, 2), told(kLift_g, Kind::mass, 2)),
                 {}});
        }
    }

    const MoldOptions& options_;
    const MoldConditions& conditions_;
    const MoldShape& shape_;
    const RunContext& context_;
    MoldStage stage_;
    MoldBox box_;
    double jacket_mm_ = 0.0;  // also where the kind has none, for the kinds beside it
};

}  // namespace

RubberCard rubber_of(const MoldOptions& options) {
    if (options.pull && !(options.pull->norm() > 0.0)) {
        throw InvalidInput("A mold can't be pulled along 0,0,0; give a direction such as 0,0,1.");
    }
    return load_rubber_card(options.rubber_card);
}

MoldShapeRequest mold_shape_request(const MoldOptions& options, const Vec3& up) {
    MoldShapeRequest request;
    request.rubber_mm = options.rubber_mm.value_or(kRubber_mm);
    request.jacket_mm = options.jacket_mm.value_or(usual_jacket_mm(options.jacket_of));
    request.pull = options.pull.value_or(up).normalized();
    return request;
}

MoldShape mold_shape(const MoldShapeRequest& request, const TriMesh& mesh, const Shells& shells,
                     const TriangleBvh& surface, const Vec3& center_mm, const RunContext& context) {
    context.report("mold", 0.0);
    MoldShape shape;
    take_extents(shape, mesh, request.pull, center_mm);
    const std::vector<double> thicknesses = {request.rubber_mm,
                                             request.rubber_mm + request.jacket_mm};
    shape.outer = without_hollows(mesh, shells);
    shape.offset = shape.outer ? outer_offset(*shape.outer, TriangleBvh(*shape.outer, context),
                                              thicknesses, {}, context)
                               : outer_offset(mesh, surface, thicknesses, {}, context);
    shape.projected_area_mm2 =
        silhouette(mesh, view_from(request.pull, Vec3::UnitZ()), {.cells = kOutlineCells}, context)
            .area_mm2;
    return shape;
}

MoldOptions built_as_split(MoldOptions options, const Parting& parting) {
    if (parting.line.loops.empty()) {
        return options;
    }
    options.pull = parting.pull;
    if (!options.parting_mm) {
        constexpr double kWithin = 0.001;  // a line around the base: one half is a plate
        options.parting_mm =
            std::clamp(0.5 * (parting.low_mm + parting.high_mm), kWithin * parting.height_mm,
                       (1.0 - kWithin) * parting.height_mm);
    }
    return options;
}

MoldStage mold_stage(const MoldOptions& options, const MoldConditions& conditions,
                     const MoldShape& shape, const RunContext& context) {
    return MoldMaker(options, conditions, shape, context).make();
}

MoldStage mold_stage(const MoldOptions& options, const MoldConditions& conditions,
                     const RunContext& context) {
    static_cast<void>(rubber_of(options));  // refuses before anything is measured
    const MoldShape shape =
        mold_shape(mold_shape_request(options, conditions.up), conditions.mesh, conditions.shells,
                   conditions.surface, conditions.mass.centroid_mm, context);
    return mold_stage(options, conditions, shape, context);
}

}  // namespace cavigram
