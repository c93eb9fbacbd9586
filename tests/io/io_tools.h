// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <unistd.h>
#include <utility>
#include <vector>

#include <doctest/doctest.h>
#include <fmt/core.h>
#include <zlib.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/io/soup.h"

#include "support/findings.h"
#include "support/refusal.h"

namespace io_test {

using namespace cavigram;

/// A folder that is gone when the test ends.
class Folder {
  public:
    Folder() {
        static int number = 0;
        path_ = std::filesystem::temp_directory_path() /
                fmt::format("cavigram_io_{}_{}", getpid(), number++);
        std::filesystem::create_directories(path_);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() { std::filesystem::remove_all(path_); }

    [[nodiscard]] const std::filesystem::path& path() const { return path_; }
    /// Writes a file and gives its path.
    [[nodiscard]] std::filesystem::path file(const std::string& name,
                                             std::string_view bytes) const {
        std::ofstream(path_ / name, std::ios::binary)
            .write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
        return path_ / name;
    }

  private:
    std::filesystem::path path_;
};

/// The sentence of the UnusableInput that `call` throws.
template <class Call>
std::string refusal(const Call& call) {
    return refusal_of<UnusableInput>(call);
}

/// One plain sentence: no line break, one period at its end, and a remedy behind the semicolon.
inline void check_sentence(const std::string& text) {
    INFO(text);
    CHECK(text.size() > 20);
    CHECK(text.size() < 600);
    CHECK(text.find('\n') == text.npos);
    CHECK(text.ends_with('.'));
    CHECK(text.find("; ") != text.npos);
}

/// Signed volume by the divergence theorem, about the first vertex. In plain code of its own, to
/// judge the readers by.
inline double plain_volume(const TriMesh& mesh) {
    double six = 0.0;
    const Vec3 o = mesh.corner(0, 0);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        six += (mesh.corner(t, 0) - o).dot((mesh.corner(t, 1) - o).cross(mesh.corner(t, 2) - o));
    }
    return six / 6.0;
}

inline double plain_area(const TriMesh& mesh) {
    double two = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        two += (mesh.corner(t, 1) - mesh.corner(t, 0))
                   .cross(mesh.corner(t, 2) - mesh.corner(t, 0))
                   .norm();
    }
    return two / 2.0;
}

/// Soup's promises: indices in range, coordinates finite and within the limit, at least one
/// triangle.
inline bool keeps_promises(const Soup& soup) {
    bool good = !soup.mesh.triangles.empty() && !soup.format.empty();
    for (const Triangle& t : soup.mesh.triangles) {
        for (const std::int32_t i : t) {
            good = good && i >= 0 && static_cast<std::size_t>(i) < soup.mesh.vertices.size();
        }
    }
    for (const Vec3& v : soup.mesh.vertices) {
        good = good && v.allFinite() && v.cwiseAbs().maxCoeff() <= kLargestCoordinate;
    }
    return good;
}

inline bool has_finding(const Soup& soup, FindingCode code) {
    return ::has_finding(soup.findings, code);
}

template <class T>
void put(std::string& bytes, const T& value) {
    bytes.append(reinterpret_cast<const char*>(&value), sizeof value);
}

/// A binary STL written here byte by byte, with any count in its header.
inline std::string stl_of(const TriMesh& mesh, std::uint32_t count,
                          std::string header = "made by a test") {
    header.resize(80, '\0');
    std::string bytes = header;
    put(bytes, count);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        put(bytes, std::array<float, 3>{});
        for (int i = 0; i < 3; ++i) {
            for (int k = 0; k < 3; ++k) {
                put(bytes, static_cast<float>(mesh.corner(t, i)[k]));
            }
        }
        put(bytes, std::uint16_t{0});
    }
    return bytes;
}

inline std::string stl_of(const TriMesh& mesh) {
    return stl_of(mesh, static_cast<std::uint32_t>(mesh.triangles.size()));
}

inline std::string stl_text_of(const TriMesh& mesh, const std::string& solid = "part",
                               const std::string& eol = "\n") {
    std::string text = "solid " + solid + eol;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        text += "  facet normal 0 0 0" + eol + "    outer loop" + eol;
        for (int i = 0; i < 3; ++i) {
            const Vec3& v = mesh.corner(t, i);
            text += fmt::format("      vertex {:.17g} {:.17g} {:.17g}", v[0], v[1], v[2]) + eol;
        }
        text += "    endloop" + eol + "  endfacet" + eol;
    }
    return text + "endsolid " + solid + eol;
}

inline std::string obj_of(const TriMesh& mesh) {
    std::string text = "# a test\n";
    for (const Vec3& v : mesh.vertices) {
        text += fmt::format("v {:.9g} {:.9g} {:.9g}\n", v[0], v[1], v[2]);
    }
    for (const Triangle& t : mesh.triangles) {
        text += fmt::format("f {} {} {}\n", t[0] + 1, t[1] + 1, t[2] + 1);
    }
    return text;
}

inline std::string off_of(const TriMesh& mesh) {
    std::string text = fmt::format("OFF\n{} {} 0\n", mesh.vertices.size(), mesh.triangles.size());
    for (const Vec3& v : mesh.vertices) {
        text += fmt::format("{:.9g} {:.9g} {:.9g}\n", v[0], v[1], v[2]);
    }
    for (const Triangle& t : mesh.triangles) {
        text += fmt::format("3 {} {} {}\n", t[0], t[1], t[2]);
    }
    return text;
}

