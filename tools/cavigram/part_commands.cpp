// SPDX-License-Identifier: GPL-3.0-or-later
#include "part_commands.h"

#include <algorithm>
#include <iterator>

namespace cavigram::program {

const PartCommand& part_command(const std::string& name) {
    static constexpr PartCommand kCommands[] = {
        {"inspect",
         "What the file holds, what is wrong with it and what mending did; size, volume, area",
         {},
         inspect_text},
        {"thin", "Where the part is thin: all skin, or hard to fill", {.thin = true}, thin_text},
        {"weigh",
         "Skin and core mass, grams of A and B, scale and cup",
         {.foam = true, .density = true},
         weigh_text},
        {"vent",
         "For one way up: where air stays, where pour hole and vents go",
         {.air = true},
         vent_text},
        {"orient",
         "Which way up: the least air, the fewest vents, and why",
         {.orient = true},
         orient_text},
        {"bench",
         "Time and temperature budget, pour method, and a checklist with the numbers in it",
         {.foam = true, .bench = true},
         bench_text},
        {"split",
         "How a mold of two halves is pulled apart: parting line, undercuts, stretch",
         {.split = true},
         split_text},
        {"mold",
         "What to build around the part: rubber, jacket, boards, holes, straps, and what it weighs",
         {.foam = true, .air = true, .bench = true, .mold = true, .split = true},
         mold_text},
        {"handle",
         "Weight in the hand, how far it droops from the grip, armature or none",
         {.foam = true, .handle = true},
         handle_text},
        {"rise",
         "The foam rising, in time: last places to fill, air cut off, pressure, what a vent buys",
         {.foam = true, .air = true, .bench = true, .rise = true, .rise_cases = true},
         rise_text},
        {"plan",
         "All of it into one folder: the pour sheet, the summary, JSON, templates, meshes with "
         "marks",
         kWholePlan, summary_text},
    };
    return *std::find_if(std::begin(kCommands), std::end(kCommands),
                         [&](const PartCommand& row) { return name == row.name; });
}

}  // namespace cavigram::program
