// SPDX-License-Identifier: GPL-3.0-or-later
#include <string>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/plan/also_stage_detail.h"
#include "cavigram/plan/skin_stage_detail.h"

namespace cavigram::detail {

namespace {

struct Weighed {
    double grams = 0.0;
    std::vector<Finding> findings;  // a short shot of its own
};

Weighed weighed(const Shared<PreparedPart>& prepared, const MeasuresBlock& measures,
                const FoamBlock& first, PartNodes& nodes, const RunContext& context) {
    const FoamRequest& foam = first.request;
    if (foam.molded_density_kg_m3 || foam.packing_factor) {
        // Packed as the first, so what is said of the first's foam is true of it, too.
        return {kGramsPerMm3 * first.mass.molded_density_kg_m3 * measures.mass.volume_mm3, {}};
    }
    DepthOptions options;
    options.depths_mm = skin_depths_mm(foam, measures.mass);
    const Shared<DepthVolume> depth =
        nodes.depth.get({prepared, nodes.surface.get({prepared}, context), options}, context);
    const FoamMass mass = foam_mass(cavity_amounts(measures, *depth), foam);
    return {mass.part_mass_g, mass.findings};
}

}  // namespace

void add_named(std::vector<Finding>& findings, const std::vector<Finding>& of_part,
               const std::string& file) {
    for (Finding finding : of_part) {
        // The places are in that file's coordinates, and would be marked on the first part.
        finding.text = fmt::format("{}: {}", file, finding.text);
        finding.at_mm.clear();
        findings.push_back(std::move(finding));
    }
}

AlsoStage also_stage(const std::vector<AlsoPart>& also, const PartRequest& like,
                     const FoamBlock& first, std::vector<PartNodes>& nodes,
                     const RunContext& context) {
    AlsoStage stage;
    nodes.resize(also.size());
    for (std::size_t i = 0; i < also.size(); ++i) {
        const AlsoPart& asked = also[i];
        PartRequest request = like;
        request.file = asked.file;
        request.name = asked.name;
        if (asked.units) {  // its own size, whatever the first is scaled to
            request.units = asked.units;
            request.longest_mm = std::nullopt;
        }
        const Shared<PreparedPart> prepared = nodes[i].prepared(request, nullptr, context);
        nodes[i].begin(prepared);
        add_named(stage.findings, prepared->findings, prepared->input.file);
        AlsoPoured part;
        part.measures = *nodes[i].measures.get({prepared}, context);
        const Weighed mass = weighed(prepared, part.measures, first, nodes[i], context);
        part.part_mass_g = mass.grams;
        add_named(stage.findings, mass.findings, prepared->input.file);
        part.input = prepared->input;
        part.part = Shared<Part>(prepared, &prepared->part);
        stage.parts.push_back(std::move(part));
    }
    return stage;
}

}  // namespace cavigram::detail
