// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/cavity/depth.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/cavity/depth_pass_detail.h"
#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/measure/mass_properties.h"

namespace cavigram {

namespace {

// Depths within this share of each other count as one node.
constexpr double kSameDepth = 1e-9;
// Nodes in between are no further apart than this: a cubic between them is then right to 1e-6 of
// the value where the curve is smooth.
constexpr double kRatio = 1.1;
// The curve is sampled from this share of the least wanted depth on.
constexpr double kLead = 0.5;
// Cells that a pass takes: this times area / (finest edge)^2. Measured at 3 to 12, on flat walls
// less.
constexpr double kCellsPerArea = 12.0;
// Fineness of the first pass, and the least and the most by which the next one is finer.
constexpr double kFirstFineness = 1.0;
constexpr double kLeastStep = 1.5;
constexpr double kMostStep = 4.0;

void check(const DepthOptions& options) {
    for (const double depth : options.depths_mm) {
        if (!(depth > 0.0) || !std::isfinite(depth)) {
            throw InvalidInput("The depth below the surface must be more than 0.");
        }
    }
    if (!(options.wanted_relative_error > 0.0)) {
        throw InvalidInput("The wanted relative error of the skin volume must be more than 0.");
    }
    if (options.cell_mm && !(*options.cell_mm > 0.0)) {
        throw InvalidInput("The cell size of the depth must be more than 0.");
    }
    if (options.volume_mm3 && !(*options.volume_mm3 > 0.0)) {
        throw InvalidInput("The part's volume must be more than 0.");
    }
}

// The depths that must be right, rising, all less than the deepest.
std::vector<double> wanted_depths(const DepthOptions& options, double area, double deepest) {
    std::vector<double> wanted;
    for (const double depth : options.depths_mm) {
        if (depth < deepest * (1.0 - kSameDepth)) {
            wanted.push_back(depth);
        }
    }
    if (wanted.empty() && !options.depths_mm.empty()) {
        return {0.5 *
                deepest};  // all skin at the depths asked for; the rest of the curve is a courtesy
    }
    if (wanted.empty()) {
        // From a twentieth on, or from where the first pass takes half a million cells.
        const double first = std::min(
            std::max(0.05 * deepest, std::sqrt(kCellsPerArea * area / 5e5)), 0.5 * deepest);
        for (int i = 0; i < 12; ++i) {
            wanted.push_back(first * std::pow(0.9 * deepest / first, i / 11.0));
        }
    }
    std::sort(wanted.begin(), wanted.end());
    return wanted;
}

// Nodes of the curve but for 0 and the deepest.
std::vector<double> levels(const std::vector<double>& wanted, double first, double deepest) {
    std::vector<double> nodes = wanted;
    const double steps = std::ceil(std::log(deepest / first) / std::log(kRatio));
    for (double i = 0.0; i < steps; ++i) {
        nodes.push_back(first * std::pow(deepest / first, i / steps));
    }
    std::sort(nodes.begin(), nodes.end());
    const auto same = [](double a, double b) { return b - a <= kSameDepth * b; };
    nodes.erase(std::unique(nodes.begin(), nodes.end(), same), nodes.end());
    return nodes;
}

double extrapolated(double fine, double coarse) {
    return fine + (fine - coarse) / 3.0;
}

// Slopes of a cubic that rises where its nodes rise: harmonic means of the neighbors' differences;
// the first one is given.
std::vector<double> rising_slopes(const std::vector<double>& x, const std::vector<double>& y,
                                  double first) {
    const std::size_t n = x.size();
    std::vector<double> step(n - 1);
    std::vector<double> difference(n - 1);
    for (std::size_t i = 0; i + 1 < n; ++i) {
        step[i] = x[i + 1] - x[i];
        difference[i] = (y[i + 1] - y[i]) / step[i];
    }
    std::vector<double> slope(n, 0.0);
    slope[0] = std::min(first, 3.0 * difference[0]);
    for (std::size_t i = 1; i + 1 < n; ++i) {
        if (difference[i - 1] > 0.0 && difference[i] > 0.0) {
            const double w1 = 2.0 * step[i] + step[i - 1];
            const double w2 = step[i] + 2.0 * step[i - 1];
            slope[i] = (w1 + w2) / (w1 / difference[i - 1] + w2 / difference[i]);
        }
    }
    // One-sided at the end, and behind the first node, where the piece before is much the longest;
    // kept where the curve rises.
    const auto one_sided = [&](std::size_t near, std::size_t next) {
        const double ahead =
            (difference[near] - difference[next]) * step[near] / (step[near] + step[next]);
        return difference[near] + ahead;
    };
    if (n > 3) {
        slope[1] = std::clamp(one_sided(1, 2), 0.0, 3.0 * std::min(difference[0], difference[1]));
        slope[n - 1] = std::clamp(one_sided(n - 2, n - 3), 0.0, 3.0 * difference[n - 2]);
    }
    return slope;
}

// Turns a pass into the curve: W = V - what lies at or below.
void set_curve(DepthVolume& curve, const std::vector<double>& nodes,
               const detail::PassResult& pass) {
    const double volume = curve.volume_mm3;
    curve.depth_mm = {0.0};
    curve.skin_mm3 = curve.estimated_mm3 = curve.at_least_mm3 = curve.at_most_mm3 = {0.0};
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        curve.depth_mm.push_back(nodes[i]);
        const double skin = volume - extrapolated(pass.fine[i], pass.coarse[i]);
        const double at_least = std::clamp(volume - pass.possible[i], 0.0, volume);
        const double at_most = std::clamp(volume - pass.certain[i], 0.0, volume);
        // The curve never falls.
        curve.skin_mm3.push_back(
            std::max(curve.skin_mm3.back(), std::clamp(skin, at_least, at_most)));
        curve.estimated_mm3.push_back(std::abs(pass.fine[i] - pass.coarse[i]) / 3.0);
        curve.at_least_mm3.push_back(std::max(at_least, curve.at_least_mm3.back()));
        curve.at_most_mm3.push_back(at_most);
    }
    curve.depth_mm.push_back(curve.deepest.depth_mm);
    curve.skin_mm3.push_back(volume);
    curve.estimated_mm3.push_back(0.0);
    curve.at_least_mm3.push_back(volume);
    curve.at_most_mm3.push_back(volume);
    for (std::size_t i = curve.at_most_mm3.size() - 1; i-- > 0;) {
        curve.at_most_mm3[i] = std::min(curve.at_most_mm3[i], curve.at_most_mm3[i + 1]);
    }
    curve.slope_mm2 = rising_slopes(curve.depth_mm, curve.skin_mm3, curve.area_mm2);
    curve.cell_mm = pass.cell_mm;
    curve.cells = pass.cells;
}

// The largest estimated error of the wanted depths, relative to their skin volumes.
double worst_error(const DepthVolume& curve, const std::vector<double>& wanted) {
    double worst = 0.0;
    for (const double depth : wanted) {
        worst = std::max(worst, curve.error_mm3(depth) / curve.skin_volume_mm3(depth));
    }
    return worst;
}

// How many cells a size takes is known only from a pass: coarser ones are tried until one fits, so
// that the size in the sentence does.
[[noreturn]] void refuse_cell(const TriangleBvh& surface, detail::PassOptions options, double area,
                              double cell, const RunContext& context) {
    const double per_cell = options.per_depth * cell;
    const double likely = std::sqrt(kCellsPerArea * area / static_cast<double>(options.max_cells));
    double fits = std::max(1.25 * cell, 0.8 * likely);
    while (true) {
        // As it will be typed: with three digits.
        fits = std::stod(significant(fits, 3));
        options.per_depth = per_cell / fits;
        if (!detail::depth_pass(surface, options, context).over_budget) {
            break;
        }
        fits *= 1.25;
    }
    throw InvalidInput(fmt::format(
        "Depth cells of {} would take more than {} cells on this part; use {} or more.",
        told_own(cell, Kind::length, 3), options.max_cells, told_own(fits, Kind::length, 3)));
}

// How fine the first pass is and at which depths it measures.
detail::PassOptions first_pass(const DepthOptions& options, const DepthVolume& curve,
                               const std::vector<double>& wanted) {
    const double deepest = curve.deepest.depth_mm;
    const auto budget = static_cast<double>(options.max_cells);
    detail::PassOptions pass_options;
    pass_options.max_cells = options.max_cells;
    pass_options.per_depth = kFirstFineness;
    pass_options.wanted_mm = wanted.front();
    if (options.cell_mm) {
        pass_options.per_depth = wanted.front() / *options.cell_mm;
    } else {
        // Depths that even the coarsest cells can't reach within the budget are left to the curve's
        // first cubic.
        const double least = std::sqrt(kCellsPerArea * curve.area_mm2 / budget) * kFirstFineness;
        pass_options.wanted_mm =
            std::clamp(wanted.front(), std::min(least, 0.5 * deepest), deepest);
    }
    pass_options.levels_mm = levels(wanted, kLead * pass_options.wanted_mm, deepest);
    return pass_options;
}

}  // namespace

