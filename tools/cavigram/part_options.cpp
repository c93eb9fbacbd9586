// SPDX-License-Identifier: GPL-3.0-or-later
// Which file, its size, and how it may be mended.
#include <charconv>

#include <fmt/core.h>

#include "cavigram/core/error.h"

#include "option_table.h"

namespace cavigram::program {

namespace {

double parse_factor(const std::string& text, const std::string& name) {
    double factor = 0.0;
    const char* const end = text.data() + text.size();
    const auto [rest, error] = std::from_chars(text.data(), end, factor);
    if (error != std::errc() || rest != end) {
        throw InvalidInput(fmt::format("{} is \"{}\"; give a number such as 2.", name, text));
    }
    return factor;
}

const auto mend = [](auto m) {
    return into(&Options::plan, &PlanRequest::part, &PartRequest::mend, m);
};

OptionValue input_file() {
    OptionValue file{"a file", [](Options& o, const std::string& given, const std::string&) {
                         o.parts.emplace_back(given);
                         o.plan.part.file = o.parts.front();
                     }};
    file.beside_job = BesideJob::yes;
    return file;
}

}  // namespace

std::vector<OptionRow> part_options() {
    return {
        {"part", Group::part, kPart, "part.stl", "Mesh file of the part", input_file(), "", true,
         kPlan},
        {"units", Group::size, kPart, "in", "Unit of the file's numbers: mm, cm, m, in, ft",
         parsed("a word",
                [](const std::string& t, const std::string&) { return parse_length_unit(t); },
                part(&PartRequest::units), {"mm", "cm", "m", "in", "ft"})},
        {"longest", Group::size, kPart, "355mm", "Scale so that the longest side is this",
         quantity(Kind::length, kPartSize_mm, part(&PartRequest::longest_mm))},
        {"scale", Group::size, kPart, "1.02", "Scale by this factor",
         parsed("a number", parse_factor, part(&PartRequest::scale))},
        {"partial", Group::mending, kPart, "", "Take what is there of a file that is cut off",
         flag(into(&Options::plan, &PlanRequest::part, &PartRequest::read, &ReadOptions::partial))},
        {"largest-hole", Group::mending, kPart, "40mm",
         "Close holes up to this width, however much of the part they make up, and none wider",
         quantity(Kind::length, kLength_mm, mend(&MendOptions::largest_hole_mm))},
        {"mend", Group::mending, kPart, "gentle",
         "How far mending may go: off, gentle or full (default)",
         choice<MendLevel>(
             {{"off", MendLevel::off}, {"gentle", MendLevel::gentle}, {"full", MendLevel::full}},
             mend(&MendOptions::level))},
        {"hollow", Group::mending, kPart, "fill",
         "What shells within the part are: keep them hollow (default), or fill",
         choice<Hollows>({{"keep", Hollows::keep}, {"fill", Hollows::fill}},
                         mend(&MendOptions::hollows))},
        {"keep-scraps", Group::mending, kPart, "", "Keep closed pieces however small",
         flag(mend(&MendOptions::keep_scraps))},
        {"wrap", Group::mending, kPart, "",
         "Replace the surface by a wrap around it: the last resort",
         flag(mend(&MendOptions::wrap))},
    };
}

}  // namespace cavigram::program
