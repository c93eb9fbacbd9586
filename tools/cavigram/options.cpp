// SPDX-License-Identifier: GPL-3.0-or-later
#include "options.h"

#include <charconv>

#include "cavigram/core/error.h"
#include "cavigram/core/quantity.h"
#include "cavigram/core/text.h"
#include "cavigram/tally/casting_log.h"

namespace cavigram::program {

namespace {

constexpr double kMostLength_mm = 1e6;  // a kilometer

// Three numbers parted by commas, each with an optional common unit behind the last: `10,20,30` or
// `1,2,3in`.
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
            throw InvalidInput(format("%s is \"%s\"; give three numbers such as %s.", name.c_str(),
                                      text.c_str(), example));
        }
        at += i < 2 ? 1 : 0;
    }
    if (at != end) {
        throw InvalidInput(format("%s is \"%s\"; give three numbers such as %s.", name.c_str(),
                                  text.c_str(), example));
    }
    return triple;
}

Vec3 parse_direction(const std::string& text, const std::string& name) {
    if (text.size() == 2 && (text[0] == '+' || text[0] == '-') && text[1] >= 'x' &&
        text[1] <= 'z') {
        return (text[0] == '+' ? 1.0 : -1.0) * Vec3::Unit(text[1] - 'x');
    }
    const Vec3 direction = parse_triple(text, name, "0,0,1, or +z");
    if (direction.squaredNorm() == 0.0) {
        throw InvalidInput(
            format("%s has no length; give a direction such as 0,0,1, or +z.", name.c_str()));
    }
    return direction;
}

// A direction, or six numbers: the lower and the upper corner of a box.
ShowSide parse_show(const std::string& text) {
    ShowSide show;
    std::size_t comma = text.find(',');
    for (int i = 1; i < 3 && comma != std::string::npos; ++i) {
        comma = text.find(',', comma + 1);
    }
    if (comma == std::string::npos) {
        show.toward = parse_direction(text, "--show");
    } else {
        const char* const example = "-10,-10,0,10,10,5 in mm";
        show.box_mm.emplace();
        show.box_mm->min = parse_triple(text.substr(0, comma), "--show", example);
        show.box_mm->max = parse_triple(text.substr(comma + 1), "--show", example);
    }
    validate(show);
    return show;
}

// What the log says of the card and mix in use.
ShopFit shop_of(const FoamOptions& foam, const std::string& db) {
    const FoamCard card = card_of(foam);
    const std::string mix = format("%g:%g", card.mix.a, card.mix.b);
    const CastingLog log(db.empty() ? usual_log_path() : std::filesystem::path(db),
                         CastingLog::Access::read);
    return fit_castings(castings_of(log.all(), card.name, mix));
}

void set_room_and_mold(FoamOptions& foam, const Options& o) {
    if (!o.altitude.empty() && !o.air_pressure.empty()) {
        throw InvalidInput("--altitude and --air-pressure say the same thing; give one of them.");
    }
    if (!o.altitude.empty()) {
        foam.air_kpa =
            air_pressure_kpa(parse_quantity(o.altitude, Kind::length, "--altitude") / 1000.0);
    } else if (!o.air_pressure.empty()) {
        foam.air_kpa =
            parse_quantity(o.air_pressure, Kind::pressure, "--air-pressure", 40.0, 120.0);
    }
    if (!o.mold_holds.empty()) {
        foam.mold_holds_kpa =
            parse_quantity(o.mold_holds, Kind::pressure, "--mold-holds", 0.1, 1e4);
    }
    if (!o.mold_wall.empty()) {
        foam.mold_wall_mm = parse_quantity(o.mold_wall, Kind::length, "--mold-wall", 1.0, 500.0);
    }
}

// A share of the pour, or what stayed of a cup: `3.5g@40g`.
void set_waste(FoamOptions& foam, const Options& o) {
    if (o.waste.empty()) {
        return;
    }
    const std::size_t at = o.waste.find('@');
    if (at == std::string::npos) {
        foam.waste_share = parse_quantity(o.waste, Kind::share, "--waste", 0.0, 0.9);
        return;
    }
    const double stays =
        parse_quantity(o.waste.substr(0, at), Kind::mass, "What --waste says stays", 0.0, 1e6);
    const double of =
        parse_quantity(o.waste.substr(at + 1), Kind::mass, "The cup that --waste names", 1e-3, 1e7);
    foam.waste_film = WasteFilm{stays, of};
}

