// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"
#include "cavigram/report/fields/description_detail.h"

// The descriptions of all that is reported: one for each block of JSON. A new quantity is one line
// here; schema, docs and the page's types follow.
namespace cavigram::detail {

const Block<Plan>& plan_block();

const Block<Finding>& finding_block();
const Block<InputBlock>& input_block();
const Block<Part>& repair_block();
const Block<MeasuresBlock>& measures_block();
const Block<ThinBlock>& thin_block();
const Block<FoamBlock>& foam_block();
const Block<PourWindow>& window_block();
const Block<FoamBlock>& balance_block();
const Block<Batch>& batch_block();
const Block<Finish>& finish_block();
const Block<AirBlock>& air_block();
const Block<SizedOpening>& opening_block();
const Block<SizedVent>& vent_block();
const Block<Plan>& bench_block();
const Block<MoldBlock>& mold_block();
const Block<SplitBlock>& split_block();
const Block<HandleBlock>& handle_block();
const Block<RiseBlock>& rise_block();

// A way up of the search, with what of the plan it takes to tell it.
struct ToldWayUp {
    const RankedWayUp& row;
    bool up_given = true;
    bool has_pour_hole = true;
};
const Block<ToldWayUp>& way_up_block();

}  // namespace cavigram::detail
