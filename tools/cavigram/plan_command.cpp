// SPDX-License-Identifier: GPL-3.0-or-later
#include <filesystem>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/report/annotated_part.h"
#include "cavigram/report/colored_part.h"
#include "cavigram/report/json.h"
#include "cavigram/report/paper_template.h"
#include "cavigram/report/parting_template.h"
#include "cavigram/report/pour_sheet.h"
#include "cavigram/report/sphere_map.h"
#include "cavigram/report/text.h"

#include "commands.h"
#include "pour_sheet_page.h"

namespace cavigram::program {

namespace {

// Everything into the folder, and the summary for the screen.
std::string write_plan(const Plan& plan, const TextStyle& style, const std::filesystem::path& out,
                       const RunContext& context) {
    context.report("writing", 0.0);
    const std::string summary = summary_text(plan, {.first = style.first, .detail = true});
    const ColoredPart thickness = thickness_colored(plan);
    const ColoredPart density = density_colored(plan);
    const AnnotatedPart annotated = annotated_part(plan);
    std::vector<std::pair<std::string, std::string>> files = {
        {"pour_sheet.html", pour_sheet_html(plan, pour_sheet_page())},
        {"summary.txt", summary},
        {"plan.json", json_text(plan)},
        {"template_top.svg", template_svg(plan, TemplateSide::top)},
        {"template_front.svg", template_svg(plan, TemplateSide::front)},
        {"annotated.glb", annotated.glb},
        {"annotated.ply", annotated.ply},
        {"thickness.glb", thickness.glb},
        {"thickness.ply", thickness.ply},
        {"density.glb", density.glb},
        {"density.ply", density.ply},
        {"orient_map.svg", sphere_map_svg(*plan.orientations)}};
    if (plan.rise) {
        ColoredPart arrival = arrival_colored(plan);
        files.emplace_back("arrival.glb", std::move(arrival.glb));
        files.emplace_back("arrival.ply", std::move(arrival.ply));
    }
    for (const auto& [name, side] : {std::pair{"template_top_tiles.html", TemplateSide::top},
                                     {"template_front_tiles.html", TemplateSide::front}}) {
        if (std::string tiles = template_tiles_html(plan, side); !tiles.empty()) {
            files.emplace_back(name, std::move(tiles));
        }
    }
    for (auto& file : parting_files(plan)) {
        files.push_back(std::move(file));
    }
    make_folder(out);
    std::string names;
    for (const auto& [name, bytes] : files) {
        write_file(out / name, bytes);
        names += (names.empty() ? "" : ", ") + name;
    }
    const std::string written = "Written to " + out.string() + ": " + names +
                                "\nOpen pour_sheet.html in any browser; print it for the card.\n";
    return style.pour_last ? written + "\n" + summary_text(plan, style)
                           : summary_text(plan, style) + "\n" + written;
}

}  // namespace

Command plan_command() {
    return {"plan",
            "All of it into one folder: the pour sheet, the summary, JSON, templates, meshes with "
            "marks",
            [](const Options& given, const RunContext& context) {
                const std::filesystem::path out =
                    given.out.empty()
                        ? std::filesystem::path(given.plan.part.file.stem().string() + "_plan")
                        : given.out;
                check_folder_place(out);
                return run_stages(
                    given,
                    {.thin = true,
                     .foam = true,
                     .density = true,
                     .air = true,
                     .bench = true,
                     .handle = true,
                     .orient = true,
                     .mold = true,
                     .split = true,
                     .rise = true,
                     .display = true},
                    [&](const Plan& plan, const TextStyle& style) {
                        return write_plan(plan, style, out, context);
                    },
                    context);
            }};
}

}  // namespace cavigram::program