FoamOptions foam_of(const Options& o) {
    FoamOptions foam;
    foam.card = o.foam;
    if (!o.mix.empty()) {
        foam.mix = parse_mix_ratio(o.mix, "--mix");
    }
    if (!o.density.empty()) {
        foam.density_kg_m3 = parse_quantity(o.density, Kind::density, "--density", 10.0, 2000.0);
    }
    if (!o.basis.empty()) {
        foam.basis = parse_basis(o.basis, "--basis");
    }
    if (!o.overpack.empty()) {
        foam.overpack = parse_quantity(o.overpack, Kind::share, "--overpack", 1.0, 20.0);
    }
    if (!o.skin_thickness.empty()) {
        foam.skin_thickness_mm =
            parse_quantity(o.skin_thickness, Kind::length, "--skin-thickness", 0.0, 1000.0);
    }
    if (!o.skin_density.empty()) {
        foam.skin_density_kg_m3 =
            parse_quantity(o.skin_density, Kind::density, "--skin-density", 10.0, 2000.0);
    }
    if (!o.profile.empty()) {
        foam.profile = parse_profile(o.profile, "--profile");
    }
    if (!o.cell.empty()) {
        foam.cell_mm = parse_quantity(o.cell, Kind::length, "--cell", 1e-6, kMostLength_mm);
    }
    set_room_and_mold(foam, o);
    set_waste(foam, o);
    if (!o.cup_residue.empty()) {
        foam.cup_residue_g = parse_quantity(o.cup_residue, Kind::mass, "--cup-residue", 0.0, 1e4);
    }
    if (!o.weighing.empty()) {
        foam.weighing = parse_weighing(o.weighing, "--weighing");
    }
    if (!o.pigment.empty()) {
        foam.pigment_share = parse_quantity(o.pigment, Kind::share, "--pigment", 0.0, 0.5);
    }
    if (!o.scale_readability.empty()) {
        foam.scale_readability_g =
            parse_quantity(o.scale_readability, Kind::mass, "--scale-readability", 1e-4, 1000.0);
    }
    if (!o.spare.empty()) {
        foam.spare_g = parse_quantity(o.spare, Kind::mass, "--spare", 0.0, 1e6);
    }
    foam.copies = o.copies;
    if (!o.finish.empty()) {
        foam.finish_g_m2 =
            parse_quantity(o.finish, Kind::areal_density, "--finish", 0.0, 100'000.0);
    }
    if (!o.largest_batch.empty()) {
        foam.largest_batch_g =
            parse_quantity(o.largest_batch, Kind::mass, "--largest-batch", 1e-3, 1e7);
    }
    foam.also.assign(o.also.begin(), o.also.end());
    if (o.from_tally) {
        foam.shop = shop_of(foam, o.db);
    }
    return foam;
}

BenchOptions bench_of(const Options& o) {
    BenchOptions bench;
    if (!o.temperature.empty()) {
        bench.temperature_c =
            parse_quantity(o.temperature, Kind::temperature, "--temperature", -10.0, 60.0);
    }
    if (!o.mold_temperature.empty()) {
        bench.mold_temperature_c = parse_quantity(o.mold_temperature, Kind::temperature,
                                                  "--mold-temperature", -10.0, 100.0);
    }
    const auto seconds = [](const std::string& text, const char* name, double& value) {
        if (!text.empty()) {
            value = parse_quantity(text, Kind::time, name, 0.0, 3600.0);
        }
    };
    seconds(o.stir, "--stir", bench.times.stir_s);
    seconds(o.close, "--close", bench.times.close_s);
    seconds(o.strap, "--strap", bench.times.strap_s);
    seconds(o.turn, "--turn", bench.times.turn_s);
    seconds(o.turn_grace, "--turn-grace", bench.times.turn_grace_s);
    if (!o.pour_hole_width.empty()) {
        bench.pour_hole_mm =
            parse_quantity(o.pour_hole_width, Kind::length, "--pour-hole-width", 0.5, 500.0);
    }
    if (!o.viscosity.empty()) {
        bench.viscosity_pa_s =
            parse_quantity(o.viscosity, Kind::viscosity, "--viscosity", 1e-4, 1e4);
    }
    if (!o.method.empty()) {
        bench.method = parse_pour_method(o.method, "--method");
    }
    return bench;
}

MendLevel parse_mend_level(const std::string& text) {
    if (text == "off") {
        return MendLevel::off;
    }
    if (text == "gentle") {
        return MendLevel::gentle;
    }
    if (!text.empty() && text != "full") {
        throw InvalidInput(format("--mend is \"%s\"; give off, gentle or full.", text.c_str()));
    }
    return MendLevel::full;
}

}  // namespace

