// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/mesh_format.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstring>
#include <string>

#include "cavigram/io/off_reader.h"
#include "cavigram/io/stated_unit_detail.h"
#include "cavigram/io/stl_reader.h"
#include "cavigram/io/text_detail.h"

namespace cavigram {

namespace {

constexpr double kMeter = 1000.0;

// glTF 2.0, section 3.4: meters, y up. COLLADA states unit and up axis in each file, and the
// importer brings both to meters and y up. The others state nothing that can be relied on.
constexpr std::array<MeshFormat, 13> kFormats{{
    {"stl", "stl", "", std::nullopt, false},
    {"obj", "obj", "", std::nullopt, false},
    {"ply", "ply", "", std::nullopt, false},
    {"off", "off", "", std::nullopt, false},
    {"3mf", "3mf", "", std::nullopt, false},
    {"glb", "glb", "", kMeter, true},
    {"gltf", "gltf", "", kMeter, true},
    {"dae", "dae", "zae", kMeter, true},
    {"fbx", "fbx", "", std::nullopt, false},
    {"3ds", "3ds", "", std::nullopt, false},
    {"amf", "amf", "", std::nullopt, false},
    {"dxf", "dxf", "", std::nullopt, false},
    {"ac", "ac", "ac3d", std::nullopt, false},
}};

const MeshFormat* named(std::string_view name) {
    const auto* const found = std::find_if(kFormats.begin(), kFormats.end(),
                                           [&](const MeshFormat& f) { return f.name == name; });
    return found == kFormats.end() ? nullptr : found;
}

std::string_view first_word(std::string_view text) {
    const auto* const end = std::find_if(text.begin(), text.end(), is_blank);
    return text.substr(0, static_cast<std::size_t>(end - text.begin()));
}

bool is_3ds(std::string_view bytes) {
    std::uint32_t length = 0;
    if (bytes.size() < 16 || !bytes.starts_with("MM")) {
        return false;
    }
    std::memcpy(&length, bytes.data() + 2, sizeof length);
    return length == bytes.size();
}

std::string_view xml_format(std::string_view start) {
    if (start.find("<COLLADA") != start.npos) {
        return "dae";
    }
    return start.find("<amf") != start.npos ? "amf" : "";
}

std::string_view zip_format(std::string_view bytes) {
    if (zip_entry(bytes, ".model", 1)) {
        return "3mf";
    }
    return zip_entry(bytes, ".dae", 1) ? "dae" : "";
}

// Lines of an OBJ file that give vertices and faces, near its beginning.
bool is_obj_text(std::string_view start) {
    bool vertex = start.starts_with("v ");
    bool face = false;
    for (std::size_t at = start.find('\n'); at != start.npos; at = start.find('\n', at + 1)) {
        const std::string_view line = start.substr(at + 1, 2);
        vertex = vertex || line == "v ";
        face = face || line == "f ";
    }
    return vertex && (face || start.find("\nvn ") != start.npos);
}

std::string_view marked_format(std::string_view bytes) {
    constexpr std::size_t kLook = 1 << 16;
    const std::string_view start = text_start(bytes.substr(0, kLook));
    const std::string_view word = first_word(start);
    if (bytes.starts_with("glTF")) {
        return "glb";
    }
    if (bytes.starts_with("PK\x03\x04")) {
        return zip_format(bytes);
    }
    if (bytes.starts_with("Kaydara FBX Binary") || start.starts_with("; FBX")) {
        return "fbx";
    }
    if (word == "ply") {
        return "ply";
    }
    if (is_off_word(word)) {
        return "off";
    }
    if (start.starts_with('<')) {
        return xml_format(start);
    }
    if (start.starts_with('{') && start.find("\"asset\"") != start.npos) {
        return "gltf";
    }
    if (start.starts_with("AC3D")) {
        return "ac";
    }
    if (is_3ds(bytes)) {
        return "3ds";
    }
    return looks_like_stl(bytes) ? "stl" : "";
}

}  // namespace

std::span<const MeshFormat> mesh_formats() {
    return kFormats;
}

const MeshFormat* format_of(std::string_view bytes, std::string_view extension) {
    if (const MeshFormat* format = named(marked_format(bytes))) {
        return format;
    }
    if (extension.starts_with('.')) {
        extension.remove_prefix(1);
    }
    std::string lower(extension);
    for (char& c : lower) {
        c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    }
    for (const MeshFormat& format : kFormats) {
        if (!lower.empty() && (lower == format.extension || lower == format.extension_2)) {
            return &format;
        }
    }
    return is_obj_text(bytes.substr(0, 1 << 16)) ? named("obj") : nullptr;
}

}  // namespace cavigram
