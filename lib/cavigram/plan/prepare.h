// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/io/soup.h"
#include "cavigram/repair/mend.h"

namespace cavigram {

/// A unit of length that a person may name for a file.
struct LengthUnit {
    const char* name = "mm";  ///< As a person writes it.
    double mm = 1.0;          ///< How long it is.

    /// By name and length.
    friend bool operator==(const LengthUnit& a, const LengthUnit& b) {
        return std::string_view(a.name) == b.name && a.mm == b.mm;
    }
};

/// `mm`, `cm`, `m`, `in`, `ft`, in capitals or written out: `MM`, `inches`.
///
/// \throw InvalidInput naming them
[[nodiscard]] LengthUnit parse_length_unit(std::string_view text);

/// Which file, and how its numbers become millimeters.
struct PartRequest {
    std::filesystem::path file;  ///< To be read.
    std::string name;            ///< What the file is called; empty: by its own name.
    std::optional<LengthUnit>
        units;           ///< None: what the file states, else millimeters with a finding.
    double scale = 1.0;  ///< On top of the unit.
    std::optional<double>
        longest_mm;    ///< Scale so that the longest side is this, whatever the unit.
    MendOptions mend;  ///< How far mending may go.
    ReadOptions read;  ///< How files are read.

    /// Field by field.
    friend bool operator==(const PartRequest&, const PartRequest&) = default;
};

/// Another part's file, in the first one's unit unless it has its own.
struct AlsoPart {
    std::filesystem::path file;       ///< As PartRequest.
    std::optional<LengthUnit> units;  ///< Its own; none: as the first part.
    std::string name = {};            ///< As PartRequest.
};

/// The file as it was understood.
struct InputBlock {
    std::string file;           ///< Its name, without the folder.
    std::string format;         ///< As its content says.
    std::size_t triangles = 0;  ///< As read.
    std::string units;  ///< Of the file's numbers: "mm", "in", ...; "any" when --longest decides.
    std::string units_source;  ///< "option", "file", "assumed", "longest".
    double scale = 1.0;        ///< Millimeters for each of the file's numbers.
};

/// A part read from a file.
struct PreparedPart {
    InputBlock input;               ///< The file as it was understood.
    Part part;                      ///< Mended.
    std::vector<Finding> findings;  ///< What a person should know of both.
};

/// Reads, scales and mends.
///
/// \throw InvalidInput for a scale that makes no sense; UnusableInput, for a longest side outside
/// of 1 mm to 10 m before anything is mended, naming the units that are likely; Cancelled
[[nodiscard]] PreparedPart prepare_part(const PartRequest& request, const RunContext& context = {});
/// The same with what was read before in the place of the file, which only lends its name.
[[nodiscard]] PreparedPart prepare_part(const PartRequest& request, const Soup& soup,
                                        const RunContext& context = {});

/// What can be refused of a request before anything is read.
///
/// \throw InvalidInput for a scale that makes no sense
void validate(const PartRequest& request);

}  // namespace cavigram