void add_options(CLI::App& command, Options& o, const OptionGroups& groups) {
    command.add_option("part", o.part, "Mesh file of the part");
    command.add_option("--units", o.units, "Unit of the file's numbers: mm, cm, m, in, ft")
        ->group("Size");
    command.add_option("--longest", o.longest, "Scale so that the longest side is this: 355mm")
        ->group("Size");
    command.add_option("--scale", o.scale, "Scale by this factor")->group("Size");
    command
        .add_option("--largest-hole", o.largest_hole,
                    "Close holes up to this width, however much of the part they make up, and none "
                    "wider: 40mm")
        ->group("Mending");
    command.add_option("--mend", o.mend, "How far mending may go: off, gentle or full (default)")
        ->group("Mending");
    command
        .add_option("--hollow", o.hollow,
                    "What shells within the part are: keep them hollow (default), or fill")
        ->group("Mending");
    command.add_flag("--keep-scraps", o.keep_scraps, "Keep closed pieces however small")
        ->group("Mending");
    command.add_flag("--wrap", o.wrap, "Replace the surface by a wrap around it: the last resort")
        ->group("Mending");
    if (groups.foam || groups.card) {
        const char* const g = "Foam";
        command.add_option("--foam", o.foam, "Foam card: a name or a TOML file")->group(g);
        command.add_option("--mix", o.mix, "Fixes the mix, parts of A and B by weight: 50:100")
            ->group(g);
    }
    if (groups.foam) {
        const char* const g = "Foam";
        command
            .add_option("--density", o.density,
                        "Wanted density, which also chooses the mix: 9lb/ft3 or 144kg/m3")
            ->group(g);
        command
            .add_option(
                "--basis", o.basis,
                "What --density means: molded (the finished part's mean; default), core, free_rise")
            ->group(g);
        command
            .add_option("--overpack", o.overpack,
                        "How full the mold is packed: the part's mean over free-rise density: 1.15")
            ->group(g);
        command
            .add_option("--skin-thickness", o.skin_thickness,
                        "Skin as measured: 1.5mm (default: what the packing makes)")
            ->group(g);
        command.add_option("--skin-density", o.skin_density, "Skin: 400kg/m3")->group(g);
        command.add_option("--profile", o.profile, "How the skin fades: step or exponential")
            ->group(g);
        command
            .add_option("--cell", o.cell, "Smallest cell for the skin's volume; finer is slower")
            ->group(g);
        command
            .add_option("--altitude", o.altitude, "Of your room; foam rises more up there: 1600m")
            ->group(g);
        command.add_option("--air-pressure", o.air_pressure, "Instead of an altitude: 84kPa")
            ->group(g);
        command
            .add_option("--mold-holds", o.mold_holds,
                        "Pressure that your strapped mold holds: 30kPa")
            ->group(g);
        command
            .add_option("--mold-wall", o.mold_wall,
                        "Wall through which pour hole and vents go: 20mm")
            ->group(g);
        command
            .add_option("--pour-hole-width", o.pour_hole_width, "Diameter of the pour hole: 15mm")
            ->group(g);
        const char* const b = "Batch";
        command
            .add_option("--waste", o.waste,
                        "What stays in the cup: a share, 10%, or seen in a cup, 3.5g@40g")
            ->group(b);
        command
            .add_option("--cup-residue", o.cup_residue,
                        "What stays in A's own cup, weighed in addition: 0.5g")
            ->group(b);
        command
            .add_option("--weighing", o.weighing,
                        "tared (the cup set to zero first; default) or direct")
            ->group(b);
        command.add_option("--pigment", o.pigment, "Share of part B: 3%")->group(b);
        command
            .add_option("--scale-readability", o.scale_readability,
                        "Smallest step of your scale: 0.1g")
            ->group(b);
        command.add_option("--spare", o.spare, "Poured beyond what is needed: 5g")->group(b);
        command
            .add_option("--finish", o.finish,
                        "Pigment dusted on, or paint, by area: 30g/m2 or 0.1oz/ft2")
            ->group(b);
        command.add_option("--copies", o.copies, "How many parts to pour")->group(b);
        command
            .add_option("--largest-batch", o.largest_batch,
                        "The most you can stir and pour in time: 400g")
            ->group(b);
        command
            .add_option("--also", o.also, "Another part poured from the same cup; may be repeated")
            ->group(b);
        command
            .add_flag("--from-tally", o.from_tally,
                      "Density, skin and waste from this shop's own castings")
            ->group(b);
        command.add_option("--db", o.db, "With --from-tally: the log's file")->group(b);
    }
    if (groups.vent_foam) {
        const char* const g = "Foam";
        command.add_option("--foam", o.foam, "Foam card: a name or a TOML file")->group(g);
        command.add_option("--mix", o.mix, "Fixes the mix, parts of A and B by weight: 50:100")
            ->group(g);
        command
            .add_option("--density", o.density,
                        "Wanted density, which also chooses the mix: 9lb/ft3 or 144kg/m3")
            ->group(g);
        command
            .add_option(
                "--basis", o.basis,
                "What --density means: molded (the finished part's mean; default), core, free_rise")
            ->group(g);
        command
            .add_option("--overpack", o.overpack,
                        "How full the mold is packed: the part's mean over free-rise density: 1.15")
            ->group(g);
        command
            .add_option("--altitude", o.altitude, "Of your room; foam rises more up there: 1600m")
            ->group(g);
        command.add_option("--air-pressure", o.air_pressure, "Instead of an altitude: 84kPa")
            ->group(g);
        command
            .add_option("--mold-wall", o.mold_wall,
                        "Wall through which pour hole and vents go: 20mm")
            ->group(g);
        command
            .add_option("--temperature", o.temperature,
                        "Today's temperature of room and liquids: 18C or 64F")
            ->group(g);
        command
            .add_option("--pour-hole-width", o.pour_hole_width, "Diameter of the pour hole: 15mm")
            ->group("Pouring");
    }
    if (groups.thin) {
        command.add_option("--limit", o.limit, "List places thinner than this: 4mm")
            ->group("Thin places");
        command
            .add_option("--thicken", o.thicken,
                        "What leaves the list if every wall gains this in all, half on each side: "
                        "1mm")
            ->group("Thin places");
    }
    if (groups.vent) {
        const char* const v = "Pouring";
        command
            .add_option("--up", o.up,
                        "Which way is up in the mold: x,y,z or +z, -y ... (plan: the best; else as "
                        "the file stands)")
            ->group(v);
        command
            .add_option("--pour-hole", o.pour_hole,
                        "Place of the pour hole in mm: x,y,z (default: the highest place)")
            ->group(v);
        command.add_option("--vent", o.vents, "Place of a vent in mm: x,y,z; may be repeated")
            ->group(v);
        command.add_option("--most-vents", o.most_vents, "How many vents may be proposed")
            ->group(v);
        command
            .add_option("--smallest-pocket", o.smallest_pocket,
                        "Smaller pockets are counted, not listed: 0.1ml")
            ->group(v);
        command
            .add_option("--neck", o.neck,
                        "Foam may not pass where the part is narrower than this: 3mm; 0mm: it does")
            ->group(v);
    }
    if (groups.vent || groups.orient) {
        command
            .add_option("--pour-hole-after", o.pour_hole_after,
                        "The pour hole while the foam rises: vented (through a drilled cover; "
                        "default), plugged, or none (poured into the open half)")
            ->group("Pouring");
        command
            .add_option("--show", o.show,
                        "The side that is seen, kept free of holes: +y, x,y,z, or a box in mm: six "
                        "numbers, lower corner first")
            ->group("Pouring");
    }
    if (groups.orient) {
        const char* const v = "Which way up";
        if (!groups.vent) {
            command
                .add_option("--up", o.up,
                            "The way up that you have in mind, scored beside the others: x,y,z or "
                            "+z, -y ...")
                ->group(v);
            command.add_option("--most-vents", o.most_vents, "How many vents may be made")
                ->group(v);
        }
    }
    if (groups.orient) {
        command
            .add_option("--weights", o.weights,
                        "What counts how much for you: air=1,vents=2,height=0.5; of air, show, "
                        "vents, height, footprint, path")
            ->group("Which way up");
    }
    if (groups.bench) {
        const char* const t = "Bench";
        if (!groups.vent) {
            command
                .add_option("--up", o.up,
                            "How the mold stands while the foam rises: x,y,z or +z, -y ... "
                            "(default: as the file stands)")
                ->group(t);
        }
        command
            .add_option("--temperature", o.temperature,
                        "Today's temperature of room and liquids: 18C or 64F")
            ->group(t);
        command
            .add_option("--mold-temperature", o.mold_temperature,
                        "The mold's temperature, if it is not that of the liquids: 15C")
            ->group(t);
        command.add_option("--stir", o.stir, "Your stirring time: 12s")->group(t);
        command.add_option("--close", o.close, "Time to close the mold: 6s")->group(t);
        command.add_option("--strap", o.strap, "Time to strap it: 8s")->group(t);
        command.add_option("--turn", o.turn, "Time to turn it over: 3s")->group(t);
        command
            .add_option("--turn-grace", o.turn_grace,
                        "So long after the work time the foam still runs: 5s")
            ->group(t);
        command.add_option("--viscosity", o.viscosity, "Of the stirred liquid: 1000mPas")->group(t);
        command
            .add_option("--method", o.method,
                        "through_hole, open_half_and_turn or brush_first (default: what fits best)")
            ->group(t);
    }
    const char* const g = "Program";
    command
        .add_option("--job", o.job, "TOML file that holds any of these options; what you type wins")
        ->group(g);
    command
        .add_option("--json", o.json,
                    "Write everything computed as JSON to a file, or - for standard output")
        ->group(g);
    if (groups.out) {
        command.add_option("--out", o.out, "Folder to write to")->group(g);
    }
    command.add_option("--threads", o.threads, "Threads to use (default: one for each core)")
        ->group(g);
    command.add_option("--progress", o.progress, "on or off (default: on a terminal only)")
        ->group(g);
    command.add_flag("--quiet", o.quiet, "Print nothing but errors")->group(g);
}

