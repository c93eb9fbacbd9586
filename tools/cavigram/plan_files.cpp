// SPDX-License-Identifier: GPL-3.0-or-later
#include "plan_files.h"

#include <algorithm>
#include <functional>
#include <iterator>
#include <utility>

#include "cavigram/core/parallel.h"
#include "cavigram/molding/line_views.h"
#include "cavigram/report/annotated_part.h"
#include "cavigram/report/colored_part.h"
#include "cavigram/report/json.h"
#include "cavigram/report/paper_template.h"
#include "cavigram/report/parting_template.h"
#include "cavigram/report/pour_sheet.h"
#include "cavigram/report/sphere_map.h"
#include "cavigram/report/text.h"

#include "pour_sheet_page.h"

namespace cavigram::program {

namespace {

using Files = std::vector<std::pair<std::string, std::string>>;

Files tiles(const Plan& plan) {
    Files files;
    for (const auto& [name, side] : {std::pair{"template_top_tiles.html", TemplateSide::top},
                                     {"template_front_tiles.html", TemplateSide::front}}) {
        if (std::string pages = template_tiles_html(plan, side); !pages.empty()) {
            files.emplace_back(name, std::move(pages));
        }
    }
    return files;
}

template <class Mesh>
Files meshes(const std::string& stem, Mesh mesh) {
    Files files;
    files.emplace_back(stem + ".glb", std::move(mesh.glb));
    files.emplace_back(stem + ".ply", std::move(mesh.ply));
    return files;
}

}  // namespace

Files plan_files(const Plan& plan, UnitSystem first, const RunContext& context) {
    // Each by itself, in the order in which they are listed.
    const std::vector<std::function<Files()>> makers = {
        [&] {
            return Files{{"pour_sheet.html", pour_sheet_html(plan, pour_sheet_page())}};
        },
        [&] {
            return Files{{"summary.txt", summary_text(plan, {.first = first, .detail = true})},
                         {"plan.json", json_text(plan)},
                         {"template_top.svg", template_svg(plan, TemplateSide::top)},
                         {"template_front.svg", template_svg(plan, TemplateSide::front)}};
        },
        [&] { return meshes("annotated", annotated_part(plan)); },
        [&] { return meshes("thickness", thickness_colored(plan)); },
        [&] { return meshes("density", density_colored(plan)); },
        [&] {
            return Files{{"orient_map.svg", sphere_map_svg(plan)}};
        },
        [&] { return plan.rise ? meshes("arrival", arrival_colored(plan)) : Files(); },
        [&] { return tiles(plan); },
        [&] { return parting_files(plan); },
    };
    Files files;
    for (Files& some : map_blocks<Files>(makers.size(), 1, context, [&](const Block& block) {
             return makers[block.begin]();
         })) {
        std::move(some.begin(), some.end(), std::back_inserter(files));
    }
    return files;
}

std::vector<std::string> other_plan_files(
    const std::vector<std::pair<std::string, std::string>>& files) {
    std::vector<std::string> names = {"arrival.glb", "arrival.ply", "template_top_tiles.html",
                                      "template_front_tiles.html"};
    for (const LineSide side : {LineSide::front, LineSide::right, LineSide::back, LineSide::left,
                                LineSide::above, LineSide::below}) {
        const std::string begin = std::string("parting_") + to_text(side);
        names.push_back(begin + ".svg");
        names.push_back(begin + "_tiles.html");
    }
    std::erase_if(names, [&](const std::string& name) {
        return std::any_of(files.begin(), files.end(),
                           [&](const auto& file) { return file.first == name; });
    });
    return names;
}

}  // namespace cavigram::program
