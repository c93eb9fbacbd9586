// SPDX-License-Identifier: GPL-3.0-or-later
#include "plan_files.h"

#include <algorithm>

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

std::vector<std::pair<std::string, std::string>> plan_files(const Plan& plan, UnitSystem first) {
    ColoredPart thickness = thickness_colored(plan);
    ColoredPart density = density_colored(plan);
    AnnotatedPart annotated = annotated_part(plan);
    std::vector<std::pair<std::string, std::string>> files;
    files.emplace_back("pour_sheet.html", pour_sheet_html(plan, pour_sheet_page()));
    files.emplace_back("summary.txt", summary_text(plan, {.first = first, .detail = true}));
    files.emplace_back("plan.json", json_text(plan));
    files.emplace_back("template_top.svg", template_svg(plan, TemplateSide::top));
    files.emplace_back("template_front.svg", template_svg(plan, TemplateSide::front));
    files.emplace_back("annotated.glb", std::move(annotated.glb));
    files.emplace_back("annotated.ply", std::move(annotated.ply));
    files.emplace_back("thickness.glb", std::move(thickness.glb));
    files.emplace_back("thickness.ply", std::move(thickness.ply));
    files.emplace_back("density.glb", std::move(density.glb));
    files.emplace_back("density.ply", std::move(density.ply));
    files.emplace_back("orient_map.svg", sphere_map_svg(plan));
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
