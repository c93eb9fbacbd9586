// SPDX-License-Identifier: GPL-3.0-or-later
// The mold and its holes, the hands and their seconds, and what counts as thin.
#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <optional>
#include <string_view>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/pour/bench.h"
#include "cavigram/pour/way_weights.h"
#include "cavigram/venting/pockets.h"
#include "cavigram/venting/show_side.h"

#include "option_table.h"

namespace cavigram::program {

namespace {

constexpr CommandSet kHoles = kGrams | kVent;  // that foam fills and air passes
constexpr CommandSet kAir = kVent | kMold | kRise | kPlan;
constexpr const char* kPlace = "12,0,40.5 (mm) or 0.5in,0in,1.6in";

// Three numbers parted by commas: `10,20,30`.
Vec3 parse_triple(const std::string& text, const std::string& name, const char* example) {
    Vec3 triple = Vec3::Zero();
    const char* at = text.data();
    const char* const end = text.data() + text.size();
    for (int i = 0; i < 3; ++i) {
        while (at < end && (*at == ' ' || *at == '+')) {
            ++at;
        }
        const auto [rest, error] = std::from_chars(at, end, triple[i]);
        at = rest;
        const bool comma = i == 2 || (at < end && *at == ',');
        if (error != std::errc() || !comma || !std::isfinite(triple[i])) {
            throw InvalidInput(
                fmt::format("{} is \"{}\"; give three numbers such as {}.", name, text, example));
        }
        at += i < 2 ? 1 : 0;
    }
    if (at != end) {
        throw InvalidInput(
            fmt::format("{} is \"{}\"; give three numbers such as {}.", name, text, example));
    }
    return triple;
}

// `+z`, `-y`, or `y` for +y.
std::optional<Vec3> axis_of(std::string_view text) {
    double sign = 1.0;
    if (text.size() == 2 && (text[0] == '+' || text[0] == '-')) {
        sign = text[0] == '-' ? -1.0 : 1.0;
        text.remove_prefix(1);
    }
    const int axis =
        text.size() == 1 ? std::tolower(static_cast<unsigned char>(text[0])) - 'x' : -1;
    return axis >= 0 && axis <= 2 ? std::optional<Vec3>(sign * Vec3::Unit(axis)) : std::nullopt;
}

Vec3 parse_direction(const std::string& text, const std::string& name) {
    if (const std::optional<Vec3> axis = axis_of(text)) {
        return *axis;
    }
    Vec3 direction = parse_triple(text, name, "0,0,1, or +z");
    if (direction.squaredNorm() == 0.0) {
        throw InvalidInput(
            fmt::format("{} has no length; give a direction such as 0,0,1, or +z.", name));
    }
    return direction;
}

// `12,0,40.5` in mm, `0.5in,0in,1 5/8in`, or `1,2,3in`: a unit holds for those before it that have
// none.
Vec3 parse_place(const std::string& text, const std::string& name) {
    std::array<std::string, 3> parts;
    std::size_t at = 0;
    for (std::string& part : parts) {
        const std::size_t comma = std::min(text.find(',', at), text.size());
        part = text.substr(std::min(at, text.size()), comma - std::min(at, text.size()));
        at = comma + 1;
    }
    const auto bare = [](const std::string& part) {
        return part.find_first_of("0123456789") != std::string::npos &&
               part.find_first_not_of("+-.0123456789eE/ ") == std::string::npos;
    };
    if (at <= text.size() || parts[2].empty()) {
        throw InvalidInput(
            fmt::format("{} is \"{}\"; give three numbers such as {}.", name, text, kPlace));
    }
    const std::size_t unit_at = parts[2].find_last_of("0123456789. ");
    const std::string unit =
        bare(parts[2]) || unit_at == std::string::npos ? "mm" : parts[2].substr(unit_at + 1);
    Vec3 place;
    for (int i = 0; i < 3; ++i) {
        const std::string& part = parts[static_cast<std::size_t>(i)];
        place[i] = parse_quantity(bare(part) ? part + unit : part, Kind::length, name);
    }
    return place;
}

// A direction, or six numbers: the lower and the upper corner of a box.
ShowSide parse_show(const std::string& text, const std::string& name) {
    ShowSide show;
    std::size_t comma = text.find(',');
    for (int i = 1; i < 3 && comma != std::string::npos; ++i) {
        comma = text.find(',', comma + 1);
    }
    if (comma == std::string::npos) {
        show.toward = parse_direction(text, name);
    } else {
        show.box_mm.emplace();
        show.box_mm->min() = parse_place(text.substr(0, comma), name);
        show.box_mm->max() = parse_place(text.substr(comma + 1), name);
    }
    validate(show);
    return show;
}

void read_up(Options& o, const std::string& text, const std::string& name) {
    o.plan.air.up = parse_direction(text, name);
    o.plan.air.up_given = true;
}

void read_vent(Options& o, const std::string& text, const std::string& name) {
    o.plan.air.vents_at_mm.push_back(parse_place(text, name));
}

std::vector<OptionRow> mold_and_holes() {
    const Group g = Group::mold;
    return {
        {"up",
         g,
         kAir | kOrient | kBench | kSplit,
         "+x",
         "Which way is up in the mold while the foam rises: x,y,z or +z, -y ... (plan: the best; "
         "orient: scored beside the others; else as the file stands)",
         {.kind = "a direction", .read = read_up}},
        {"pour-hole", g, kHoles, "12,0,40.5",
         "Place of the pour hole, in mm or with units (default: the highest place)",
         parsed("a place", parse_place, air(&AirOptions::pour_hole_at_mm))},
        {"pour-hole-width", g, kHoles, "15mm", "Diameter of the pour hole",
         quantity(Kind::length, kHole_mm, bench(&BenchOptions::pour_hole_width_mm)), "12mm"},
        {"pour-hole-after", g, kHoles | kOrient, "plugged",
         "The pour hole while the foam rises: vented (through a drilled cover; default), plugged, "
         "or none (poured into the open half)",
         parsed("a word", parse_pour_hole_after, air(&AirOptions::pour_hole_after),
                {"vented", "plugged", "none"}),
         "none"},
        {"vent",
         g,
         kHoles,
         "12,0,40.5",
         "Place of a vent, in mm or with units",
         {.kind = "a place", .read = read_vent, .list = true}},
        {"most-vents", g, kHoles | kOrient, "4", "How many vents may be made (default: 3)",
         whole_number(0, 100, "0 to 100", air(&AirOptions::most_vents)), "0"},
        {"show", g, kAir | kOrient | kSplit, "+y",
         "The side that is seen, kept free of holes: a direction, or a box: two places, lower "
         "corner first",
         parsed("a direction or a box", parse_show, air(&AirOptions::show))},
        {"weights", g, kOrient | kPlan, "air=1,vents=2,height=0.5",
         "What counts how much for you among ways up; of air, show, vents, height, footprint, "
         "path, "
         "arrival (of foam in thin places)",
         parsed("words with numbers", parse_way_weights, air(&AirOptions::weights))},
        {"mold-wall", g, kHoles, "20mm", "Wall through which pour hole and vents go",
         quantity(Kind::length, 1.0, 500.0, foam(&FoamOptions::mold_wall_mm)), "100mm"},
        {"mold-holds", g, kGrams, "30kPa", "Pressure that your strapped mold holds",
         quantity(Kind::pressure, kMoldPressure_kpa, foam(&FoamOptions::mold_holds_kpa)), "50kPa"},
        {"pull", g, kSplit | kMold | kPlan, "+x",
         "Which way the upper half of the mold comes off: x,y,z or +z, -y ... (default: the best)",
         parsed("a direction", parse_direction,
                into(&Options::plan, &PlanRequest::split, &SplitChoice::pull))},
        {"stretch-limit", g, kSplit | kPlan, "30%", "Most that your rubber may stretch to let go",
         quantity(Kind::share, 0.01, 5.0,
                  into(&Options::plan, &PlanRequest::split, &SplitChoice::stretch_limit)),
         "5%"},
        {"smallest-pocket", g, kAir, "0.1ml", "Smaller pockets are counted, not listed",
         quantity(Kind::volume, 0.0, 1e12, air(&AirOptions::smallest_pocket_mm3)), "1ml"},
        {"neck", g, kAir, "3mm",
         "Foam may not pass where the part is narrower than this; 0mm: it does",
         quantity(Kind::length, 0.0, 1000.0, air(&AirOptions::neck_mm)), "5mm"},
    };
}

OptionValue parsed_cells() {
    return {"a whole number", [](Options& o, const std::string& text, const std::string& name) {
                o.plan.rise.cells = static_cast<std::size_t>(
                    parse_whole(text, name, 1'000, 8'000'000, "1000 to 8000000"));
            }};
}

std::vector<OptionRow> hands() {
    const Group g = Group::hands;
    const CommandSet timed = kBench | kRise | kPlan;
    const auto seconds = [](auto m) {
        return quantity(Kind::time, 0.0, 3600.0,
                        into(&Options::plan, &PlanRequest::bench, &BenchOptions::times, m));
    };
    return {
        {"method", g, kHoles | kOrient, "open_half_and_turn",
         "through_hole; open_half_and_turn or brush_first, which need no pour hole (default: what "
         "fits best)",
         parsed("a word", parse_pour_method, bench(&BenchOptions::method),
                {"through_hole", "open_half_and_turn", "brush_first"})},
        {"stir", g, timed, "20s", "Your stirring time", seconds(&BenchTimes::stir_s)},
        {"close", g, timed, "10s", "Time to close the mold", seconds(&BenchTimes::close_s)},
        {"strap", g, timed, "12s", "Time to strap it", seconds(&BenchTimes::strap_s)},
        {"turn", g, timed, "5s", "Time to turn it over", seconds(&BenchTimes::turn_s)},
        {"turn-grace", g, timed, "3s", "So long after the work time the foam still runs",
         seconds(&BenchTimes::turn_grace_s)},
        {"viscosity", g, timed, "1000mPas", "Of the stirred liquid",
         quantity(Kind::viscosity, 1e-4, 1e4, bench(&BenchOptions::viscosity_pa_s)), "2000mPas"},
        {"gel-time", g, kRise | kPlan, "100s",
         "When the foam runs no more, at the card's temperature (default: its rise time, a guess)",
         quantity(Kind::time, 1.0, 86400.0, rise(&RiseOptions::gel_s))},
        {"cells", g, kRise | kPlan, "20000", "On which the rise is followed; more is slower",
         parsed_cells()},
        {"uncertain", g, kRise, "5",
         "Follow the rise so many times over what is not known of viscosity, gel time and density",
         whole_number(1, 1000, "1 to 1000", rise(&RiseOptions::uncertain))},
    };
}

void read_grip(Options& o, const std::string& text, const std::string& name) {
    std::vector<Vec3>& grips = o.plan.handle.grips_mm;
    if (grips.size() == 2) {
        throw InvalidInput(
            fmt::format("{} is given three times; a part is held by one hand or two.", name));
    }
    grips.push_back(parse_place(text, name));
}

void read_armature(Options& o, const std::string& text, const std::string& name) {
    HandleOptions& hold = o.plan.handle;
    hold.no_armature = text == "none";
    hold.armature = hold.no_armature ? std::nullopt : std::optional(parse_rod(text, name));
}

std::vector<OptionRow> grip() {
    const Group g = Group::grip;
    const CommandSet held = kHandle | kPlan;
    OptionValue places{.kind = "a place on the part", .read = read_grip};
    places.list = true;
    return {
        // Where a rod lies follows the grip, and the grams follow the rod.
        {"grip", g, kGrams, "20,15,10",
         "A place where a hand holds the part (default: its middle); twice for two hands", places,
         "128,15,10"},
        {"armature",
         g,
         kGrams,
         "steel:3mm",
         "A rod that is cast in, of steel, aluminum, birch or glass_fiber; or none. It is taken "
         "off the grams",
         {.kind = "a material and a diameter, or none", .read = read_armature}},
        {"rod-cover", g, kGrams, "4mm", "Foam over a rod, at least",
         quantity(Kind::length, kRodCover_mm, handle(&HandleOptions::rod_cover_mm))},
        {"most-droop", g, held, "2%", "Droop over length that still counts as holding",
         quantity(Kind::share, 0.001, 0.5, handle(&HandleOptions::most_droop_share))},
        {"foam-modulus", g, held, "400kPa", "Young's modulus of the core, as measured",
         quantity(Kind::pressure, kFoamModulus_kpa, handle(&HandleOptions::foam_modulus_kpa))},
        {"creep", g, held, "2", "So many times as much it droops after days as at once",
         quantity(Kind::share, 1.0, 10.0, handle(&HandleOptions::creep))},
    };
}

}  // namespace

std::vector<OptionRow> pouring_options() {
    std::vector<OptionRow> rows = mold_and_holes();
    for (const auto& more : {hands(), grip()}) {
        rows.insert(rows.end(), more.begin(), more.end());
    }
    const Group g = Group::thin;
    rows.push_back(
        {"limit", g, kThin | kPlan, "4mm", "List places thinner than this",
         quantity(Kind::length, kLength_mm, into(&Options::plan, &PlanRequest::thin_limit_mm)),
         "8mm"});
    rows.push_back(
        {"thicken", g, kThin | kPlan, "1mm",
         "What leaves the list if every wall gains this in all, half on each side",
         quantity(Kind::length, kLength_mm, into(&Options::plan, &PlanRequest::thicken_mm))});
    return rows;
}

}  // namespace cavigram::program
