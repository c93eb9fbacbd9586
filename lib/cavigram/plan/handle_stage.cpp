// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <string>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/told.h"
#include "cavigram/measure/place_words.h"
#include "cavigram/plan/handle_stage_detail.h"

namespace cavigram {

const char* to_text(Hold hold) {
    switch (hold) {
        case Hold::holds:
            return "holds";
        case Hold::may_sag:
            return "may_sag";
        case Hold::sags:
            return "sags";
    }
    return "";
}

namespace detail {

namespace {

ArmatureOptions armature_options(const HandleOptions& options) {
    ArmatureOptions a;
    a.cover_mm = options.rod_cover_mm;
    a.most_share = options.most_droop_share;
    return a;
}

// The node in the middle of the line's length.
std::size_t middle_node(const Beam& beam) {
    double along = 0.0;
    for (std::size_t i = 0; i < beam.elements.size(); ++i) {
        if (along >= 0.5 * beam.length_mm - 1e-6 * beam.length_mm) {
            return i;
        }
        along += (beam.elements[i].to_mm - beam.elements[i].from_mm).norm();
    }
    return beam.elements.size();
}

// A hand closes around a place on the surface or inside; a slip of the ruler is forgiven.
void check_grip(const TriangleBvh& surface, const Vec3& at) {
    constexpr double kSlip_mm = 5.0;
    const NearestPoint nearest = surface.nearest(at);
    if (nearest.distance_mm > kSlip_mm && !surface.inside(at)) {
        throw InvalidInput(fmt::format(
            "The grip at {} lies {} off the part; give {} a place on it, such as {}.",
            told_place(at.x(), at.y(), at.z()), told(nearest.distance_mm, Kind::length, 2),
            setting("grip"),
            told_place(nearest.point_mm.x(), nearest.point_mm.y(), nearest.point_mm.z())));
    }
}

std::vector<Grip> grips_of(const Beam& beam, const TriangleBvh& surface, const PlaceFrame& frame,
                           const HandleOptions& options) {
    std::vector<Grip> grips;
    for (const Vec3& at : options.grips_mm) {
        check_grip(surface, at);
        grips.push_back({true, at, beam.node_near(at), place_words(frame, at).words});
    }
    if (grips.empty()) {
        const std::size_t node = middle_node(beam);
        const Vec3& at = beam.node_mm(node);
        grips.push_back({false, at, node, place_words(frame, at).words});
    }
    if (grips.size() > 1 && grips[0].node == grips[1].node) {
        throw InvalidInput(
            fmt::format("Both grips hold the part at the same place along it; give {} two places "
                        "farther apart, "
                        "or one.",
                        setting("grip")));
    }
    return grips;
}

DroopOptions held_by(const std::vector<Grip>& grips) {
    DroopOptions held;
    held.grip = grips.front().node;
    if (grips.size() > 1) {
        held.second_grip = grips.back().node;
    }
    return held;
}

std::vector<std::size_t> nodes_of(const std::vector<Grip>& grips) {
    std::vector<std::size_t> nodes;
    nodes.reserve(grips.size());
    for (const Grip& grip : grips) {
        nodes.push_back(grip.node);
    }
    return nodes;
}

// Droop with the foam so many times as stiff; none for a part of no length beyond its grip.
Droop drooped(const std::vector<BeamElement>& elements, const Vec3& down, DroopOptions held,
              double factor) {
    held.foam_factor = factor;
    return droop(elements, down, held);
}

StiffLayers layers_of(const HandFoam& foam, const HandleOptions& options) {
    StiffLayers layers;
    layers.layers = foam.layers;
    layers.solid_mpa = foam.solid_mpa;
    if (options.foam_modulus_kpa) {
        // The law carries a measured core over to its skin.
        layers.solid_mpa *= 0.001 * *options.foam_modulus_kpa / layers.core_mpa();
    }
    return layers;
}

void take_spans(HandleBlock& block, const Beam& beam, const std::vector<BeamElement>& elements,
                const DroopOptions& bare_held, const PlaceFrame& frame) {
    const DroopOptions held = block.rod ? hands_on_rod(bare_held, *block.rod) : bare_held;
    const double core = block.core_modulus_mpa.value;
    const Droop likely = drooped(elements, block.down, held, 1.0);
    const Droop stiff = drooped(elements, block.down, held, block.core_modulus_mpa.high / core);
    const Droop soft =
        drooped(elements, block.down, held, block.core_modulus_mpa.low / core / block.creep);
    const Droop bare = drooped(beam.elements, block.down, bare_held, 1.0);
    double most = -1.0;
    double stiffest = 0.0;
    double softest = 0.0;
    for (std::size_t i = 0; i < likely.spans.size(); ++i) {
        HandleSpan span;
        span.likely = likely.spans[i];
        span.low_mm = stiff.spans[i].droop_mm;
        span.high_mm = soft.spans[i].droop_mm;
        for (const DroopSpan& other : bare.spans) {
            span.bare_mm = other.is == span.likely.is ? other.droop_mm : span.bare_mm;
        }
        span.at_mm = beam.node_mm(span.likely.node);
        span.where = place_words(frame, span.at_mm).words;
        if (span.likely.share() > most) {
            most = span.likely.share();
            block.worst = i;
        }
        stiffest = std::max(stiffest, stiff.spans[i].share());
        softest = std::max(softest, soft.spans[i].share());
        block.spans.push_back(span);
    }
    block.hold = softest <= block.most_droop_share    ? Hold::holds
                 : stiffest <= block.most_droop_share ? Hold::may_sag
                                                      : Hold::sags;
}

// Along the beam from the first grip to where its weight balances; positive toward its last end.
double balance_of(const std::vector<BeamElement>& elements, std::size_t grip) {
    double along = 0.0;
    double at_grip = 0.0;
    double mass = 0.0;
    double moment = 0.0;
    for (std::size_t i = 0; i < elements.size(); ++i) {
        const double length = (elements[i].to_mm - elements[i].from_mm).norm();
        at_grip = i == grip ? along : at_grip;
        mass += elements[i].mass_g;
        moment += elements[i].mass_g * (along + 0.5 * length);
        along += length;
    }
    at_grip = grip == elements.size() ? along : at_grip;
    return moment / mass - at_grip;
}

}  // namespace

HandFoam hand_foam(const FoamBlock& foam) {
    const FoamMass& mass = foam.mass;
    return {{foam.request.profile, mass.skin_thickness_mm, mass.skin_density_kg_m3,
             mass.core_density_kg_m3},
            solid_modulus_mpa(foam.card.mix),
            mass.molded_density_kg_m3,
            mass.part_mass_g};
}

RodStage RodKey::make(const RunContext& context) const {
    context.report("armature", 0.0);
    const MassProperties& mass = measures->mass;
    // Of one stuff: where a rod lies does not ask of what.
    StiffLayers plain;
    plain.layers = {SkinProfile::step, 0.0, 1.0, 1.0};
    const Beam made = beam(part->part.mesh(), *surface, mass, plain, 1.0, {}, context);
    const std::vector<Grip> grips = grips_of(made, *surface, place_frame(mass), options);
    const RodRoom room(made, *surface, context);
    const ArmatureOptions asked = armature_options(options);
    const std::vector<std::size_t> nodes = nodes_of(grips);
    const Rod& rod = *options.armature;
    RodStage stage;
    if (!made.parted) {
        stage.laid = room.lay(rod, nodes, asked);
    }
    if (!stage.laid) {
        const double thickest = made.parted ? 0.0 : room.thickest_mm(rod.material, nodes, asked);
        std::string words = to_text(rod.material);
        std::replace(words.begin(), words.end(), '_', ' ');
        stage.findings.push_back(
            {Severity::stop,
             "armature_unfit",
             fmt::format("A rod of {}, {} thick, does not fit along this part with {} of foam over "
                         "it; {}.",
                         words, told(rod.diameter_mm, Kind::length, 2),
                         told(asked.cover_mm, Kind::length, 2),
                         thickest > 0.0
                             ? fmt::format("the thickest that does is {}: take such a one, or less "
                                           "cover ({})",
                                           told(thickest, Kind::length, 2), setting("rod-cover"))
                             : fmt::format("none does: leave it out ({} none), or take less cover "
                                           "({})",
                                           setting("armature"), setting("rod-cover"))),
             {to_array(grips.front().at_mm)}});
    }
    return stage;
}

HandleStage HandleKey::make(const RunContext& context) const {
    context.report("in the hand", 0.0);
    const MassProperties& mass = measures->mass;
    const std::optional<LaidRod> laid = rod ? rod->laid : std::nullopt;
    HandleStage stage;
    HandleBlock& block = stage.block;
    block.foam = layers_of(foam, options);
    const double core = block.foam.core_mpa();
    block.modulus_given = options.foam_modulus_kpa.has_value();
    block.core_modulus_mpa =
        block.modulus_given ? Ranged{core, core, core}
                            : Ranged{core, kModulusScatter.low * core, kModulusScatter.high * core};
    block.outside_law =
        open_cell_modulus(foam.layers.skin_density_kg_m3, block.foam.solid_mpa).outside_law;
    block.creep = options.creep.value_or(kCreep);
    block.most_droop_share = options.most_droop_share;
    block.rod = laid;
    // The foam as if there were no rod; with_rod takes out what it displaces.
    const double mean = foam.mean_kg_m3;
    const double displaced = laid ? 1e-6 * mean * laid->volume_mm3 : 0.0;
    block.foam_displaced_g = displaced;
    block.part_mass_g = foam.part_g + (laid ? laid->mass_g : 0.0);

    const PlaceFrame frame = place_frame(mass);
    const Beam made =
        beam(part->part.mesh(), *surface, mass, block.foam, foam.part_g + displaced, {}, context);
    block.length_mm = made.length_mm;
    block.straight = made.straight;
    block.grips = grips_of(made, *surface, frame, options);
    if (made.parted) {
        stage.findings.push_back(
            {Severity::note,
             "no_beam",
             "The part is in pieces along its length, so how far it droops in the hand can't be "
             "told; look at each piece by itself.",
             {}});
        return stage;
    }
    const std::vector<BeamElement> elements =
        laid ? with_rod(made, *laid, core, mean) : made.elements;
    const DroopOptions held = held_by(block.grips);
    block.down = worst_way_down(elements, laid ? hands_on_rod(held, *laid) : held);
    block.balance_mm = balance_of(elements, held.grip);
    take_spans(block, made, elements, held, frame);
    if (!laid && !options.no_armature && block.hold != Hold::holds) {
        // A rod that is good for the softest foam of the range is good for all.
        DroopOptions softest = held;
        softest.foam_factor = block.core_modulus_mpa.low / core / block.creep;
        const RodRoom room(made, *surface, context);
        block.choices = least_rods(made, room, block.down, softest, core, mean,
                                   armature_options(options), context);
    }
    return stage;
}

}  // namespace detail

}  // namespace cavigram