DepthVolume depth_volume(const TriMesh& mesh, const TriangleBvh& surface,
                         const DepthOptions& options, const RunContext& context) {
    check(options);
    const MassProperties whole = mass_properties(mesh, context);
    DepthVolume curve;
    curve.volume_mm3 = options.volume_mm3.value_or(whole.volume_mm3);
    curve.area_mm2 = whole.area_mm2;
    if (!(curve.volume_mm3 > 0.0)) {
        throw UnusableInput(
            "The part's volume is not positive, so nothing lies below its surface; turn the "
            "surface outside out.");
    }
    context.report("depth", 0.0);
    curve.deepest = deepest_point(surface, context);
    const double deepest = curve.deepest.depth_mm;
    if (!(deepest > 0.0)) {
        throw UnusableInput(
            "No point inside the part was found, so it has no depth; check that it is closed.");
    }
    const std::vector<double> wanted = wanted_depths(options, curve.area_mm2, deepest);
    const auto budget = static_cast<double>(options.max_cells);
    detail::PassOptions pass_options = first_pass(options, curve, wanted);
    double to_do = 0.9;  // each pass takes several times as long as the one before
    while (true) {
        context.report("depth", 1.0 - to_do);
        to_do *= 0.8;
        const detail::PassResult pass = detail::depth_pass(surface, pass_options, context);
        if (pass.over_budget) {
            if (options.cell_mm || curve.depth_mm.empty()) {
                refuse_cell(surface, pass_options, curve.area_mm2,
                            options.cell_mm.value_or(pass.cell_mm), context);
            }
            break;
        }
        set_curve(curve, pass_options.levels_mm, pass);
        const double error = worst_error(curve, wanted);
        // Cells go with the square of the fineness, and so does the error go down.
        const double most = std::sqrt(0.8 * budget / static_cast<double>(pass.cells));
        const double step = std::clamp(1.2 * std::sqrt(error / options.wanted_relative_error),
                                       kLeastStep, kMostStep);
        if (options.cell_mm || error <= options.wanted_relative_error || most < kLeastStep) {
            break;
        }
        pass_options.per_depth *= std::min(step, most);
    }
    context.report("depth", 1.0);
    return curve;
}

