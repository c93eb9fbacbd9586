// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/cavity/outer_offset.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/cavity/depth_pass_detail.h"
#include "cavigram/core/error.h"
#include "cavigram/core/sum.h"
#include "cavigram/measure/mass_properties.h"

namespace cavigram {

namespace {

// As for the depth inside: what a pass costs, how fine the first one is, and by how much the next
// may be finer (depth.cpp); twice at least, so that what changed bounds what is still to change.
constexpr double kCellsPerArea = 12.0;
constexpr double kFirstFineness = 1.0;
constexpr double kLeastStep = 2.0;
constexpr double kMostStep = 4.0;

void check(const std::vector<double>& thicknesses, const OuterOffsetOptions& options) {
    const auto bad = [](double t) { return !(t > 0.0) || !std::isfinite(t); };
    if (thicknesses.empty() || std::any_of(thicknesses.begin(), thicknesses.end(), bad)) {
        throw InvalidInput("What stands around a part must be thicker than 0.");
    }
    if (!(options.wanted_relative_error > 0.0)) {
        throw InvalidInput("The wanted relative error of a shell must be more than 0.");
    }
}

// W = grid - part - what lies farther out.
OuterShell shell_at(double thickness, double around, const detail::PassResult& pass,
                    std::size_t level) {
    const double fine = pass.fine[level];
    const double coarse = pass.coarse[level];
    OuterShell shell;
    shell.thickness_mm = thickness;
    shell.at_least_mm3 = std::max(0.0, around - pass.possible[level]);
    shell.at_most_mm3 = std::max(shell.at_least_mm3, around - pass.certain[level]);
    // Both sums err by the square of the edge (Richardson).
    const double farther = fine + (fine - coarse) / 3.0;
    shell.volume_mm3 = std::clamp(around - farther, shell.at_least_mm3, shell.at_most_mm3);
    shell.error_mm3 = std::abs(fine - coarse) / 3.0;
    return shell;
}

void set_shells(OuterOffset& offset, const std::vector<double>& thicknesses,
                const std::vector<double>& levels, const detail::PassResult& pass) {
    const std::vector<OuterShell> before = std::move(offset.shells);
    offset.shells.clear();
    const double around = pass.grid_mm3 - offset.solid_mm3;
    for (const double t : thicknesses) {
        const auto at = std::lower_bound(levels.begin(), levels.end(), t) - levels.begin();
        offset.shells.push_back(shell_at(t, around, pass, static_cast<std::size_t>(at)));
    }
    // Where the shells of two walls nearly meet, all that is between them may slip through coarse
    // cells, and both sums of one pass err alike; what changed since the pass before tells.
    for (std::size_t i = 0; i < before.size(); ++i) {
        OuterShell& shell = offset.shells[i];
        shell.error_mm3 =
            std::max(shell.error_mm3, std::abs(shell.volume_mm3 - before[i].volume_mm3));
    }
    offset.cell_mm = pass.cell_mm;
    offset.cells = pass.cells;
}

double worst_error(const OuterOffset& offset) {
    double worst = 0.0;
    for (const OuterShell& shell : offset.shells) {
        worst = std::max(worst, shell.error_mm3 / std::max(shell.volume_mm3, 1e-300));
    }
    return worst;
}

}  // namespace

OuterOffset outer_offset(const TriMesh& mesh, const TriangleBvh& surface,
                         const std::vector<double>& thicknesses_mm,
                         const OuterOffsetOptions& options, const RunContext& context) {
    check(thicknesses_mm, options);
    const MassProperties whole = mass_properties(mesh, context);
    OuterOffset offset;
    offset.solid_mm3 = options.volume_mm3.value_or(whole.volume_mm3);
    if (!(offset.solid_mm3 > 0.0)) {
        throw UnusableInput(
            "The part's volume is not positive, so no outside is known; turn the surface outside "
            "out.");
    }
    std::vector<double> levels = thicknesses_mm;
    std::sort(levels.begin(), levels.end());
    levels.erase(std::unique(levels.begin(), levels.end()), levels.end());
    const auto budget = static_cast<double>(options.max_cells);
    detail::PassOptions pass_options;
    pass_options.side = detail::DepthSide::outside;
    pass_options.levels_mm = levels;
    pass_options.per_depth = kFirstFineness;
    pass_options.max_cells = options.max_cells;
    // A thin film over a large part gets cells larger than itself, and the error that they have.
    pass_options.wanted_mm =
        std::max(levels.front(), std::sqrt(2.0 * kCellsPerArea * whole.area_mm2 / budget));
    double to_do = 0.9;  // each pass takes several times as long as the one before
    while (true) {
        context.report("around the part", 1.0 - to_do);
        to_do *= 0.8;
        const detail::PassResult pass = detail::depth_pass(surface, pass_options, context);
        if (pass.over_budget && offset.shells.empty()) {
            pass_options.wanted_mm *= 2.0;
            continue;
        }
        if (pass.over_budget) {
            break;
        }
        const bool first = offset.shells.empty();
        set_shells(offset, thicknesses_mm, levels, pass);
        const double error = worst_error(offset);
        const double most = std::sqrt(0.8 * budget / static_cast<double>(pass.cells));
        const double step = std::clamp(1.2 * std::sqrt(error / options.wanted_relative_error),
                                       kLeastStep, kMostStep);
        if ((!first && error <= options.wanted_relative_error) || most < kLeastStep) {
            break;
        }
        pass_options.per_depth *= std::min(step, most);
    }
    context.report("around the part", 1.0);
    return offset;
}

namespace {

// The signed volume of each shell, by tetrahedra from one point.
std::vector<double> shell_volumes(const TriMesh& mesh, const Shells& shells) {
    const Vec3 center = bounds(mesh).center();
    std::vector<CompensatedSum> sums(static_cast<std::size_t>(shells.count));
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3 a = mesh.corner(t, 0) - center;
        const Vec3 b = mesh.corner(t, 1) - center;
        const Vec3 c = mesh.corner(t, 2) - center;
        sums[static_cast<std::size_t>(shells.of_triangle[t])].add(a.dot(b.cross(c)) / 6.0);
    }
    std::vector<double> volumes;
    volumes.reserve(sums.size());
    for (const CompensatedSum& sum : sums) {
        volumes.push_back(sum.value());
    }
    return volumes;
}

// The triangles whose shell is marked, over the same vertices.
TriMesh shells_where(const TriMesh& mesh, const Shells& shells, const std::vector<bool>& marked) {
    TriMesh some;
    some.vertices = mesh.vertices;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        if (marked[static_cast<std::size_t>(shells.of_triangle[t])]) {
            some.triangles.push_back(mesh.triangles[t]);
        }
    }
    return some;
}

}  // namespace

std::optional<TriMesh> without_hollows(const TriMesh& mesh, const Shells& shells) {
    const std::vector<double> volumes = shell_volumes(mesh, shells);
    const std::size_t count = volumes.size();
    std::vector<bool> hollow(count);
    for (std::size_t i = 0; i < count; ++i) {
        hollow[i] = volumes[i] < 0.0;
    }
    if (std::find(hollow.begin(), hollow.end(), true) == hollow.end()) {
        return std::nullopt;
    }
    std::vector<Vec3> of_shell(count);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        of_shell[static_cast<std::size_t>(shells.of_triangle[t])] = mesh.corner(t, 0);
    }
    // A hollow looks inward, so all hollows together wind backward around what lies in them.
    const TriangleBvh walls(shells_where(mesh, shells, hollow));
    std::vector<bool> kept(count);
    for (std::size_t i = 0; i < count; ++i) {
        kept[i] = !hollow[i] && walls.winding(of_shell[i]) >= 0;
    }
    return shells_where(mesh, shells, kept);
}

}  // namespace cavigram
