// SPDX-License-Identifier: GPL-3.0-or-later
#include <filesystem>

#include "cavigram/core/atomic_file.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/report/colored_faults.h"
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

namespace {

// The mended part, and the surface as the file has it with its faults colored. Gives the line that
// says so.
std::string write_meshes(const Plan& plan, const PartRequest& request,
                         const std::filesystem::path& out, const RunContext& context) {
    context.report("writing", 0.0);
    const Soup soup = read_mesh(request.file, request.read, context);
    std::string faults =
        faults_colored(transformed(soup.mesh, plan.input.scale, Vec3::Zero()), plan.part->faults());
    make_folder(out);
    write_files(out,
                {{"mended.stl", stl_bytes(plan.part->mesh())}, {"faults.ply", std::move(faults)}});
    return "\nWritten to " + out.string() + ": mended.stl, faults.ply\n";
}

}  // namespace

Command inspect_command() {
    return {"inspect", part_command("inspect").help,
            [](const Options& given, const RunContext& context) {
                if (!given.out.empty()) {
                    check_folder_place(given.out);
                }
                const auto text = [&](const Plan& plan, const TextStyle& style) {
                    std::string page = inspect_text(plan, style);
                    if (!given.out.empty()) {
                        page += write_meshes(plan, given.plan.part, given.out, context);
                    }
                    return page;
                };
                return run_stages(given, part_command("inspect").stages, text, context);
            }};
}

}  // namespace cavigram::program