PlanRequest request_of(const Options& o) {
    PlanRequest request;
    if (o.part.empty()) {
        throw InvalidInput("No part is given; name a mesh file: cavigram COMMAND PART.");
    }
    request.part.file = o.part;
    request.part.scale = o.scale;
    if (!o.units.empty()) {
        request.part.units = parse_length_unit(o.units);
    }
    if (!o.longest.empty()) {
        request.part.longest_mm =
            parse_quantity(o.longest, Kind::length, "--longest", 1e-3, kMostLength_mm);
    }
    request.part.mend.level = parse_mend_level(o.mend);
    if (!o.hollow.empty() && o.hollow != "keep" && o.hollow != "fill") {
        throw InvalidInput(format("--hollow is \"%s\"; give keep or fill.", o.hollow.c_str()));
    }
    request.part.mend.hollows = o.hollow == "fill" ? Hollows::fill : Hollows::keep;
    request.part.mend.keep_scraps = o.keep_scraps;
    request.part.mend.wrap = o.wrap;
    if (o.wrap && request.part.mend.level != MendLevel::full) {
        throw InvalidInput(
            "A wrap changes the whole surface; give --wrap without --mend off or gentle.");
    }
    if (!o.largest_hole.empty()) {
        request.part.mend.largest_hole_mm =
            parse_quantity(o.largest_hole, Kind::length, "--largest-hole", 1e-6, kMostLength_mm);
    }
    request.foam = foam_of(o);
    request.bench = bench_of(o);
    if (!o.limit.empty()) {
        request.thin_limit_mm =
            parse_quantity(o.limit, Kind::length, "--limit", 1e-6, kMostLength_mm);
    }
    if (!o.thicken.empty()) {
        request.thicken_mm =
            parse_quantity(o.thicken, Kind::length, "--thicken", 1e-6, kMostLength_mm);
    }
    request.air.up_given = !o.up.empty();
    request.air.up = request.air.up_given ? parse_direction(o.up, "--up") : Vec3(Vec3::UnitZ());
    if (!o.pour_hole.empty()) {
        request.air.pour_hole_mm = parse_triple(o.pour_hole, "--pour-hole", "12,0,40.5 in mm");
    }
    if (!o.pour_hole_after.empty()) {
        request.air.pour_hole_after = parse_pour_hole_after(o.pour_hole_after, "--pour-hole-after");
    }
    for (const std::string& vent : o.vents) {
        request.air.vents_mm.push_back(parse_triple(vent, "--vent", "12,0,40.5 in mm"));
    }
    if (o.most_vents < 0 || o.most_vents > 100) {
        throw InvalidInput(format("--most-vents is %d; give 0 to 100.", o.most_vents));
    }
    request.air.most_vents = o.most_vents;
    if (!o.show.empty()) {
        request.air.show = parse_show(o.show);
    }
    if (!o.weights.empty()) {
        request.air.weights = parse_way_weights(o.weights, "--weights");
    }
    if (!o.neck.empty()) {
        request.air.neck_mm = parse_quantity(o.neck, Kind::length, "--neck", 0.0, 1000.0);
    }
    if (!o.smallest_pocket.empty()) {
        request.air.smallest_pocket_mm3 =
            parse_quantity(o.smallest_pocket, Kind::volume, "--smallest-pocket", 0.0, 1e12);
    }
    if (o.threads < 0 || o.threads > 256) {
        throw InvalidInput(
            format("--threads is %d; give 1 to 256, or 0 for one on each core.", o.threads));
    }
    return request;
}

}  // namespace cavigram::program
