// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cavigram/plan/plan.h"
#include "cavigram/plan/session.h"
#include "cavigram/report/fields/description_detail.h"
#include "cavigram/report/guesses.h"
#include "cavigram/report/page_detail.h"

// What the page of the pour sheet is filled with, and its description: the page's types are made
// from it, and so is the JSON.
namespace cavigram::detail {

// A hole or a thin place, in words and for the 3D view.
struct SheetMark {
    const char* kind = "";  // pour_hole, vent, thin, late, air
    std::string label;
    Vec3 at_mm = Vec3::Zero();
    double diameter_mm = 0.0;  // 0: not known
    bool plugged = false;
    std::string where;         // by ruler, told
    std::string frees;         // told; empty for what frees nothing
    std::string after;         // what becomes of a pour hole that is poured through, told
    std::string after_unused;  // and of one that is not
};

// A line on or in the part.
struct SheetLine {
    const char* kind = "";  // parting, slit, rod
    bool closed = false;
    double diameter_mm = 0.0;  // 0: a line
    std::vector<Vec3> points_mm;
};

// One way up of the search, to be looked at.
struct SheetWay {
    std::string name;  // "2 (as the file stands)"
    Vec3 up = Vec3::UnitZ();
    bool planned = false;
    std::string about;  // told
    std::vector<SheetMark> marks;
};

struct SheetMethod {
    const char* method = "";
    const char* words = "";
    const char* short_words = "";
};

// 8 bits for each vertex, from the map's dark end to its light one.
struct SheetColoring {
    std::string key;
    std::string title;
    const char* kind = "";  // of quantity; empty: classes
    double dark = 0.0;
    double light = 1.0;
    std::string light_words;  // of what lies beyond the light end, if anything does
    bool plain_beyond = false;
    std::vector<std::string> classes;
    std::string values;  // base64
};

struct SheetDisplay {
    Vec3 origin_mm = Vec3::Zero();
    Vec3 size_mm = Vec3::Zero();
    std::size_t triangles = 0;
    double deviation_mm = 0.0;
    std::string positions;  // base64
    std::string indices;
    std::string half_side;  // base64, 16 bits with sign for each vertex; empty: along edges
    std::string halves;     // base64, a byte for each triangle: 1 the upper one
    Vec3 front = Vec3::UnitY();
    std::vector<SheetColoring> colorings;
    std::vector<int> color_map;
};

struct SheetPicture {
    std::string title;
    double width = 0.0;
    std::string svg;  // base64
};

// Something that happens while the foam rises.
struct SheetMoment {
    double time_s = 0.0;
    std::string text;  // told
};

// The rise, to be played.
struct SheetRise {
    std::string story;  // told
    double from_s = 0.0;
    double to_s = 0.0;
    std::string arrival;  // base64
    std::vector<SheetMark> marks;
    std::vector<SheetMoment> events;  // in order of time
};

struct Sheet {
    explicit Sheet(const Plan& all) : plan(all) {}
    const Plan& plan;
    std::string size;  // told
    std::vector<PageRow> facts;
    std::vector<PageRow> air;
    std::vector<PageRow> thin;
    std::vector<PageRow> rise;
    std::vector<PageRow> split;
    std::vector<PageRow> mold;
    std::vector<PageRow> handle;
    std::vector<PageRow> file;
    std::vector<SheetMark> marks;
    std::vector<SheetMark> thin_marks;
    std::vector<SheetLine> lines;
    std::vector<SheetWay> ways;
    std::vector<SheetMethod> methods;
    std::vector<std::string> before;
    std::vector<std::string> after;
    std::vector<std::string> pour_cautions;
    std::string log_call;
    std::vector<Guess> guesses;
    std::string up;
    SheetDisplay display;
    std::optional<SheetRise> rising;  // where the rise was followed
    std::vector<SheetPicture> pictures;
};

// One of the ranked ways up, on the map of all.
struct MapWay {
    int rank = 0;
    Vec3 up = Vec3::UnitZ();
    bool planned = false;
};

// The part in 3D and all ways up, for a page on which it is turned.
struct PartModel {
    SheetDisplay display;
    Vec3 up = Vec3::UnitZ();  // planned
    std::vector<MapWay> ways;
    std::string map;  // base64
};

const Block<Sheet>& sheet_block();
const Block<PartModel>& part_model_block();
const Block<TurnedAir>& turned_air_block();
const Block<SheetDisplay>& sheet_display_block();
// What the page computes with when a person turns a knob: tools/pour_sheet/src/arithmetic.ts and
// what it draws on follow the library line by line.
const Block<Plan>& live_block();

}  // namespace cavigram::detail
