// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/prepare.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/limits.h"
#include "cavigram/core/told.h"

namespace cavigram {

namespace {

constexpr std::array kUnits = {LengthUnit{"mm", 1.0}, LengthUnit{"cm", 10.0},
                               LengthUnit{"m", 1000.0}, LengthUnit{"in", 25.4},
                               LengthUnit{"ft", 304.8}};

// Outside these a part is no part to cast by hand: a rice grain, a house. Only a warning, but the
// likely cause is a wrong unit.
constexpr double kSmallestLikely_mm = 10.0;
constexpr double kLargestLikely_mm = 3000.0;

std::string name_of_unit(double mm) {
    for (const LengthUnit& unit : kUnits) {
        if (std::abs(unit.mm - mm) <= 1e-9 * mm) {
            return unit.name;
        }
    }
    return std::abs(mm - 0.001) <= 1e-12 ? "um" : "own";
}

// A unit that a file states, in a sentence.
std::string unit_text(double mm) {
    const std::string name = name_of_unit(mm);
    return name == "own" ? "a unit of " + told(mm, Kind::length, 4) : name;
}

std::string size_text(const Vec3& size) {
    return fmt::format("{} x {} x {}", told_end(size.x(), Kind::length, 4),
                       told_end(size.y(), Kind::length, 4), told_own(size.z(), Kind::length, 4));
}

// Asks for the unit before anything else can fail with a message about a part of the wrong size.
void ask_for_unit(const PartRequest& request, const std::optional<double>& stated_mm,
                  double longest, double longest_mm) {
    if (kPartSize_mm.hold(longest_mm)) {
        return;
    }
    std::string likely;
    for (const LengthUnit& unit : kUnits) {
        const double mm = longest * unit.mm * request.scale;
        if (mm >= kSmallestLikely_mm && mm <= kLargestLikely_mm) {
            likely +=
                fmt::format("{} {} ({}), ", setting("units"), unit.name, told(mm, Kind::length));
        }
    }
    const std::string stated =
        stated_mm ? fmt::format(" (the file states {})", unit_text(*stated_mm)) : std::string();
    throw UnusableInput(fmt::format(
        "Can't use {}: its longest side would be {}, which no cast part has; give the unit "
        "that its numbers are in{}, {}{} with its real size.",
        request.file.string(), told(longest_mm, Kind::length), stated,
        likely.empty() ? fmt::format("by {} or ", setting("units")) : likely + "or ",
        setting("longest")));
}

// Settles how many millimeters the file's unit is, and says what was assumed.
void settle_units(const PartRequest& request, const Soup& soup, InputBlock& input,
                  std::vector<Finding>& findings) {
    const Vec3 size = bounds(soup.mesh).sizes();
    const double longest = size.maxCoeff();
    if (!(longest > 0.0)) {
        throw UnusableInput(fmt::format(
            "All triangles of {} lie in one point; export the mesh again.", request.file.string()));
    }
    if (request.longest_mm) {
        input.units = "any";
        input.units_source = "longest";
        input.scale = *request.longest_mm / longest;
    } else if (request.units) {
        input.units = request.units->name;
        input.units_source = "option";
        input.scale = request.units->mm * request.scale;
        if (soup.unit_mm && std::abs(*soup.unit_mm / request.units->mm - 1.0) > 1e-9) {
            findings.push_back(
                {Severity::warning,
                 "units_overruled",
                 fmt::format(
                     "The file states {}, in which the part is {}; as asked it was read in {}, "
                     "in which it is {}.",
                     unit_text(*soup.unit_mm), size_text(size * *soup.unit_mm * request.scale),
                     request.units->name, size_text(size * input.scale)),
                 {}});
        }
    } else if (soup.unit_mm) {
        input.units = name_of_unit(*soup.unit_mm);
        input.units_source = "file";
        input.scale = *soup.unit_mm * request.scale;
    } else {
        input.units = "mm";
        input.units_source = "assumed";
        input.scale = request.scale;
        findings.push_back(
            {Severity::note,
             "units_assumed",
             fmt::format("The file states no unit; read in millimeters the part is {}. "
                         "If that is wrong, give {} or {}.",
                         size_text(size * input.scale), setting("units"), setting("longest")),
             {}});
    }
    const double longest_mm = longest * input.scale;
    ask_for_unit(request, soup.unit_mm, longest, longest_mm);
    if (longest_mm < kSmallestLikely_mm || longest_mm > kLargestLikely_mm) {
        findings.push_back(
            {Severity::warning,
             "size_unlikely",
             fmt::format("The longest side is {}, unlikely for a part cast by hand; check {}.",
                         told(longest_mm, Kind::length), setting("units")),
             {}});
    }
}

}  // namespace

LengthUnit parse_length_unit(std::string_view text) {
    // As written out, or however a keyboard's shift key stood.
    std::string word(text);
    std::transform(word.begin(), word.end(), word.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    static constexpr std::pair<const char*, const char*> kWords[] = {
        {"millimeters", "mm"}, {"millimeter", "mm"}, {"centimeters", "cm"}, {"centimeter", "cm"},
        {"meters", "m"},       {"meter", "m"},       {"inches", "in"},      {"inch", "in"},
        {"\"", "in"},          {"feet", "ft"},       {"foot", "ft"},        {"'", "ft"}};
    for (const auto& [written, name] : kWords) {
        word = word == written ? name : word;
    }
    for (const LengthUnit& unit : kUnits) {
        if (word == unit.name) {
            return unit;
        }
    }
    throw InvalidInput(
        fmt::format("{} is \"{}\"; give mm, cm, m, in or ft.", setting("units"), text));
}

void validate(const PartRequest& request) {
    if (!(request.scale > 0.0 && std::isfinite(request.scale))) {
        throw InvalidInput(setting("scale") + " must be more than 0.");
    }
    if (request.longest_mm && request.scale != 1.0) {
        throw InvalidInput(fmt::format("{} and {} both set the size; give one of them.",
                                       setting("longest"), setting("scale")));
    }
    if (request.longest_mm && !kPartSize_mm.hold(*request.longest_mm)) {
        throw InvalidInput(fmt::format("{} must be from {} to {}.", setting("longest"),
                                       told(kPartSize_mm.least, Kind::length),
                                       told(kPartSize_mm.most, Kind::length)));
    }
}

PreparedPart prepare_part(const PartRequest& request, const RunContext& context) {
    validate(request);
    context.report("reading", 0.0);
    return prepare_part(request, read_mesh(request.file, request.read, context), context);
}

PreparedPart prepare_part(const PartRequest& request, const Soup& soup, const RunContext& context) {
    validate(request);
    InputBlock input;
    input.file = request.name.empty() ? request.file.filename().string() : request.name;
    input.format = soup.format;
    input.triangles = soup.triangles_in_file;
    std::vector<Finding> findings;
    settle_units(request, soup, input, findings);
    for (Finding finding : soup.findings) {
        for (auto& place : finding.at_mm) {
            for (double& coordinate : place) {
                coordinate *= input.scale;
            }
        }
        findings.push_back(std::move(finding));
    }
    context.report("mending", 0.0);
    Mended mended = input.scale == 1.0 ? mend(soup.mesh, request.mend, context)
                                       : mend(transformed(soup.mesh, input.scale, Vec3::Zero()),
                                              request.mend, context);
    findings.insert(findings.end(), mended.findings.begin(), mended.findings.end());
    return {std::move(input), std::move(mended.part), std::move(findings)};
}

}  // namespace cavigram
