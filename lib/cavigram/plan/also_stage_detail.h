// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/plan/part_nodes_detail.h"
#include "cavigram/plan/plan.h"

namespace cavigram::detail {

struct AlsoStage {
    std::vector<AlsoPoured> parts;  // in the order of the files
    std::vector<Finding> findings;  // each says which file it is about
};

// Takes findings about another part, each with its file's name.
void add_named(std::vector<Finding>& findings, const std::vector<Finding>& of_part,
               const std::string& file);

// The parts that are poured from the same cup as a first one, each read, measured and weighed by
// itself: of the first one's mean density, unless a measured skin settles the mean of each part by
// its own shape. `like`: unit, scale and mending, as for the first; `first`: its foam; `nodes`:
// what is known of each file. \throw InvalidInput, UnusableInput, Cancelled
AlsoStage also_stage(const std::vector<AlsoPart>& also, const PartRequest& like,
                     const FoamBlock& first, std::vector<PartNodes>& nodes,
                     const RunContext& context);

}  // namespace cavigram::detail
