// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "cavigram/plan/plan.h"

namespace cavigram::program {

/// What the person typed, word for word; `request_of` turns it into quantities. Empty means not
/// given.
struct Options {
    std::string part;
    std::string job;
    std::string json;
    std::string out;
    std::string units;
    std::string longest;
    double scale = 1.0;
    std::string largest_hole;
    std::string mend;    // off, gentle, full
    std::string hollow;  // keep, fill
    bool partial = false;
    bool keep_scraps = false;
    bool wrap = false;
    int threads = 0;
    bool quiet = false;
    std::string progress;  // on, off

    std::string foam = "generic-firm";
    std::string mix;
    std::string density;
    std::string basis;
    std::string overpack;
    std::string skin_thickness;
    std::string skin_density;
    std::string profile;
    std::string altitude;
    std::string air_pressure;
    std::string mold_holds;
    std::string mold_wall;
    std::string waste;
    std::string cup_residue;
    std::string weighing;
    std::string pigment;
    std::string scale_readability;
    std::string spare;
    std::string finish;
    int copies = 1;
    std::string largest_batch;
    std::vector<std::string> also;
    std::string cell;

    std::string limit;
    std::string thicken;
    std::string up;
    std::string pour_hole;
    std::string pour_hole_after;
    std::vector<std::string> vents;
    int most_vents = 3;
    std::string show;
    std::string smallest_pocket;
    std::string neck;
    std::string weights;

    std::string temperature;
    std::string mold_temperature;
    std::string stir;
    std::string close;
    std::string strap;
    std::string turn;
    std::string turn_grace;
    std::string pour_hole_width;
    std::string viscosity;
    std::string method;

    std::string db;
    bool from_tally = false;
};

/// Which groups of options a command has.
struct OptionGroups {
    bool foam = false;
    bool card = false;  // which foam and mix only; part of foam
    bool thin = false;
    bool vent = false;
    bool vent_foam = false;  ///< Of the foam only what vents depend on.
    bool bench = false;
    bool orient = false;
    bool out = false;
};

/// Adds the part, the common options and the groups to a command.
void add_options(CLI::App& command, Options& options, const OptionGroups& groups);

/// The request that the options make. \throw InvalidInput naming the option
[[nodiscard]] PlanRequest request_of(const Options& options);

}  // namespace cavigram::program
