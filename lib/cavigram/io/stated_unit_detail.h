// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace cavigram {

/// The first bytes of an entry of a zip archive, inflated.
struct ZipEntry {
    std::string name;
    std::string start;  ///< At most as many bytes as were asked for.
};

/// Finds the first entry whose name ends with `ending` (any case) in the archive's central
/// directory and inflates its first `most_bytes`. Stored and deflated entries, no Zip64, no
/// encryption. Empty if there is none or the archive is damaged.
[[nodiscard]] std::optional<ZipEntry> zip_entry(std::string_view archive, std::string_view ending,
                                                std::size_t most_bytes);

/// What the first element of an XML text says in its attribute `attribute` (a namespace prefix on
/// the element is no matter). Empty if there is no such element; an empty string if it lacks the
/// attribute.
[[nodiscard]] std::optional<std::string> root_attribute(std::string_view xml,
                                                        std::string_view element,
                                                        std::string_view attribute);

/// Millimeters in a unit as 3MF and AMF name it: micron, millimeter, centimeter, inch, foot, meter
/// and so on.
[[nodiscard]] std::optional<double> unit_named(std::string_view word);

/// The unit that an AMF text states: `unit` of the element `amf`, the millimeter where it is
/// missing (ISO/ASTM 52915).
[[nodiscard]] std::optional<double> unit_of_amf(std::string_view file);

}  // namespace cavigram
