// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <optional>

#include "cavigram/io/foreign_format_detail.h"
#include "cavigram/io/stated_unit_detail.h"
#include "cavigram/io/text_detail.h"

namespace cavigram {

namespace {

struct Mark {
    std::string_view start;
    std::string_view what;
};

constexpr std::string_view kSolidModel =
    "a solid model of exact surfaces (STEP or IGES); export the part as a mesh from the program "
    "that made it: STL, 3MF or OBJ, with a deviation of less than a thousandth of its size";
constexpr std::string_view kScene =
    "a scene in USD; export the part as GLB, OBJ or STL from the program that made it";
constexpr std::string_view kArchive =
    "an archive (zip, gzip or the like); unpack it and name the mesh file that is in it";
constexpr std::string_view kProject =
    "a modeling program's own project file; open it there and export the part as STL, OBJ or 3MF";
constexpr std::string_view kPicture =
    "a picture, not a shape; export the part itself as STL, OBJ, PLY or 3MF";
constexpr std::string_view kPage =
    "a web page, so the download has gone wrong; download the mesh file itself again";
constexpr std::string_view kDocument =
    "a document, not a shape; export the part itself as STL, OBJ, PLY or 3MF";
constexpr std::string_view kScript =
    "a machine's path or a program, not a shape; export the part itself as STL, OBJ, PLY or 3MF";
constexpr std::string_view kWeb3d =
    "VRML or X3D, which this program does not read; export the part as STL, OBJ, PLY or GLB";

// By their first bytes. Standards: ISO 10303-21 (STEP), ASTM E2807 (E57), ASPRS LAS 1.4, ISO/IEC
// 14772-1 (VRML), ISO/IEC 15948 (PNG), ITU-T T.81 (JPEG), ISO 32000 (PDF); the others by common
// practice.
constexpr std::array kMarks{
    Mark{"ISO-10303-21", kSolidModel},
    Mark{"ASTM-E57", kPointCloud},
    Mark{"LASF", kPointCloud},
    Mark{"# .PCD", kPointCloud},
    Mark{"VERSION .7\nFIELDS", kPointCloud},
    Mark{"PXR-USDC", kScene},
    Mark{"#usda", kScene},
    Mark{"#VRML", kWeb3d},
    Mark{"\x1F\x8B", kArchive},
    Mark{"7z\xBC\xAF\x27\x1C", kArchive},
    Mark{"Rar!\x1A\x07", kArchive},
    Mark{"BZh", kArchive},
    Mark{"\xFD"
         "7zXZ",
         kArchive},
    Mark{"\x28\xB5\x2F\xFD", kArchive},
    Mark{"BLENDER", kProject},
    Mark{"3D Geometry File Format", kProject},
    Mark{"\xD0\xCF\x11\xE0", kProject},
    Mark{"\x89PNG", kPicture},
    Mark{"\xFF\xD8\xFF", kPicture},
    Mark{"GIF8", kPicture},
    Mark{"%PDF", kDocument},
    Mark{"{\\rtf", kDocument},
    Mark{"#!", kScript},
    Mark{"\x7F"
         "ELF",
         kScript},
};

bool starts_with_any_case(std::string_view text, std::string_view lower) {
    return text.size() >= lower.size() &&
           std::equal(lower.begin(), lower.end(), text.begin(), [](char a, char b) {
               return a == (b >= 'A' && b <= 'Z' ? static_cast<char>(b + 32) : b);
           });
}

std::string_view xml_kind(std::string_view start) {
    for (const std::string_view word : {"<!doctype html", "<html", "<head", "<body"}) {
        if (starts_with_any_case(start, word)) {
            return kPage;
        }
    }
    if (start.find("<X3D") != start.npos) {
        return kWeb3d;
    }
    return start.find("<svg") != start.npos ? kPicture : "";
}

std::string_view zip_kind(std::string_view bytes) {
    if (zip_entry(bytes, ".usdc", 1) || zip_entry(bytes, ".usda", 1) ||
        zip_entry(bytes, ".usd", 1)) {
        return kScene;
    }
    if (zip_entry(bytes, ".model", 1) || zip_entry(bytes, ".dae", 1)) {
        return "";
    }
    // One that is cut off may be anything; its name and its reader say more.
    return zip_entry(bytes, "", 1) ? kArchive : "";
}

// An IGES file's lines are 80 columns, the 73rd the letter of its section, S first.
bool is_iges(std::string_view bytes) {
    const std::size_t end = bytes.substr(0, 100).find_first_of("\r\n");
    return end == 80 && bytes[72] == 'S' &&
           bytes.substr(73, 7).find_first_not_of(" 01") == std::string_view::npos;
}

// How many numbers a line holds; none if it holds anything else.
std::optional<std::size_t> numbers_in(std::string_view line) {
    constexpr std::string_view kBetween = " \t,;\r";
    std::size_t count = 0;
    for (std::size_t begin = line.find_first_not_of(kBetween); begin != line.npos;
         begin = line.find_first_not_of(kBetween)) {
        line.remove_prefix(begin);
        const std::size_t size = std::min(line.find_first_of(kBetween), line.size());
        double value = 0.0;
        if (!parse_number(line.substr(0, size), value)) {
            return std::nullopt;
        }
        ++count;
        line.remove_prefix(size);
    }
    return count;
}

}  // namespace

std::string_view foreign_format(std::string_view bytes) {
    const std::string_view start = text_start(bytes.substr(0, 1 << 16));
    for (const Mark& mark : kMarks) {
        if (bytes.starts_with(mark.start) || start.starts_with(mark.start)) {
            return mark.what;
        }
    }
    if (bytes.starts_with(std::string_view("PK\x03\x04", 4)) ||
        bytes.starts_with(std::string_view("PK\x05\x06", 4))) {
        return zip_kind(bytes);
    }
    if (start.starts_with('<')) {
        return xml_kind(start);
    }
    if (is_iges(bytes)) {
        return kSolidModel;
    }
    return {};
}

bool is_point_text(std::string_view bytes) {
    std::string_view start = text_start(bytes.substr(0, 1 << 16));
    constexpr std::size_t kLinesLookedAt = 10;
    std::size_t lines = 0;
    for (; lines < kLinesLookedAt; ++lines) {
        const std::size_t end = start.find('\n');
        if (end == start.npos) {
            break;
        }
        if (numbers_in(start.substr(0, end)).value_or(0) < 3) {
            return false;
        }
        start.remove_prefix(end + 1);
    }
    return lines >= 3;
}

}  // namespace cavigram
