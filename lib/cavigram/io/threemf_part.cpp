// SPDX-License-Identifier: GPL-3.0-or-later
// 3MF Core Specification 1.3 (elements, attributes, defaults) and 3MF Production Extension 1.1.2
// (path).
#include <algorithm>
#include <array>
#include <charconv>
#include <limits>

#include <fmt/core.h>

#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/stated_unit_detail.h"
#include "cavigram/io/text_detail.h"
#include "cavigram/io/threemf_part_detail.h"
#include "cavigram/io/xml_stream_detail.h"

namespace cavigram {

namespace {

constexpr std::string_view kCore = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02";
// What may be required of a reader and is either done here or leaves the shape alone.
constexpr std::array<std::string_view, 4> kKnownExtensions{
    kCore, "http://schemas.microsoft.com/3dmanufacturing/production/2015/06",
    "http://schemas.microsoft.com/3dmanufacturing/material/2015/02",
    "http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07"};
constexpr std::size_t kMostIndices = std::numeric_limits<std::int32_t>::max();

class PartReader : public XmlHandler {
  public:
    PartReader(std::string_view name, const std::string& path) : name_(name), path_(path) {}

    ThreemfPart read(ZipPackage& package) {
        XmlStream stream(*this, name_, path_);
        stream_ = &stream;
        package.read(path_, [&](std::string_view piece) { stream.feed(piece); });
        stream.finish();
        stream_ = nullptr;
        if (!model_seen_) {
            refuse(name_, "its part " + shown_text(path_) + " is no 3MF model; export it again");
        }
        return std::move(part_);
    }

    void bind(std::string_view prefix, std::string_view uri) override {
        prefixes_[std::string(prefix)] = uri;
    }

    void start(std::string_view uri, std::string_view name, const XmlAttributes& a) override {
        if (foreign_ > 0 || !(uri == kCore || uri.empty())) {
            part_.beams = part_.beams || name == "beamlattice";
            ++foreign_;
            return;
        }
        if (name == "vertex") {
            take_vertex(a);
        } else if (name == "triangle") {
            take_triangle(a);
        } else if (name == "object") {
            take_object(a);
        } else if (name == "component") {
            object_here().components.push_back(placement(a));
        } else if (name == "item") {
            part_.items.push_back(placement(a));
        } else if (name == "model") {
            take_model(a);
        }
        names_.push_back(name == "object" ? Element::object : Element::other);
    }

    void end() override {
        if (foreign_ > 0) {
            --foreign_;
            return;
        }
        if (names_.back() == Element::object) {
            check_object();
            object_ = nullptr;
        }
        names_.pop_back();
    }

  private:
    enum class Element : std::uint8_t { object, other };

    [[noreturn]] void refuse_line(const std::string& what) const {
        refuse(name_, fmt::format("line {} of its part {} {}; export it again", stream_->line(),
                                  shown_text(path_), what));
    }

    void take_model(const XmlAttributes& a) {
        model_seen_ = true;
        const char* const unit = a.find("unit");
        part_.unit_mm = unit == nullptr ? 1.0 : unit_named(unit);
        const char* const required = a.find("requiredextensions");
        std::string_view rest = required == nullptr ? "" : required;
        while (!rest.empty()) {
            const std::size_t size = std::min(rest.find_first_of(" \t\r\n"), rest.size());
            check_extension(rest.substr(0, size));
            rest.remove_prefix(std::min(size + 1, rest.size()));
        }
    }

    void check_extension(std::string_view prefix) const {
        if (prefix.empty()) {
            return;
        }
        const auto found = prefixes_.find(std::string(prefix));
        const std::string uri = found == prefixes_.end() ? std::string(prefix) : found->second;
        if (std::find(kKnownExtensions.begin(), kKnownExtensions.end(), uri) ==
            kKnownExtensions.end()) {
            refuse(name_, "it requires the 3MF extension " + shown_text(uri) +
                              ", which this program does not read; export the part without it, or "
                              "as STL");
        }
    }

    ThreemfObject& object_here() {
        if (object_ == nullptr) {
            refuse_line("holds a piece of an object outside of any object");
        }
        return *object_;
    }

    void take_object(const XmlAttributes& a) {
        if (object_ != nullptr) {
            refuse_line("begins an object within another");
        }
        const std::uint32_t id = whole(a.find("id"), "the id of an object");
        const auto [at, is_new] = part_.objects.try_emplace(id);
        if (!is_new) {
            refuse_line(fmt::format("gives the id {} to a second object", id));
        }
        object_ = &at->second;
        if (const char* const type = a.find("type")) {
            object_->type = type;
        }
        for (const char* uri : {"/slice/", "/production/"}) {
            const char* const kind =
                a.find_in(uri, uri[1] == 's' ? "meshresolution" : "modelresolution");
            object_->reduced =
                object_->reduced || (kind != nullptr && std::string_view(kind) != "fullres");
        }
    }

    void take_vertex(const XmlAttributes& a) {
        Vec3 v = Vec3::Constant(std::numeric_limits<double>::quiet_NaN());
        int seen = 0;
        for (const char** pair = a.begin(); *pair != nullptr; pair += 2) {
            const std::string_view key = pair[0];
            if (key.size() == 1 && key[0] >= 'x' && key[0] <= 'z') {
                if (!parse_number(pair[1], v[key[0] - 'x'])) {
                    refuse_line("has a coordinate that is no number with a decimal point");
                }
                part_.most_digits = std::max(part_.most_digits, significant_digits(pair[1]));
                ++seen;
            }
        }
        if (seen != 3) {
            refuse_line("has a vertex without x, y and z");
        }
        std::vector<Vec3>& vertices = object_here().mesh.vertices;
        vertices.push_back(v);
        if (vertices.size() > kMostIndices) {
            refuse(name_,
                   "it holds more vertices than this program can number; make the mesh "
                   "coarser");
        }
    }