namespace {

// The piece of the curve that `depth` lies in, and the share of it before `depth`.
std::pair<std::size_t, double> piece(const std::vector<double>& nodes, double depth) {
    const auto next = std::upper_bound(nodes.begin() + 1, nodes.end() - 1, depth);
    const auto i = static_cast<std::size_t>(next - nodes.begin()) - 1;
    return {i, (depth - nodes[i]) / (nodes[i + 1] - nodes[i])};
}

}  // namespace

double DepthVolume::skin_volume_mm3(double depth) const {
    if (!(depth > 0.0) || depth_mm.size() < 2) {
        return 0.0;
    }
    if (depth >= depth_mm.back()) {
        return volume_mm3;
    }
    const auto [i, t] = piece(depth_mm, depth);
    const double length = depth_mm[i + 1] - depth_mm[i];
    const double rise = skin_mm3[i + 1] - skin_mm3[i];
    const double from = slope_mm2[i] * length;
    const double to = slope_mm2[i + 1] * length;
    return skin_mm3[i] +
           t * (from + t * ((3.0 * rise - 2.0 * from - to) + t * (from + to - 2.0 * rise)));
}

double DepthVolume::error_mm3(double depth) const {
    if (!(depth > 0.0) || depth_mm.size() < 2 || depth >= depth_mm.back()) {
        return 0.0;
    }
    const auto [i, t] = piece(depth_mm, depth);
    return (1.0 - t) * estimated_mm3[i] + t * estimated_mm3[i + 1];
}

}  // namespace cavigram