inline std::string ply_text_of(const TriMesh& mesh) {
    std::string text = fmt::format(
        "ply\nformat ascii 1.0\nelement vertex {}\nproperty float x\nproperty float y\nproperty "
        "float z\n"
        "element face {}\nproperty list uchar int vertex_indices\nend_header\n",
        mesh.vertices.size(), mesh.triangles.size());
    for (const Vec3& v : mesh.vertices) {
        text += fmt::format("{:.9g} {:.9g} {:.9g}\n", v[0], v[1], v[2]);
    }
    for (const Triangle& t : mesh.triangles) {
        text += fmt::format("3 {} {} {}\n", t[0], t[1], t[2]);
    }
    return text;
}

/// A zip archive, entries deflated or stored (PKWARE's APPNOTE 4.3).
inline std::string zip_of(const std::vector<std::pair<std::string, std::string>>& entries,
                          bool deflated = true) {
    std::string bytes;
    std::string central;
    for (const auto& [name, text] : entries) {
        std::string packed = text;
        if (deflated) {
            z_stream stream{};
            REQUIRE(deflateInit2(&stream, 6, Z_DEFLATED, -MAX_WBITS, 8, Z_DEFAULT_STRATEGY) ==
                    Z_OK);
            packed.resize(deflateBound(&stream, static_cast<uLong>(text.size())));
            stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
            stream.avail_in = static_cast<uInt>(text.size());
            stream.next_out = reinterpret_cast<Bytef*>(packed.data());
            stream.avail_out = static_cast<uInt>(packed.size());
            REQUIRE(deflate(&stream, Z_FINISH) == Z_STREAM_END);
            packed.resize(stream.total_out);
            deflateEnd(&stream);
        }
        std::string common;
        put(common, std::uint16_t{20});
        put(common, std::uint16_t{0});
        put(common, static_cast<std::uint16_t>(deflated ? 8 : 0));
        put(common, std::uint32_t{0x58210000});  // 1 January 2024
        put(common, static_cast<std::uint32_t>(crc32(0, reinterpret_cast<const Bytef*>(text.data()),
                                                     static_cast<uInt>(text.size()))));
        put(common, static_cast<std::uint32_t>(packed.size()));
        put(common, static_cast<std::uint32_t>(text.size()));
        put(common, static_cast<std::uint16_t>(name.size()));
        put(common, std::uint16_t{0});
        central += std::string("PK\x01\x02", 4);
        put(central, std::uint16_t{20});
        central += common;
        central.append(10, '\0');  // comment length, disk, two kinds of attributes
        put(central, static_cast<std::uint32_t>(bytes.size()));
        central += name;
        bytes += std::string("PK\x03\x04", 4) + common + name + packed;
    }
    const std::size_t central_at = bytes.size();
    bytes += central + std::string("PK\x05\x06\0\0\0\0", 8);
    put(bytes, static_cast<std::uint16_t>(entries.size()));
    put(bytes, static_cast<std::uint16_t>(entries.size()));
    put(bytes, static_cast<std::uint32_t>(central.size()));
    put(bytes, static_cast<std::uint32_t>(central_at));
    put(bytes, std::uint16_t{0});
    return bytes;
}

/// A 3MF package of these model parts, the first of them its root (Open Packaging Conventions).
inline std::string threemf_package(std::vector<std::pair<std::string, std::string>> parts,
                                   bool deflated = true) {
    const std::string root = parts.front().first;
    parts.insert(
        parts.begin(),
        {{"[Content_Types].xml",
          "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
          "<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\">"
          "<Default Extension=\"rels\" "
          "ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>"
          "<Default Extension=\"model\" "
          "ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/>"
          "</Types>"},
         {"_rels/.rels",
          "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
          "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">"
          "<Relationship Target=\"/" +
              root +
              "\" Id=\"rel0\" "
              "Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></"
              "Relationships>"}});
    return zip_of(parts, deflated);
}

/// The element `mesh` of a 3MF object.
inline std::string threemf_mesh(const TriMesh& mesh) {
    std::string text = "<mesh><vertices>\n";
    for (const Vec3& v : mesh.vertices) {
        text +=
            fmt::format("<vertex x=\"{:.17g}\" y=\"{:.17g}\" z=\"{:.17g}\"/>\n", v[0], v[1], v[2]);
    }
    text += "</vertices><triangles>\n";
    for (const Triangle& t : mesh.triangles) {
        text += fmt::format("<triangle v1=\"{}\" v2=\"{}\" v3=\"{}\"/>\n", t[0], t[1], t[2]);
    }
    return text + "</triangles></mesh>";
}

/// A 3MF file with one object, `unit` as given (empty: no attribute), placed once for each
/// transform.
inline std::string threemf_of(const TriMesh& mesh, const std::string& unit = "millimeter",
                              const std::vector<std::string>& transforms = {""},
                              bool deflated = true) {
    std::string model =
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- unit=\"inch\" in a comment -->\n<model" +
        (unit.empty() ? "" : " unit=\"" + unit + "\"") +
        " xml:lang=\"en-US\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n"
        "<resources><object id=\"1\" type=\"model\">" +
        threemf_mesh(mesh);
    model += "</object></resources><build>";
    for (const std::string& transform : transforms) {
        model += "<item objectid=\"1\"" +
                 (transform.empty() ? "" : " transform=\"" + transform + "\"") + "/>";
    }
    model += "</build></model>\n";
    return threemf_package({{"3D/3dmodel.model", model}}, deflated);
}

}  // namespace io_test