    void take_triangle(const XmlAttributes& a) {
        Triangle t{};
        int seen = 0;
        for (const char** pair = a.begin(); *pair != nullptr; pair += 2) {
            const std::string_view key = pair[0];
            if (key.size() == 2 && key[0] == 'v' && key[1] >= '1' && key[1] <= '3') {
                t[static_cast<std::size_t>(key[1] - '1')] =
                    static_cast<std::int32_t>(whole(pair[1], "a triangle's corner"));
                ++seen;
            }
        }
        if (seen != 3) {
            refuse_line("has a triangle without v1, v2 and v3");
        }
        if (t[0] == t[1] || t[1] == t[2] || t[2] == t[0]) {
            ++part_.degenerate;
            return;
        }
        std::vector<Triangle>& triangles = object_here().mesh.triangles;
        triangles.push_back(t);
        if (triangles.size() > kMostIndices) {
            refuse(name_,
                   "it holds more triangles than this program can number; make the mesh "
                   "coarser");
        }
    }

    void check_object() const {
        const auto count = static_cast<std::int32_t>(object_->mesh.vertices.size());
        for (const Triangle& t : object_->mesh.triangles) {
            const std::int32_t highest = std::max(t[0], std::max(t[1], t[2]));
            if (highest >= count) {
                refuse_line(
                    fmt::format("ends an object with a triangle that names vertex {}, but "
                                "there are only {}",
                                highest, count));
            }
        }
    }

    std::uint32_t whole(const char* text, const char* what) const {
        std::uint32_t value = 0;
        const std::string_view word = text == nullptr ? "" : text;
        const char* const end = word.data() + word.size();
        const auto [stop, error] = std::from_chars(word.data(), end, value);
        if (word.empty() || error != std::errc() || stop != end || value > kMostIndices) {
            refuse_line(fmt::format("lacks {}, or it is no whole number", what));
        }
        return value;
    }

    [[nodiscard]] ThreemfPlacement placement(const XmlAttributes& a) const {
        ThreemfPlacement placed;
        placed.object = whole(a.find("objectid"), "an objectid");
        if (const char* const path = a.find_in("/production/", "path")) {
            placed.path = path;
        }
        if (const char* const printable = a.find("printable")) {
            const std::string_view word = printable;
            placed.printed = word != "0" && word != "false";
        }
        if (const char* const transform = a.find("transform")) {
            placed.transform = matrix(transform);
        }
        return placed;
    }

    // Twelve numbers, row by row; a point is a row to the left of the matrix (core specification,
    // section 3.3), so row r of the text is column r here.
    [[nodiscard]] Eigen::Matrix4d matrix(std::string_view text) const {
        Eigen::Matrix4d m = Eigen::Matrix4d::Identity();
        for (int i = 0; i < 12; ++i) {
            text.remove_prefix(std::min(text.find_first_not_of(" \t\r\n"), text.size()));
            const std::size_t size = std::min(text.find_first_of(" \t\r\n"), text.size());
            double value = 0.0;
            if (size == 0 || !parse_number(text.substr(0, size), value) || !std::isfinite(value)) {
                refuse_line("has a transform that is not twelve numbers");
            }
            m(i % 3, i / 3) = value;
            text.remove_prefix(size);
        }
        if (text.find_first_not_of(" \t\r\n") != text.npos) {
            refuse_line("has a transform that is not twelve numbers");
        }
        return m;
    }

    std::string_view name_;
    const std::string& path_;
    const XmlStream* stream_ = nullptr;
    std::map<std::string, std::string> prefixes_;
    std::size_t foreign_ = 0;
    std::vector<Element> names_;
    bool model_seen_ = false;
    ThreemfObject* object_ = nullptr;
    ThreemfPart part_;
};

// Finds the target of the relationship whose type is that of a 3MF model (Open Packaging
// Conventions; core specification, section 2.1).
class RootFinder : public XmlHandler {
  public:
    void start(std::string_view /*uri*/, std::string_view name, const XmlAttributes& a) override {
        const char* const type = a.find("Type");
        const char* const target = a.find("Target");
        if (name == "Relationship" && type != nullptr && target != nullptr && target_.empty() &&
            std::string_view(type).ends_with("/3dmodel")) {
            target_ = target;
        }
    }
    void end() override {}
    [[nodiscard]] const std::string& target() const { return target_; }

  private:
    std::string target_;
};

}  // namespace

ThreemfPart parse_threemf_part(ZipPackage& package, const std::string& path,
                               std::string_view name) {
    return PartReader(name, path).read(package);
}

std::string threemf_root_part(ZipPackage& package, std::string_view name) {
    const std::string relationships = "_rels/.rels";
    std::string usual = "/3D/3dmodel.model";
    if (package.holds(relationships)) {
        RootFinder finder;
        XmlStream stream(finder, name, relationships);
        package.read(relationships, [&](std::string_view piece) { stream.feed(piece); });
        stream.finish();
        if (!finder.target().empty()) {
            return finder.target();
        }
    }
    if (!package.holds(usual)) {
        refuse(name, "its archive names no 3MF model; export the part again");
    }
    return usual;
}

}  // namespace cavigram
