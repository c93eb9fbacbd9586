// SPDX-License-Identifier: GPL-3.0-or-later
#include "fault_views.h"

#include <algorithm>
#include <optional>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/report/fault_picture.h"

#include "responses.h"

namespace cavigram::serve {

namespace {

constexpr double kLongest_px = 640.0;  // of the part, beside another picture

// Both pictures show what the mended part's box holds at this scale.
double scale_of(const TriMesh& mesh) {
    return kLongest_px / std::max(1e-9, bounds(mesh).sizes().maxCoeff());
}

std::string drawn(const Plan& plan, const PartRequest& request, bool before, bool side) {
    const TriMesh& mended = plan.part->mesh();
    const View front = widest_view(mended, Vec3::UnitZ());
    const View view = side ? quarter_turned(front) : front;
    PictureOptions options;
    options.pixels_per_mm = scale_of(mended);
    options.title = before ? "As the file has it" : "Mended";
    if (!before) {
        return mending_picture(mended, plan.part->steps(), view, options).svg;
    }
    const Soup soup = read_mesh(request.file, request.read);
    const TriMesh surface = transformed(soup.mesh, plan.input.scale, Vec3::Zero());
    return faults_picture(surface, plan.part->faults(), view, options).svg;
}

}  // namespace

bool is_fault_view(const std::string& what) {
    return what == "faults.svg" || what == "mended.svg";
}

Answer fault_view(const Workbench& workbench, const PartJob& job, const std::string& what,
                  const std::string& from) {
    const std::optional<StageResult> found = job.result("part");
    if (!found) {
        return sentence(409, "This is not computed yet for the options as they are now.");
    }
    if (from != "front" && from != "side") {
        return not_found();
    }
    return Work{[&workbench, found = *found, file = job.file(), before = what == "faults.svg",
                 side = from == "side"]() -> Response {
        try {
            const program::Options options = workbench.read(file, found.values);
            return bytes(drawn(*found.plan, options.plan.part, before, side), "image/svg+xml");
        } catch (const std::exception& error) {
            return fault_response(error);
        }
    }};
}

}  // namespace cavigram::serve
